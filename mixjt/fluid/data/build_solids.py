"""Writes solids.json: run `python -m mixjt.fluid.data.build_solids` to rebuild it.

Melting temperatures, and enthalpies of fusion except ethane's, are in the gas catalogue and are not
repeated. Solid heat capacities come from the ChemSep database (version 8.32) inside chemicals, liquid ones
and melting lines from CoolProp; what neither carries is typed here with its source.
"""

from __future__ import annotations

import json
from functools import cache
from importlib.metadata import version
from importlib.resources import files
from pathlib import Path
from xml.etree import ElementTree

import numpy as np

from mixjt.gases.catalogue import Gas, gas, gas_names

MEMORY = "from memory"
NOT_NEEDED = "not needed: melts below 50 K, where the property models end"
# Solid heat capacity at the melting point [J/(mol K)] where ChemSep has none.
TYPED_SOLID = {
    "argon": (33.5, f"{MEMORY}, rounded; Flubacher, Leadbetter and Morrison, Proc. Phys. Soc. 78 (1961) 1449"),
    "krypton": (36.0, f"{MEMORY}, rounded"),
    "oxygen": (46.7, "thermo 0.6.1, 'Fit 2023 gamma oxygen', at 54 K"),
    "trifluoromethane": (60.0, "estimated: liquid less 25 J/(mol K), as for molecules of its size"),
}
NO_DIFFERENCE = {
    "neon": NOT_NEEDED,
    "tetrafluoromethane": "estimated: solid as liquid, because the solid at the melting point is plastic",
}
TYPED_VOLUME = {  # m3/mol
    "trifluoromethane": (4.0e-6, "estimated: a tenth of the liquid's volume"),
    "tetrafluoromethane": (3.0e-6, "estimated: 6 % of the liquid's volume, the solid being plastic"),
    "neon": (0.0, NOT_NEEDED),
}
ETHANE_FUSION = (582.0, f"Atake and Chihara, Chem. Lett. (1976) 683, {MEMORY}")
# Temperature [K] and enthalpy [J/mol] of transitions between 50 K and melting, and their source.
TRANSITIONS = {
    "ethane": (
        89.8,
        2282.0,
        f"Atake and Chihara, Chem. Lett. (1976) 683, {MEMORY}; 89.65 to 89.85 K in Engle et al. (2021), arXiv:2103.15978",
    ),
    "n-butane": (107.55, 2067.0, f"Aston and Messerly, J. Am. Chem. Soc. 62 (1940) 1917, {MEMORY}"),
    "tetrafluoromethane": (
        76.2,
        1470.0,
        f"Smith and Pace, J. Phys. Chem. 73 (1969) 4232, {MEMORY}, within 2 %",
    ),
}
TRANSITION_JUMP = {  # J/(mol K), upper less lower solid; n-butane's is part of its fitted line
    "tetrafluoromethane": (12.0, "estimated"),
}


def build() -> dict:
    """The content of solids.json."""
    return {"gases": [_row(gas(name)) for name in gas_names()]}


def _row(entry: Gas) -> dict:
    sources = {}
    fusion = ETHANE_FUSION[0] if entry.name == "ethane" else None
    sources["enthalpy_of_fusion"] = ETHANE_FUSION[1] if fusion else "gas catalogue"
    jump, slope, sources["heat_capacity"] = _heat_capacity(entry)
    volume, sources["volume_of_fusion"] = _volume(entry, fusion or entry.enthalpy_of_fusion)
    row = {
        "name": entry.name,
        "enthalpy_of_fusion": fusion,
        "heat_capacity": 0.0 if entry.name == "ethane" else jump,
        "heat_capacity_slope": 0.0 if entry.name == "ethane" else slope,
        "volume_of_fusion": volume,
        "transitions": [],
    }
    if entry.name in TRANSITIONS:
        at, enthalpy, sources["transitions"] = TRANSITIONS[entry.name]
        step = {"temperature": at, "enthalpy": enthalpy, "heat_capacity": 0.0, "heat_capacity_slope": 0.0}
        if (
            entry.name == "ethane"
        ):  # above 89.8 K the solid is plastic: its heat capacity taken as the liquid's
            step |= {"heat_capacity": jump, "heat_capacity_slope": slope}
            sources["heat_capacity"] += (
                "; given to the transition, none to melting 0.5 K above it (estimated)"
            )
        if entry.name in TRANSITION_JUMP:
            step["heat_capacity"], note = TRANSITION_JUMP[entry.name]
            sources["transitions"] += f"; heat capacity {note}"
        row["transitions"].append(step)
    return row | {"sources": sources}


