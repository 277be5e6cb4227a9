"""Interim: no sets of pair parameters beside the default."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class PairSet:
    """A plausible set of pair parameters."""

    name: str
    pairs: tuple[tuple[str, str], ...]


def set_names() -> tuple[str, ...]:
    """Names of the sets."""
    return ()


def sets_touching(gases) -> tuple[PairSet, ...]:
    """Sets that change any pair of these gases."""
    return ()


def pair_function(name: str):
    """Parameters of pairs by a set."""
    raise KeyError(name)
