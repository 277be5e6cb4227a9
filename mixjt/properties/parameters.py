"""Parameters of the two-parameter cubic equations, read from data files and bound to a list of gases.

The family is p = RT/(v - b) - a(T)/((v + delta1 b)(v + delta2 b)). A parameter set is one JSON file
(equation, alpha correlation, exceptions for single gases) and one CSV file of pairs; adding a set means
adding these two files under ``data``.
"""

from __future__ import annotations

import csv
import json
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from math import sqrt

import numpy as np

from mixjt.errors import InputError, MissingDataError
from mixjt.gases import gas, resolve_name

DEFAULT_SET = "calibrated-srk"
PAIR_REFERENCE_TEMPERATURE = 150.0  # K, where kij = k0

SOAVE, TWU = 0.0, 1.0  # kinds of alpha function, column 0 of CubicParameters.alpha
ALPHA_KINDS = {"soave": SOAVE, "twu": TWU}
ALPHA_COLUMNS = 7

DELTAS = {"redlich-kwong": (1.0, 0.0), "peng-robinson": (1.0 + sqrt(2.0), 1.0 - sqrt(2.0))}


@dataclass(frozen=True)
class CubicParameters:
    """All numbers a cubic equation needs for a list of c gases; SI units.

    molar_masses [kg/mol], critical_temperatures [K], critical_pressures [Pa], acentric_factors and
    translations [m3/mol] have shape (c,). a = omega_a (R Tc)**2 / pc and b = omega_b R Tc / pc. alpha has
    shape (c, 7): column 0 is the kind. Kind 0, Soave: alpha = (1 + m (1 - sqrt(Tr)))**2, m in column 1.
    Kind 1, Twu: alpha = Tr**(N (M - 1)) exp(L (1 - Tr**(N M))) below Tc with L, M, N in columns 1 to 3, and
    exp(c (1 - Tr**d) + e (1 - 1/Tr)**2) above, c, d and e in columns 4 to 6.
    kij = k0 + k1 (150 K / T - 1), shapes (c, c). ideal_cp has shape (c, K):
    cp0/R = sum_k ideal_cp[:, k] (T / 298.15 K)**k.
    """

    name: str
    gases: tuple[str, ...]
    molar_masses: np.ndarray
    critical_temperatures: np.ndarray
    critical_pressures: np.ndarray
    acentric_factors: np.ndarray
    delta1: float
    delta2: float
    omega_a: float
    omega_b: float
    alpha: np.ndarray
    k0: np.ndarray
    k1: np.ndarray
    translations: np.ndarray
    ideal_cp: np.ndarray


@dataclass(frozen=True)
class Pair:
    """Interaction of two gases: kij = k0 + k1 (150 K / T - 1)."""

    k0: float
    k1: float
    source: str


def load_parameters(name: str, gases: Sequence[str]) -> CubicParameters:
    """The parameter set of that name for these gases.

    Parameters
    ----------
    name : str
        One of parameter_sets().
    gases : sequence of str
        Any accepted names; the result carries the catalogue's.

    Raises
    ------
    InputError
        For an unknown set, an unknown gas, a gas named twice, or no gas at all.
    """
    definition = _definition(name)
    names = _distinct_names(gases)
    entries = [gas(each) for each in names]
    delta1, delta2 = DELTAS[definition["equation"]]
    omega_a, omega_b = critical_constants(delta1)
    k0, k1 = _pair_matrices(name, names)
    return CubicParameters(
        name=name,
        gases=names,
        molar_masses=np.array([entry.molar_mass for entry in entries]),
        critical_temperatures=np.array([entry.critical_temperature for entry in entries]),
        critical_pressures=np.array([entry.critical_pressure for entry in entries]),
        acentric_factors=np.array([entry.acentric_factor for entry in entries]),
        delta1=delta1,
        delta2=delta2,
        omega_a=omega_a,
        omega_b=omega_b,
        alpha=np.array([_alpha_row(definition, entry) for entry in entries]),
        k0=k0,
        k1=k1,
        translations=np.array([_exceptions(definition, each).get("translation", 0.0) for each in names]),
        ideal_cp=_padded([entry.ideal_cp for entry in entries]),
    )


@cache
def parameter_sets() -> tuple[str, ...]:
    """Names of the parameter sets, the default first."""
    found = sorted(item.name[:-5] for item in _data().iterdir() if _is_parameter_set(item))
    return (DEFAULT_SET, *(name for name in found if name != DEFAULT_SET))


