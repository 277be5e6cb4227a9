"""Write the coefficients of the multi-fluid equations: ``python -m mixjt.fluid.data.build_equations``.

Gathers, for all gases of the catalogue, pure-gas equations and pair parameters into equations.json, which is all that
is read at run time. `published.json` holds what was typed from papers (short equations of GERG-2008, EOS-LNG),
`fitted.json` what fit_pairs found; the rest comes from CoolProp. Only this module needs CoolProp. Rows that name a set
are not the default: they belong to the pair set of that name (`mixjt.fluid.pair_sets`).
"""

from __future__ import annotations

import json
from itertools import combinations
from pathlib import Path

from mixjt.errors import MissingDataError
from mixjt.fluid.flash.coefficients import COMBINING_RULE
from mixjt.gases import gas, gas_names
from mixjt.whole import write_whole

HERE = Path(__file__).parent
PAIR_KEYS = ("betaT", "gammaT", "betaV", "gammaV", "F")
TERM_KEYS = ("n", "t", "d", "l", "g", "eta", "epsilon", "beta", "gamma", "slope")
GERG_2008, GERG_2008_PAIRS = "gerg-2008-butanes", (("methane", "n-butane"), ("methane", "isobutane"))


def main() -> None:
    """Write equations.json beside this module."""
    known, fitted = published(), _read("fitted.json")
    default = {"pairs": [row for row in fitted["pairs"] + known["pairs"] if not row.get("set")]}
    others = [row for row in known["pairs"] + fitted["pairs"] if row.get("set")]
    others += [pair_row(*two, {"pairs": []}) | {"set": GERG_2008} for two in GERG_2008_PAIRS]
    table = {
        "gas_constant": known["gas_constant"],
        "gases": {name: pure_equation(name, known) for name in gas_names()},
        "functions": {name: function(row) for name, row in known["functions"].items()} | fitted["functions"],
        "pairs": [_without_fit(pair_row(*two, default)) for two in combinations(gas_names(), 2)],
        "set_pairs": [_without_fit(row) for row in others],
    }
    write_whole(HERE / "equations.json", _text(table))


def published() -> dict:
    """What was typed from papers."""
    return _read("published.json")


def _read(name: str) -> dict:
    return json.loads((HERE / name).read_text(encoding="utf-8"))


def _without_fit(row: dict) -> dict:
    """A row without the account of its fit, and without the set of the default."""
    return {key: value for key, value in row.items() if key != "fit" and (key != "set" or value)}


def _text(table) -> str:
    """JSON with one line for each gas, function and pair."""
    lines = [f'"gas_constant": {json.dumps(table["gas_constant"])}']
    for group in ("gases", "functions"):
        rows = ",\n".join(f"{json.dumps(key)}: {json.dumps(row)}" for key, row in table[group].items())
        lines.append(f'"{group}": {{\n{rows}\n}}')
    for group in ("pairs", "set_pairs"):
        lines.append(f'"{group}": [\n' + ",\n".join(json.dumps(row) for row in table[group]) + "\n]")
    return "{\n" + ",\n".join(lines) + "\n}\n"


def pure_equation(name: str, published: dict) -> dict:
    """Reducing point, source and terms of a gas's own equation; the short one where it is published."""
    if name in published["short_equations"]:
        row = published["short_equations"][name]
        count = len(row["n"])
        terms = [[row[key][k] for key in "ntdl"] + [1.0, 0, 0, 0, 0, 0] for k in range(count)]
        point = row["critical_temperature_K"], 1.0 / row["critical_density_mol_m3"]
        return _equation(point, published["short_source"], terms)
    return _library_equation(name)


def _equation(point, source, terms) -> dict:
    return {"reducing_temperature_K": point[0], "reducing_volume_m3_per_mol": point[1], "source": source,
            "terms": terms}  # fmt: skip


def _library_equation(name: str) -> dict:
    import CoolProp
    from CoolProp import CoolProp as library

    equation = json.loads(library.get_fluid_param_string(gas(name).cas, "JSON"))[0]["EOS"][0]
    terms = []
    for block in equation["alphar"]:
        if block["type"] not in (
            "ResidualHelmholtzPower", "ResidualHelmholtzExponential", "ResidualHelmholtzGaussian"
        ):  # fmt: skip
            raise MissingDataError(f"no terms of kind {block['type']} are known, as {name} has")
        for k in range(len(block["n"])):
            line = {key: values[k] for key, values in block.items() if key != "type"}
            terms.append([line.get(key, 1.0 if key == "g" else 0) for key in TERM_KEYS])
    point = equation["STATES"]["reducing"]
    source = f"{equation['BibTeX_EOS']}, as carried by CoolProp {CoolProp.__version__}"
    return _equation((point["T"], 1.0 / point["rhomolar"]), source, terms)


def function(row: dict) -> dict:
    """Terms of a departure function; exp(-beta (delta - gamma)) becomes a slope, its constant part goes into n."""
    from math import exp

    terms = []
    for k in range(len(row["n"])):
        line = {key: values[k] for key, values in row.items() if isinstance(values, list)}
        if row["kind"] == "gaussian in density and temperature":
            terms.append([line.get(key, 0) for key in TERM_KEYS])
            continue
        slope = line.get("beta", 0.0)
        n = line["n"] * exp(slope * line.get("gamma", 0.0))
        eta, epsilon = line.get("eta", 0.0), line.get("epsilon", 0.0)
        terms.append([n, line["t"], line["d"], 0, 0, eta, epsilon, 0, 0, slope])
    return {"source": row["source"], "terms": terms}


def pair_row(first: str, second: str, published: dict) -> dict:
    """Reducing parameters, weight and name of the departure function of two gases."""
    for row in published["pairs"]:
        if {row["gas1"], row["gas2"]} == {first, second}:
            return row
    from CoolProp import CoolProp as library

    cas = gas(first).cas, gas(second).cas
    for order, names in enumerate((cas, cas[::-1])):
        try:
            source = library.get_mixture_binary_pair_data(*names, "BibTeX")
        except ValueError:
            continue
        if source.startswith("N/A"):
            break
        values = [float(library.get_mixture_binary_pair_data(*names, key)) for key in PAIR_KEYS]
        kind = library.get_mixture_binary_pair_data(*names, "function") if values[4] else ""
        gases = (first, second) if order == 0 else (second, first)
        return _pair(gases, values, kind, source)
    return _pair((first, second), (1.0, 1.0, 1.0, 1.0, 0.0), "", COMBINING_RULE)


def _pair(gases, values, kind, source) -> dict:
    named = dict(zip(("beta_t", "gamma_t", "beta_v", "gamma_v", "F"), values, strict=True))
    return {"gas1": gases[0], "gas2": gases[1], **named, "function": kind, "source": source}


if __name__ == "__main__":
    main()
