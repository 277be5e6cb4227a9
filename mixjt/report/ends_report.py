"""What is said of circuits in the coldest and the hottest ambient of a range."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from mixjt.circuit.result import CircuitResult
from mixjt.report.figure import EVERY, Figure, Listing, listing

TITLE = "In the coldest and the hottest ambient"
END = (  # of a circuit in one ambient
    Figure("ambient_temperature_K", "end.ambient_temperature", text="ambient", table=EVERY, form=".1f"),
    Figure("cooling_power_W", "end.cooling_power", text="cooling", table=EVERY, form=".2f"),
    Figure("compressor_power_W", "end.compressor_power", text="power", table=EVERY, form=".1f"),
    Figure("suction_superheat_K", "end.suction_superheat", text="superheat", table=EVERY, form=".1f"),
    Figure("discharge_temperature_K", "end.discharge_temperature", text="line", table=EVERY, form=".1f"),
    Figure("valve_temperature_K", "end.valve_temperature", text="valve", table=EVERY, form=".1f"),
)
OF_CYCLE = Figure("ambient_ends", "ends", "of `cycle` with a `temperature_range`: the circuit in the coldest and the "
                  "hottest ambient", rows=END)  # fmt: skip
ENDS = (Figure("rank", "rank", text="", table=EVERY), *END)  # of ranked candidates


def end_listing(ends: Iterable[CircuitResult]) -> Listing:
    """One blend, a row an ambient."""
    return listing(END, [{"end": end} for end in ends])


def ends_listing(every: Sequence[Iterable[CircuitResult]]) -> Listing:
    """Blends by rank, a row a blend and ambient."""
    return listing(ENDS, [{"rank": rank, "end": end} for rank, ends in enumerate(every, start=1) for end in ends])
