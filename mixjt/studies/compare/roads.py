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
    halvings: of a step of the line, to find the lowest temperature. chosen_anew: at how many temperatures a cascade's
    fluids are chosen from all; between them only those chosen are tried.
    """

    samples: int
    line_samples: int
    halvings: int
    chosen_anew: int


EFFORTS = {
    "quick": Effort(128, 0, halvings=1, chosen_anew=3),
    "usual": Effort(256, 64, halvings=2, chosen_anew=99),
    "thorough": Effort(1024, 256, halvings=4, chosen_anew=99),
}
DEFAULT_EFFORT = "usual"


def road_label(road: str) -> str:
    """For people."""
    return LABELS.get(road) or f"cascade of {CASCADES[road]}"
