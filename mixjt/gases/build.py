"""Write the gas catalogue from the libraries: ``python -m mixjt.gases.build``.

Only this module needs CoolProp and chemicals; the program itself reads the file written here.
"""

from __future__ import annotations

import json
from pathlib import Path

from mixjt.constants import ATMOSPHERE
from mixjt.gases.catalogue import DATA_FILE
from mixjt.gases.ideal_fit import FIT_RANGE, VALID_RANGE, fit_heat_capacity, harmonic_heat_capacity
from mixjt.gases.identity import IDENTITIES, ISO_817, Identity
from mixjt.whole import write_whole

TRIPLE_POINTS = {"STAVELEY": "Staveley, Lobo and Calado, Cryogenics 21 (1981) 131", "HEOS": "CoolProp"}
FLAMMABILITY_TABLE = "IEC 60079-20-1 (2010)"
WARMING_TABLE = "IPCC (2021) 100yr"


def main() -> None:
    """Write the data file beside this module."""
    write_whole(Path(__file__).with_name(DATA_FILE), json.dumps(build_catalogue(), indent=1) + "\n")


def build_catalogue() -> dict:
    """The content of the data file: values and sources per gas."""
    return {"gases": [_gas_row(identity) for identity in IDENTITIES]}


def _gas_row(identity: Identity) -> dict:
    found = {
        "name": (identity.name, "English name in use"),
        "refrigerant": (identity.refrigerant, "our choice"),
    }
    found |= _identifiers(identity)
    cas = found["cas"][0]
    found |= _equation_constants(identity)
    found |= _phase_change(cas) | _safety(identity, cas)
    found["ideal_cp"] = _ideal_heat_capacity(identity)
    found |= identity.typed
    sources = {name: source for name, (_, source) in found.items()}
    for name, note in identity.notes.items():
        sources[name] += "; " + note
    return {"values": {name: value for name, (value, _) in found.items()}, "sources": sources}


def _identifiers(identity: Identity) -> dict:
    import chemicals

    source = f"chemicals {chemicals.__version__}"
    cas = chemicals.CAS_from_any(identity.name)
    return {
        "formula": (chemicals.search_chemical(cas).formula, source),
        "cas": (cas, source),
        "r_number": (identity.r_number, ISO_817),
        "aliases": (list(identity.aliases), "names in use"),
    }


def _equation_constants(identity: Identity) -> dict:
    from CoolProp.CoolProp import PropsSI

    equation = _fluid(identity.coolprop)["EOS"][0]
    source = f"{_coolprop()}, {equation['BibTeX_EOS']}"
    reducing = equation["STATES"]["reducing"]
    boiling = PropsSI("T", "P", ATMOSPHERE, "Q", 0, identity.coolprop)
    return {
        "molar_mass": (equation["molar_mass"], source),
        "critical_temperature": (reducing["T"], source),
        "critical_pressure": (float(reducing["p"]), source),
        "acentric_factor": (equation["acentric"], source),
        "normal_boiling_point": (boiling, f"{source}, saturated liquid at 101325 Pa"),
    }


def _phase_change(cas: str) -> dict:
    import chemicals

    # CoolProp's own lowest temperature is not always the triple point (tetrafluoromethane: 120 K, not 90 K).
    method = next(key for key in TRIPLE_POINTS if key in chemicals.Tt_methods(cas))
    library = f"chemicals {chemicals.__version__}"
    return {
        "triple_point_temperature": (chemicals.Tt(cas, method=method), f"{library}, {TRIPLE_POINTS[method]}"),
        "enthalpy_of_fusion": (
            chemicals.Hfus(cas, method="CRC"),
            f"{library}, CRC Handbook of Chemistry and Physics, at the melting point",
        ),
    }


def _safety(identity: Identity, cas: str) -> dict:
    import chemicals

    library = f"chemicals {chemicals.__version__}"
    limit = chemicals.LFL(CASRN=cas, method=FLAMMABILITY_TABLE)
    limit_source = (
        f"{library}, {FLAMMABILITY_TABLE}" if limit else f"not flammable, not in {FLAMMABILITY_TABLE}"
    )
    found = {"lower_flammable_limit": (limit, limit_source), "safety_class": (None, "not classified")}
    label = _fluid(identity.coolprop)["INFO"]["ENVIRONMENTAL"]["ASHRAE34"]
    if label != "UNKNOWN":
        found["safety_class"] = (label, f"{_coolprop()}, ASHRAE 34")
    if "gwp100" not in identity.typed:
        warming = chemicals.GWP(cas, method=WARMING_TABLE)
        found["gwp100"] = (warming, f"{library}, IPCC AR6 (2021), 100 years")
    return found


def _ideal_heat_capacity(identity: Identity) -> tuple[list[float], str]:
    if identity.vibrations:
        coefficients, deviation = fit_heat_capacity(harmonic_heat_capacity(identity.vibrations))
        origin = "rigid rotator, harmonic oscillators"
    else:
        coefficients, deviation = fit_heat_capacity(_equation_heat_capacity(identity.coolprop))
        origin = f"{_coolprop()}, ideal part of {_fluid(identity.coolprop)['EOS'][0]['BibTeX_EOS']}"
    low, high = FIT_RANGE
    source = (
        f"{origin}; polynomial of degree {len(coefficients) - 1} fitted on {low:.0f}-{high:.0f} K,"
        f" greatest deviation {deviation:.1e} relative on {VALID_RANGE[0]:.0f}-{VALID_RANGE[1]:.0f} K"
    )
    return list(coefficients), source


def _equation_heat_capacity(fluid: str):
    import CoolProp

    state = CoolProp.AbstractState("HEOS", fluid)
    state.specify_phase(
        CoolProp.iphase_gas
    )  # spares the search for a phase, which fails below the triple point

    def cp0(temperature: float) -> float:
        state.update(CoolProp.DmolarT_INPUTS, 1e-6, temperature)
        return state.cp0molar() / state.gas_constant()  # each equation with the gas constant it was made with

    return cp0


def _fluid(name: str) -> dict:
    from CoolProp.CoolProp import get_fluid_param_string

    return json.loads(get_fluid_param_string(name, "JSON"))[0]


def _coolprop() -> str:
    import CoolProp

    return f"CoolProp {CoolProp.__version__}"


if __name__ == "__main__":
    main()
