"""The phases of a blend as people read them on the terminal."""

from __future__ import annotations

from mixjt.cli.show import print_table
from mixjt.studies.phases import BlendPhases


def print_saturation(found: BlendPhases) -> None:
    """Saturation at the circuit's two pressures, then at round pressures."""
    rows = [
        (name, line.pressure / 1e5, line.bubble_point, line.dew_point, line.glide)
        for name, line in (("suction", found.low), ("discharge", found.high))
    ]
    columns = ("side", "p|bar abs|.3f", "bubble point|K|.2f", "dew point|K|.2f", "glide|K|.2f")
    print_table("Saturation", columns, rows)
    (points,) = found.points
    rows = zip(points.pressures / 1e5, points.bubble, points.dew, strict=True)
    print_table("Bubble and dew points", ("p|bar abs|.3f", "bubble point|K|.2f", "dew point|K|.2f"), rows)


def print_states(found: BlendPhases, rows: int) -> None:
    """Phases along both isobars at evenly spaced temperatures."""
    low, high = found.low, found.high
    count = len(low.temperatures)
    picked = [round(k * (count - 1) / (rows - 1)) for k in range(rows)]
    columns = ("T|K|.1f", "suction", "vapour|mol/mol|.4f", "discharge", "vapour|mol/mol|.4f")
    states = [
        (
            low.temperatures[k],
            low.phase_texts[k],
            low.vapour_fraction[k],
            high.phase_texts[k],
            high.vapour_fraction[k],
        )
        for k in picked
    ]
    print_table("Phases from the cold end to the warm end", columns, states)


def print_standstill(found: BlendPhases) -> None:
    """Pressure of the charge at rest; nothing where the case has no [standstill]."""
    if found.standstill is None:
        return
    request = found.standstill_request
    columns = (
        "charge|g|.1f",
        f"at {request.ambient_temperature:.5g} K|bar abs|.2f",
        f"at {request.hottest_temperature:.5g} K|bar abs|.2f",
        "phases at ambient",
    )
    rows = [
        (1e3 * row.charge, row.ambient_pressure / 1e5, row.hottest_pressure / 1e5, row.phases)
        for row in found.standstill
    ]
    print_table(f"At rest in {1e3 * request.volume:.4g} litres", columns, rows)
