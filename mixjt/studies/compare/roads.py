"""The roads that can be compared, their names for people, and how thoroughly to look."""

from __future__ import annotations

from dataclasses import dataclass

from mixjt.circuit.solve import PLAIN, PRECOOLED, SEPARATOR

BLENDS = (PLAIN, PRECOOLED, SEPARATOR)
CASCADES = {"cascade-1": 1, "cascade-2": 2, "cascade-3": 3, "cascade-4": 4}
ROADS = (*BLENDS, *CASCADES)
DEFAULT_ROADS = (*BLENDS, "cascade-2", "cascade-3")
LABELS = {PLAIN: "plain blend", PRECOOLED: "precooled blend", SEPARATOR: "blend with separator"}


@dataclass(frozen=True)
class Effort:
    """How thoroughly to look.

    samples: blends of the space-filling start at the cold end; line_samples: the same along the load line.
    searched_anew: whether plain blends are searched for among all sets of bottles along the line too, or only near
    the neighbours'. precooling: precooling temperatures tried where none is stated; line_precooling: the same along
    the line. halvings: of a step of the line, to find the
    lowest temperature. chosen_anew: at how many temperatures a cascade's fluids are chosen from all; between
    them only those chosen are tried.
    """

    samples: int
    line_samples: int
    searched_anew: bool
    precooling: int
    line_precooling: int
    halvings: int
    chosen_anew: int


EFFORTS = {
    "quick": Effort(128, 32, False, precooling=2, line_precooling=2, halvings=1, chosen_anew=3),
    "usual": Effort(256, 64, True, precooling=3, line_precooling=3, halvings=2, chosen_anew=99),
    "thorough": Effort(1024, 256, True, precooling=5, line_precooling=5, halvings=4, chosen_anew=99),
}
DEFAULT_EFFORT = "usual"


def road_label(road: str) -> str:
    """For people."""
    return LABELS.get(road) or f"cascade of {CASCADES[road]}"