def _heat_capacity(entry: Gas) -> tuple[float, float, str]:
    """Liquid less solid at melting [J/(mol K)], its slope in temperature [J/(mol K2)], and the source."""
    top = TRANSITIONS["ethane"][0] if entry.name == "ethane" else entry.triple_point_temperature
    if entry.name in NO_DIFFERENCE:
        return 0.0, 0.0, NO_DIFFERENCE[entry.name]
    liquid = _liquid(entry)[0]
    liquid_source = f"liquid: CoolProp {version('CoolProp')} at the triple point, taken as constant below"
    if entry.name in TYPED_SOLID:
        solid, source = TYPED_SOLID[entry.name]
        return round(max(liquid - solid, 0.0), 1), 0.0, f"{liquid_source}; solid: {source}"
    curve = _chemsep(entry.cas).find("SolidHeatCapacityCp")
    highest = min(top, _number(curve, "Tmax"))
    temperatures = np.linspace(0.65 * top, highest, 40)
    solid = np.polyval([_number(curve, key) for key in "EDCBA"], temperatures) / 1e3
    slope, jump = np.polyfit(temperatures - top, liquid - solid, 1)
    span = f"straight line through {temperatures[0]:.0f} to {highest:.0f} K"
    source = f"{liquid_source}; solid: {_chemsep_source()}, {span}"
    return round(float(jump), 1), round(float(slope), 3), source


def _volume(entry: Gas, enthalpy: float) -> tuple[float, str]:
    """Liquid less solid volume at melting [m3/mol]."""
    if entry.name in TYPED_VOLUME:
        return TYPED_VOLUME[entry.name]
    if entry.name == "isobutane":  # CoolProp's melting line asks for a fifth of the liquid's volume
        curve = _chemsep(entry.cas).find("SolidDensity")
        density = _number(curve, "A") + _number(curve, "B") * entry.triple_point_temperature
        source = f"liquid: CoolProp {version('CoolProp')}; solid: {_chemsep_source()}"
        return round(_liquid(entry)[1] - 1e-3 / density, 8), source
    import CoolProp

    core = CoolProp.AbstractState("HEOS", entry.cas)
    start = core.keyed_output(CoolProp.iP_triple) + 1e5
    ends = [core.melting_line(CoolProp.iT, CoolProp.iP, pressure) for pressure in (start, start + 40e5)]
    slope = (ends[1] - ends[0]) / 40e5
    volume = enthalpy * slope / entry.triple_point_temperature
    line = f"the melting line of CoolProp {version('CoolProp')}, {slope * 1e5:.4f} K/bar"
    return round(volume, 8), f"Clapeyron's equation with {line}"


def _liquid(entry: Gas) -> tuple[float, float]:
    """Heat capacity [J/(mol K)] and volume [m3/mol] of the saturated liquid at the triple point."""
    import CoolProp

    core = CoolProp.AbstractState("HEOS", entry.cas)
    core.update(CoolProp.QT_INPUTS, 0.0, max(entry.triple_point_temperature, core.Ttriple()) + 0.01)
    return core.cpmolar(), 1.0 / core.rhomolar()


def _chemsep_source() -> str:
    return f"ChemSep 8.32 in chemicals {version('chemicals')}"


@cache
def _database():
    return ElementTree.fromstring(files("chemicals").joinpath("Misc/ChemSep8.32.xml").read_bytes())


def _chemsep(cas: str):
    for compound in _database().findall("compound"):
        if compound.find("CAS").attrib["value"] == cas:
            return compound
    raise LookupError(f"ChemSep has no row for {cas}")


def _number(curve, key: str) -> float:
    found = curve.find(key)
    return 0.0 if found is None else float(found.attrib["value"])


if __name__ == "__main__":
    Path(__file__).with_name("solids.json").write_text(json.dumps(build(), indent=1) + "\n", encoding="utf-8")
