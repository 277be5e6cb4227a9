"""Coefficients of a blend's equations, from the data file into the record that the kernels read."""

from __future__ import annotations

import json
from functools import cache
from importlib.resources import files

import numpy as np

from mixjt.errors import InputError
from mixjt.fluid.flash.memory import (
    ALL_FUNCTIONS,
    BLEND_TYPE,
    FUNCTIONS,
    GENERAL,
    GENERAL_GROUPS,
    MAX_GASES,
    SHARED,
    WINDOW,
)
from mixjt.gases.catalogue import gas

DATA = "equations.json"
COMBINING_RULE = "combining rule of Lorentz and Berthelot"  # the source of pairs that nothing is published for
# K, where two equations end; the others are carried on below their own ends. Tetrafluoromethane's (Platzer, Polt and Maurer,
# Thermophysical Properties of Refrigerants (1990)) is stated from 120 K and carried on to the triple point;
# trifluoromethane's (Penoncello, Lemmon, Jacobsen and Shan, J. Phys. Chem. Ref. Data 32 (2003) 1473; 118.02 K) loses its
# liquid in pentanes from 125 K down, where the reduced temperature is lower than the pure gas's.
ENDS = {"tetrafluoromethane": 89.54, "trifluoromethane": 125.0}
PLAIN_DECAYS = (0, 1, 2, 3, 6)
NO_FUNCTION = ALL_FUNCTIONS - 1
TOO_MANY_TERMS = "the equations of these gases have more terms than the engine holds; use fewer gases"


@cache
def equations() -> dict:
    """The data file: gas_constant, gases, functions, pairs."""
    text = files("mixjt.fluid.data").joinpath(DATA).read_text(encoding="utf-8")
    return json.loads(text)


def pair_rows() -> list[dict]:
    """All pairs as the data file has them."""
    return equations()["pairs"]


@cache
def _pairs() -> dict[frozenset, dict]:
    return {frozenset((row["gas1"], row["gas2"])): row for row in pair_rows()}


def pair(first: str, second: str) -> dict:
    """Parameters of a pair as the data file has them; beta hold for the order gas1, gas2."""
    return _pairs()[frozenset((first, second))]


@cache
def _shared_basis() -> dict[tuple, int]:
    """(l, d, t) of the terms common to many gases, with their places."""
    uses: dict[tuple, int] = {}
    for row in equations()["gases"].values():
        for key in {_basis_key(term) for term in row["terms"] if _is_plain(term)}:
            uses[key] = uses.get(key, 0) + 1
    common = sorted(key for key, count in uses.items() if count >= 2)
    return {key: place for place, key in enumerate(common)}


def _basis_key(term):
    return term[3], term[2], term[1]


def _is_plain(term) -> bool:
    """n tau^t delta^d exp(-delta^l), nothing else."""
    return term[4] == 1.0 and term[3] in PLAIN_DECAYS and not any(term[5:])


def _is_shared(name: str) -> bool:
    basis = _shared_basis()
    return all(_is_plain(term) and _basis_key(term) in basis for term in equations()["gases"][name]["terms"])


def blend_record(gases: tuple[str, ...], pairs=pair) -> np.void:
    """The record of a tuple of gases, all present.

    pairs(first, second) gives the parameters of a pair as a mapping with gas1, gas2, beta_t, gamma_t, beta_v,
    gamma_v, F and function; another one than the data file's makes another model.

    Raises
    ------
    InputError
        For more gases, or more terms, than a record holds.
    """
    if len(gases) > MAX_GASES:
        raise InputError(f"a blend may hold {MAX_GASES} gases at most, {len(gases)} were given")
    record = np.zeros(1, BLEND_TYPE)[0]
    rows = [equations()["gases"][name] for name in gases]
    n = len(gases)
    record["gases"], record["R"] = n, equations()["gas_constant"]
    record["critical_volume"][:n] = [row["reducing_volume_m3_per_mol"] for row in rows]
    record["critical_temperature"][:n] = [row["reducing_temperature_K"] for row in rows]
    record["lowest_temperature"] = max(ENDS.get(name, 0.0) for name in gases)
    record["wilson"][:, :n] = _wilson_factors(gases)
    sorts = [(i, j, pairs(gases[i], gases[j])) for i in range(n) for j in range(i + 1, n)]
    functions = sorted({row["function"] for *_, row in sorts if row["function"]})
    shared = [i for i, name in enumerate(gases) if _is_shared(name)]
    plain = [name for name in functions if _is_plain_function(name)]
    general = [name for name in functions if name not in plain]
    _fill_plain(record, gases, shared, plain)
    _fill_general(record, gases, [i for i in range(n) if i not in shared], general, len(plain))
    record["all_functions"] = len(functions)
    _fill_pairs(record, gases, sorts, {name: k for k, name in enumerate(plain + general)})
    return record


