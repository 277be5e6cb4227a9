"""Coefficients of a blend's Helmholtz energy, gathered from CoolProp into arrays for the kernels."""

from __future__ import annotations

import json
from functools import cache
from importlib.resources import files
from typing import NamedTuple

import numpy as np

from mixjt.errors import MissingDataError
from mixjt.gases.catalogue import gas

NO_FUNCTION = -1


class Pair(NamedTuple):
    """Binary parameters in the direction of the two gases asked for; estimated where the library has none."""

    beta_t: float
    gamma_t: float
    beta_v: float
    gamma_v: float
    weight: float
    function: str
    estimated: bool


class Mixture(NamedTuple):
    """Arrays the kernels read, for c gases, K terms in G groups and S shapes in the reduced density.

    A term is n tau^t exp(-beta (tau - gamma)^2) times its shape
    delta^d exp(-g delta^l - eta (delta - epsilon)^2 - slope delta); group_ends (G + 1,) delimits the terms
    of each group, first the c gases, then the departure functions. decays (L, 2) lists the distinct (l, g).
    special (Q, 9) holds n, a, b, beta, A, B, C, D and the group of the terms that are not analytic.
    """

    n: np.ndarray
    t: np.ndarray
    beta: np.ndarray
    gamma: np.ndarray
    shape: np.ndarray
    group_ends: np.ndarray
    powers: np.ndarray  # (S,) d
    decay: np.ndarray  # (S,) index into decays, -1 for none
    gaussian: np.ndarray  # (S, 3) eta, epsilon, slope
    decays: np.ndarray
    special: np.ndarray
    critical_volumes: np.ndarray  # (c,) m3/mol
    critical_temperatures: np.ndarray  # (c,) K
    volume_factors: np.ndarray  # (c, c) of x_i x_j (x_i + x_j) / (beta^2 x_i + x_j), i < j
    temperature_factors: np.ndarray
    volume_squares: np.ndarray  # (c, c) beta_v^2
    temperature_squares: np.ndarray
    weights: np.ndarray  # (c, c) F_ij
    functions: np.ndarray  # (c, c) group of the pair's departure function, -1 for none
    gas_constant: float


def build_mixture(gases: tuple[str, ...], allow_estimated: bool) -> Mixture:
    """Gather the coefficients of a blend of gases.

    Raises
    ------
    MissingDataError
        Where the library has no parameters for a pair and allow_estimated is False.
    """
    fluids = [fluid_terms(name) for name in gases]
    c = len(gases)
    pairs = {(i, j): read_pair(gases[i], gases[j]) for i in range(c) for j in range(i + 1, c)}
    for (i, j), pair in pairs.items():
        if pair.estimated and not allow_estimated:
            raise MissingDataError(missing_text(gases[i], gases[j]))
    used = sorted({pair.function for pair in pairs.values() if pair.function})
    groups = [fluid["terms"] for fluid in fluids] + [departure_terms(name) for name in used]
    special = [(*row, float(k)) for k, fluid in enumerate(fluids) for row in fluid["special"]]
    volumes = np.array([fluid["critical_volume"] for fluid in fluids])
    temperatures = np.array([fluid["critical_temperature"] for fluid in fluids])
    return Mixture(
        **_term_arrays(groups),
        special=np.array(special).reshape(-1, 9),
        critical_volumes=volumes,
        critical_temperatures=temperatures,
        **_pair_arrays(pairs, volumes, temperatures, {name: c + k for k, name in enumerate(used)}),
        gas_constant=_gas_constant(gases),
    )


def missing_text(first: str, second: str) -> str:
    """What is said of a pair without parameters."""
    return (
        f"the reference model has no parameters for {first} + {second}; "
        "allow estimated pairs, or use the fast model"
    )


def _term_arrays(groups) -> dict:
    """Flatten the groups' terms; terms that depend alike on the reduced density share a shape."""
    shapes: dict[tuple, int] = {}
    decays: dict[tuple, int] = {}
    rows, ends = [], [0]
    for terms in groups:
        for n, t, d, l, g, eta, epsilon, slope, beta, gamma in terms:
            key = (d, l, g if l else 0.0, eta, epsilon if eta else 0.0, slope)
            rows.append((n, t, beta, gamma, shapes.setdefault(key, len(shapes))))
        ends.append(len(rows))
    table = np.array(rows)
    decay = [decays.setdefault((l, g), len(decays)) if l else -1 for _, l, g, *_ in shapes]
    return {
        "n": table[:, 0].copy(),
        "t": table[:, 1].copy(),
        "beta": table[:, 2].copy(),
        "gamma": table[:, 3].copy(),
        "shape": table[:, 4].astype(np.int64),
        "group_ends": np.array(ends, dtype=np.int64),
        "powers": np.array([key[0] for key in shapes], dtype=np.int64),
        "decay": np.array(decay, dtype=np.int64),
        "gaussian": np.array([key[3:] for key in shapes], dtype=float),
        "decays": np.array(list(decays), dtype=float).reshape(-1, 2),
    }


