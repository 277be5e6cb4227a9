"""CoolProp's mixture model with the coefficients of our data file: an independent evaluation and flash of the same
equations. The library has no letter of our solver; pairs whose functions it does not hold are refused.
"""

import json

import CoolProp
from CoolProp import CoolProp as library

from mixjt.fluid.flash.coefficients import equations, pair
from mixjt.gases.catalogue import gas

PARAMETERS = {"betaT": "beta_t", "gammaT": "gamma_t", "betaV": "beta_v", "gammaV": "gamma_v", "Fij": "F"}
_added: dict[str, str] = {}


def library_state(gases) -> CoolProp.AbstractState:
    """A state of the library for gases whose equations are plain powers with exponentials."""
    library.set_config_bool(library.OVERWRITE_BINARY_INTERACTION, True)
    library.set_config_double(library.R_U_CODATA, equations()["gas_constant"])
    names = [_added.get(name) or _add(name) for name in gases]
    for i, first in enumerate(gases):
        for second in gases[i + 1 :]:
            library.apply_simple_mixing_rule(f"our {first}", f"our {second}", "linear")
    state = CoolProp.AbstractState("HEOS", "&".join(names))
    for i, first in enumerate(gases):
        for j in range(i + 1, len(gases)):
            row = pair(first, gases[j])
            ends = (i, j) if row["gas1"] == first else (j, i)
            for theirs, ours in PARAMETERS.items():
                state.set_binary_interaction_double(*ends, theirs, row[ours])
            if row["function"]:
                state.set_binary_interaction_string(*ends, "function", row["function"])
    return state


def _add(name: str) -> str:
    """Add the library's own fluid anew under another name, with our equation in it."""
    fluid = json.loads(library.get_fluid_param_string(gas(name).cas, "JSON"))[0]
    row = equations()["gases"][name]
    assert all(term[4] == 1.0 and not any(term[5:]) for term in row["terms"])
    power = {key: [term[k] for term in row["terms"]] for k, key in enumerate("ntdl")}
    equation = fluid["EOS"][0]
    equation["alphar"] = [{"type": "ResidualHelmholtzPower", **power}]
    equation["STATES"]["reducing"]["T"] = row["reducing_temperature_K"]
    equation["STATES"]["reducing"]["rhomolar"] = 1.0 / row["reducing_volume_m3_per_mol"]
    _added[name] = "our" + name.replace("-", "")
    fluid["INFO"] |= {key: _added[name] for key in fluid["INFO"] if "INCHI" in key.upper() or key == "SMILES"}
    fluid["INFO"] |= {"NAME": _added[name], "CAS": f"our {name}", "ALIASES": [], "REFPROP_NAME": "N/A"}
    library.add_fluids_as_JSON("HEOS", json.dumps([fluid]))
    return _added[name]