def _wilson_factors(gases):
    """ln(K p / Pa) = first - second / T after Wilson; Michelsen and Mollerup (2007), section 9.2."""
    rows = [gas(name) for name in gases]
    steepness = np.array([5.373 * (1.0 + row.acentric_factor) for row in rows])
    logs = np.log([row.critical_pressure for row in rows])
    return np.array([logs + steepness, steepness * [row.critical_temperature for row in rows]])


def _is_plain_function(name: str) -> bool:
    """No exponential decays and nothing that depends on tau but a power."""
    terms = equations()["functions"][name]["terms"]
    return len(terms) <= WINDOW and not any(term[3] or term[7] for term in terms)


def _fill_plain(record, gases, shared, functions) -> None:
    used: dict[tuple, int] = {}
    for i in shared:
        for term in equations()["gases"][gases[i]]["terms"]:
            place = used.setdefault(_basis_key(term), len(used))
            record["coefficient"][i, place] += term[0]
    place = record["shared"] = _up_to_four(len(used))
    for (l, d, t), k in used.items():
        record["t"][k], record["d"][k] = t, d
        if l:
            record[f"c{l}"][k] = -1.0
    lists = [equations()["functions"][name]["terms"] for name in functions]
    if place > SHARED or len(lists) > FUNCTIONS:
        raise InputError(TOO_MANY_TERMS)
    for f, terms in enumerate(lists):
        for k, (n, t, d, _, _, eta, epsilon, _, _, slope) in enumerate(terms):
            record["function_n"][f, k] = n * np.exp(-eta * epsilon**2)
            record["function_t"][f, k], record["function_d"][f, k] = t, d
            record["function_c1"][f, k], record["function_c2"][f, k] = 2.0 * eta * epsilon - slope, -eta
    record["functions"] = len(lists)
    record["tt"] = record["t"] * (record["t"] - 1.0)


def _fill_general(record, gases, owners, functions, first_function) -> None:
    lists = [equations()["gases"][gases[i]]["terms"] for i in owners]
    lists += [equations()["functions"][name]["terms"] for name in functions]
    if sum(map(len, lists)) > GENERAL - 4 or len(lists) > GENERAL_GROUPS:
        raise InputError(TOO_MANY_TERMS)
    place = 0
    for g, terms in enumerate(lists):
        record["start"][g] = place
        for n, t, d, l, decay, eta, epsilon, beta, gamma, slope in terms:
            for key, value in zip(
                ("gn", "gt", "gd", "eta", "epsilon", "beta", "gamma"),
                (n, t, d, eta, epsilon, beta, gamma), strict=True,
            ):  # fmt: skip
                record[key][place] = value
            if l:
                record[f"g{int(l)}"][place] -= decay
            record["g1"][place] -= slope
            place += 1
    record["start"][len(lists)] = place
    record["general"], record["general_groups"] = _up_to_four(place), len(lists)
    record["general_gases"] = len(owners)
    record["owner"][: len(lists)] = [*owners, *range(first_function, first_function + len(functions))]


def _up_to_four(count: int) -> int:
    """Terms come in fours, for vector code; those that fill up have coefficient zero."""
    return -(-count // 4) * 4


def _fill_pairs(record, gases, sorts, places) -> None:
    record["pairs"] = len(sorts)
    record["function"] = NO_FUNCTION
    volumes, temperatures = record["critical_volume"], record["critical_temperature"]
    for k, (i, j, row) in enumerate(sorts):
        turned = row["gas1"] != gases[i]
        beta_v, beta_t = (1.0 / row[key] if turned else row[key] for key in ("beta_v", "beta_t"))
        mean_volume = 0.125 * (volumes[i] ** (1 / 3) + volumes[j] ** (1 / 3)) ** 3
        mean_temperature = np.sqrt(temperatures[i] * temperatures[j])
        record["first"][k], record["second"][k] = i, j
        record["volume_factor"][k] = 2.0 * beta_v * row["gamma_v"] * mean_volume
        record["temperature_factor"][k] = 2.0 * beta_t * row["gamma_t"] * mean_temperature
        record["volume_square"][k], record["temperature_square"][k] = beta_v**2, beta_t**2
        if row["function"]:
            record["function"][k], record["weight"][k] = places[row["function"]], row["F"]