def _pair_arrays(pairs, volumes, temperatures, groups) -> dict:
    c = volumes.size
    arrays = {
        name: np.zeros((c, c))
        for name in (
            "volume_factors", "temperature_factors", "volume_squares", "temperature_squares", "weights"
        )
    }  # fmt: skip
    functions = np.full((c, c), NO_FUNCTION, dtype=np.int64)
    for (i, j), pair in pairs.items():
        mean_volume = 0.125 * (volumes[i] ** (1 / 3) + volumes[j] ** (1 / 3)) ** 3
        mean_temperature = np.sqrt(temperatures[i] * temperatures[j])
        arrays["volume_factors"][i, j] = 2.0 * pair.beta_v * pair.gamma_v * mean_volume
        arrays["temperature_factors"][i, j] = 2.0 * pair.beta_t * pair.gamma_t * mean_temperature
        arrays["volume_squares"][i, j] = pair.beta_v**2
        arrays["temperature_squares"][i, j] = pair.beta_t**2
        if pair.function:
            arrays["weights"][i, j] = arrays["weights"][j, i] = pair.weight
            functions[i, j] = functions[j, i] = groups[pair.function]
    return {**arrays, "functions": functions}


@cache
def read_pair(first: str, second: str) -> Pair:
    """Binary parameters of two gases from the library.

    Where the library has none, or only a mixing rule applied at run time, all four reducing parameters
    are 1: the rule of Lorentz and Berthelot.
    """
    from CoolProp import CoolProp

    cas = gas(first).cas, gas(second).cas
    for order, (one, two) in enumerate((cas, cas[::-1])):
        try:
            source = CoolProp.get_mixture_binary_pair_data(one, two, "BibTeX")
        except ValueError:
            continue
        if source.startswith("N/A"):
            break
        values = [float(CoolProp.get_mixture_binary_pair_data(one, two, key))
                  for key in ("betaT", "gammaT", "betaV", "gammaV", "F")]  # fmt: skip
        if order == 1:
            values[0], values[2] = 1.0 / values[0], 1.0 / values[2]
        function = CoolProp.get_mixture_binary_pair_data(one, two, "function") if values[4] != 0.0 else ""
        return Pair(*values, function, False)
    return Pair(1.0, 1.0, 1.0, 1.0, 0.0, "", True)


@cache
def fluid_terms(name: str) -> dict:
    """Terms of a gas's own equation: rows (n, t, d, l, g, eta, epsilon, slope, beta, gamma)."""
    from CoolProp import CoolProp

    equation = json.loads(CoolProp.get_fluid_param_string(gas(name).cas, "JSON"))[0]["EOS"][0]
    terms, special = [], []
    for block in equation["alphar"]:
        rows = {key: value for key, value in block.items() if key != "type"}
        count = len(rows["n"])
        lines = [{key: rows[key][k] for key in rows} for k in range(count)]
        if block["type"] == "ResidualHelmholtzPower":
            terms += [_row(line, g=1.0) for line in lines]
        elif block["type"] in ("ResidualHelmholtzExponential", "ResidualHelmholtzGaussian"):
            terms += [_row(line) for line in lines]
        elif block["type"] == "ResidualHelmholtzNonAnalytic":
            special += [tuple(float(line[key]) for key in ("n", "a", "b", "beta", "A", "B", "C", "D"))
                        for line in lines]  # fmt: skip
        else:
            raise MissingDataError(f"the reference model knows no terms of kind {block['type']}, as {name} has")
    reducing = equation["STATES"]["reducing"]
    return {
        "terms": terms,
        "special": special,
        "critical_temperature": reducing["T"],
        "critical_volume": 1.0 / reducing["rhomolar"],
    }


def departure_terms(name: str) -> list[tuple]:
    """Terms of a departure function, in the same form as those of a gas."""
    functions = _departures()["functions"]
    if name not in functions:
        raise MissingDataError(f"the reference model does not hold the departure function '{name}'")
    function = functions[name]
    keys = [key for key in function if key not in ("kind", "publication")]
    lines = [{key: function[key][k] for key in keys} for k in range(len(function["n"]))]
    if function["kind"] == "gaussian in density and temperature":
        return [_row(line) for line in lines]
    return [_row_in_density(line) for line in lines]


def _row(line, g=0.0):
    l = _whole(line.get("l", 0))
    g = line.get("g", g)
    return (line["n"], line["t"], _whole(line["d"]), l, g, line.get("eta", 0.0), line.get("epsilon", 0.0),
            0.0, line.get("beta", 0.0), line.get("gamma", 0.0))  # fmt: skip


def _row_in_density(line):
    """exp(-eta (delta - epsilon)^2 - beta (delta - gamma)), its constant part taken into n."""
    beta = line.get("beta", 0.0)
    n = line["n"] * np.exp(beta * line.get("gamma", 0.0))
    return (n, line["t"], _whole(line["d"]), 0, 0.0, line.get("eta", 0.0), line.get("epsilon", 0.0),
            beta, 0.0, 0.0)  # fmt: skip


def _whole(value) -> int:
    if value != int(value):
        raise MissingDataError(f"the reference model needs whole powers of density, not {value}")
    return int(value)


@cache
def _departures() -> dict:
    text = files("mixjt.properties.multifluid").joinpath("departure.json").read_text(encoding="utf-8")
    return json.loads(text)


def _gas_constant(gases) -> float:
    """The library's own: the equation's value for a pure gas, the molar gas constant for a blend."""
    from CoolProp import CoolProp

    if len(gases) > 1:
        return CoolProp.get_config_double(CoolProp.R_U_CODATA)
    return CoolProp.AbstractState("HEOS", gas(gases[0]).cas).gas_constant()
