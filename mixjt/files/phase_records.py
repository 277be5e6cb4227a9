"""The phases of a blend along isobars, as a record for JSON and as tables for CSV."""

from __future__ import annotations

from collections.abc import Sequence

from mixjt.blend import Blend
from mixjt.files.case import Case
from mixjt.files.output import Table
from mixjt.properties.records import SaturationBoundary
from mixjt.studies.phases import Isobar

COLUMNS = (
    "pressure_Pa",
    "temperature_K",
    "phases",
    "vapour_fraction",
    "enthalpy_J_per_mol",
)


def phase_record(case: Case, blend: Blend, model: str, low: Isobar, high: Isobar) -> dict:
    """Saturation points, two-liquid spans and states of both isobars; None where there is no such point."""
    return {
        "title": case.title,
        "case": case.file,
        "model": model,
        "blend": blend.to_dict(),
        "suction_pressure_Pa": low.pressure,
        "discharge_pressure_Pa": high.pressure,
        "dew_point_low_K": low.dew_point,
        "bubble_point_low_K": low.bubble_point,
        "glide_low_K": low.glide,
        "dew_point_high_K": high.dew_point,
        "bubble_point_high_K": high.bubble_point,
        "glide_high_K": high.glide,
        "two_liquids_low_K": low.two_liquids,
        "two_liquids_high_K": high.two_liquids,
        "states": phase_table((low, high)).records(),
        "warnings": _warnings(low, high),
    }


def phase_table(isobars: Sequence[Isobar]) -> Table:
    """One row a state, isobar after isobar."""
    rows = []
    for line in isobars:
        states = zip(line.temperatures, line.phase_texts, line.vapour_fraction, line.enthalpy, strict=True)
        rows += [(line.pressure, *state) for state in states]
    return Table(COLUMNS, tuple(rows))


def boundary_table(boundary: SaturationBoundary) -> Table:
    """Bubble and dew curve, one row a pressure."""
    columns = (
        "pressure_Pa", "bubble_point_K", "bubble_enthalpy_J_per_mol", "dew_point_K", "dew_enthalpy_J_per_mol",
    )  # fmt: skip
    curves = (
        boundary.pressures, boundary.bubble_temperatures, boundary.bubble_enthalpies,
        boundary.dew_temperatures, boundary.dew_enthalpies,
    )  # fmt: skip
    return Table(columns, tuple(zip(*curves, strict=True)))


def _warnings(*isobars: Isobar) -> list[str]:
    """One line for each span in which the blend splits into two liquids."""
    return [
        f"two liquids at {line.pressure / 1e5:.3g} bar from {low:.4g} K to {high:.4g} K: the blend in "
        "circulation may change"
        for line in isobars
        for low, high in line.two_liquids
    ]