def pair_source(name: str, gas1: str, gas2: str) -> str:
    """Where the interaction parameter of two gases comes from."""
    return pair(name, gas1, gas2).source


def pair(name: str, gas1: str, gas2: str) -> Pair:
    """Interaction parameter of two different gases in a parameter set, in either order.

    Raises
    ------
    MissingDataError
        If the set has no row for the pair.
    """
    first, second = resolve_name(gas1), resolve_name(gas2)
    try:
        return _pairs(name)[frozenset((first, second))]
    except KeyError:
        text = f"parameter set '{name}' has no interaction parameter for {first} + {second}"
        raise MissingDataError(text) from None


def pair_table(name: str) -> list[dict]:
    """The interaction parameters of a set as plain rows, in the order of the catalogue."""
    return [
        {
            "gas1": row["gas1"],
            "gas2": row["gas2"],
            "k0": float(row["k0"]),
            "k1": float(row["k1"]),
            "source": row["source"],
        }
        for row in _pair_rows(name)
    ]


def critical_constants(delta1: float) -> tuple[float, float]:
    """omega_a and omega_b from the two conditions at the critical point, dp/dv = d2p/dv2 = 0.

    Holds for delta2 = (1 - delta1) / (1 + delta1), which both equations of DELTAS fulfil: M. Cismondi and
    J. Mollerup, Fluid Phase Equilib. 232 (2005) 74-89, from memory; the tests put the result back into the
    conditions.
    """
    d = (1.0 + delta1**2) / (1.0 + delta1)
    y = 1.0 + (2.0 * (1.0 + delta1)) ** (1.0 / 3.0) + (4.0 / (1.0 + delta1)) ** (1.0 / 3.0)
    denominator = 3.0 * y + d - 1.0
    return (3.0 * y**2 + 3.0 * y * d + d**2 + d - 1.0) / denominator**2, 1.0 / denominator


def forget_sets() -> None:
    """Read the data files anew at the next request, for those who write them."""
    for cached in (parameter_sets, _definition, _pairs):
        cached.cache_clear()


def _distinct_names(gases: Sequence[str]) -> tuple[str, ...]:
    names = tuple(resolve_name(each) for each in gases)
    if not names:
        raise InputError("no gas given")
    for name in names:
        if names.count(name) > 1:
            raise InputError(f"gas {name} is given twice")
    return names


def _alpha_row(definition: dict, entry) -> np.ndarray:
    row = np.zeros(ALPHA_COLUMNS)
    alpha = _exceptions(definition, entry.name).get("alpha")
    if alpha is None:
        row[1] = np.polynomial.polynomial.polyval(entry.acentric_factor, definition["acentric_correlation"])
    else:
        row[0] = ALPHA_KINDS[alpha["kind"]]
        row[1 : 1 + len(alpha["parameters"])] = alpha["parameters"]
    return row


def _exceptions(definition: dict, name: str) -> dict:
    """What the set says about a single gas: alpha {kind, parameters}, translation [m3/mol], source."""
    return definition["gases"].get(name, {})


def _pair_matrices(name: str, gases: tuple[str, ...]) -> tuple[np.ndarray, np.ndarray]:
    k0, k1 = np.zeros((2, len(gases), len(gases)))
    for i, first in enumerate(gases):
        for j in range(i):
            both = pair(name, first, gases[j])
            k0[i, j] = k0[j, i] = both.k0
            k1[i, j] = k1[j, i] = both.k1
    return k0, k1


def _padded(rows: Sequence[tuple[float, ...]]) -> np.ndarray:
    table = np.zeros((len(rows), max(len(row) for row in rows)))
    for line, row in zip(table, rows):
        line[: len(row)] = row
    return table


def _is_parameter_set(item) -> bool:
    """Other tables of data lie in the same directory; only a parameter set names its equation."""
    return item.name.endswith(".json") and "equation" in json.loads(item.read_text(encoding="utf-8"))


@cache
def _definition(name: str) -> dict:
    if name not in parameter_sets():
        raise InputError(f"unknown parameter set '{name}': known are {', '.join(parameter_sets())}")
    return json.loads(_data().joinpath(f"{name}.json").read_text(encoding="utf-8"))


@cache
def _pairs(name: str) -> dict[frozenset, Pair]:
    return {
        frozenset((row["gas1"], row["gas2"])): Pair(float(row["k0"]), float(row["k1"]), row["source"])
        for row in _pair_rows(name)
    }


def _pair_rows(name: str) -> list[dict]:
    text = _data().joinpath(_definition(name)["pairs"]).read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines()))


def _data():
    return files("mixjt.properties").joinpath("data")
