"""What a blend search found."""

from __future__ import annotations

from dataclasses import dataclass, field

from mixjt.circuit.result import CircuitResult
from mixjt.studies.search.search_request import COOLING_POWER, COP, LEAST, POWER_AT_LOAD


def objective_value(objective: str, result: CircuitResult) -> float:
    """What a search makes greatest or least, read off a solved circuit: W, 1 or K (see `SearchRequest`)."""
    return value_of(objective, worth(objective, result))


def value_of(objective: str, worth: float) -> float:
    """The objective of what is worth so much, and the other way round."""
    return 1.0 / worth if objective in LEAST else worth


def worth(objective: str, result: CircuitResult) -> float:
    """What ranks solved circuits, the greater the better: the objective, or where the least is best one over it."""
    if objective == POWER_AT_LOAD:
        return 1.0 / result.total_power
    if objective == COOLING_POWER:
        return result.cooling_power
    if objective == COP:
        return result.cop
    return result.cooling_capacity / result.pinch.conductance


@dataclass(frozen=True)
class SearchResult:
    """Blends solved in full, best first; near-duplicates are merged.

    ends are the circuits of each candidate in the coldest and the hottest ambient, where the request has a range; the
    candidate is the worse of the two.

    values and amounts (bottle -> mole fraction) belong to candidates, one to one. best_by_count maps a
    number of bottles to the best blend with at most that many, so it never falls; amounts_by_count
    belongs to it. seconds is left out of comparisons, as are the circuits themselves, which follow from
    amounts and pressures.
    """

    objective: str
    candidates: tuple[CircuitResult, ...] = field(compare=False)
    values: tuple[float, ...]
    amounts: tuple[dict[str, float], ...]
    best_by_count: dict[int, CircuitResult] = field(compare=False)
    amounts_by_count: dict[int, dict[str, float]]
    evaluations: int
    seconds: float = field(compare=False)
    interrupted: bool
    messages: tuple[str, ...]
    ends: tuple[tuple[CircuitResult, ...], ...] = field(default=(), compare=False)
