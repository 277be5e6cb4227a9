"""Other plausible parameters of pairs than the default's: the ensemble behind the band of a figure.

A set changes some pairs and leaves all others as they are. Names, reasons and shifts stand in
data/pair_sets.json, whole rows in data/equations.json.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import files
from itertools import combinations

from mixjt.errors import InputError
from mixjt.fluid.flash.coefficients import equations, pair
from mixjt.fluid.soundness import nothing_fitted
from mixjt.gases.catalogue import gas_names

DATA = "pair_sets.json"
Pair = tuple[str, str]


@dataclass(frozen=True)
class PairSet:
    """A set of pair parameters: name, what it changes and why, how it meets measurements, and the pairs changed.

    plausible is False for a set that measurements speak against: it may be computed with, but counts in no band.
    """

    name: str
    text: str
    measured: str
    pairs: tuple[Pair, ...]
    plausible: bool = True


def set_names() -> tuple[str, ...]:
    """Names of all sets."""
    return tuple(_definitions())


def pair_set(name: str) -> PairSet:
    """A set with all the pairs that it changes.

    Raises
    ------
    InputError
        For an unknown name; the message lists those that exist.
    """
    row = _definition(name)
    pairs = tuple(tuple(sorted(two)) for two in _changed(name))
    return PairSet(name, row["text"], row["measured"], pairs, row.get("plausible", True))


def sets_touching(gases) -> tuple[PairSet, ...]:
    """The sets that change a pair among these gases, each with those pairs only."""
    present = set(gases)
    cut = (_among(pair_set(name), present) for name in set_names())
    return tuple(each for each in cut if each.pairs)


def _among(known: PairSet, present: set[str]) -> PairSet:
    return replace(known, pairs=tuple(two for two in known.pairs if set(two) <= present))


def pair_function(name: str | None) -> Callable[[str, str], dict]:
    """Parameters of a pair as the set of that name has them, for `blend_record`; the default's for None."""
    if name is None:
        return pair
    changed = _changed(name)

    def of_set(first: str, second: str) -> dict:
        """Parameters of two gases; beta hold for the order gas1, gas2."""
        return changed.get(frozenset((first, second))) or pair(first, second)

    return of_set


def is_estimated(first: str, second: str) -> bool:
    """Whether nothing is fitted for two gases."""
    return nothing_fitted(pair(first, second))


def _is_of_ethylene(first: str, second: str) -> bool:
    return "ethylene" in (first, second) and not is_estimated(first, second)


_KINDS = {"estimated": is_estimated, "ethylene": _is_of_ethylene}


@cache
def _definitions() -> dict[str, dict]:
    text = files("mixjt.fluid.data").joinpath(DATA).read_text(encoding="utf-8")
    return {row["name"]: row for row in json.loads(text)["sets"]}


def _definition(name: str) -> dict:
    if name not in _definitions():
        raise InputError(f"there is no pair set '{name}'; choose one of {', '.join(_definitions())}")
    return _definitions()[name]


@cache
def _changed(name: str) -> dict[frozenset, dict]:
    """Rows of the pairs that a set changes."""
    row = _definition(name)
    rows = [each for each in equations()["set_pairs"] if each["set"] == name]
    rows += [_shifted(each["gas1"], each["gas2"], each["gamma_t"]) for each in row.get("shifts", ())]
    if "kind" in row:
        belongs = _KINDS[row["kind"]]
        rows += [_shifted(*two, row["gamma_t"]) for two in combinations(gas_names(), 2) if belongs(*two)]
    return {frozenset((each["gas1"], each["gas2"])): each for each in rows}


def _shifted(first: str, second: str, factor: float) -> dict:
    row = pair(first, second)
    return row | {"gamma_t": row["gamma_t"] * factor}
