"""What is said of a blend's phases: figures, tables, pictures, and the text on the terminal."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from mixjt.blend import Blend
from mixjt.case.case import Case
from mixjt.fluid.envelope import Envelope
from mixjt.report.figure import EVERY, Figure, Listing, curve, evenly, listing, record_of
from mixjt.report.terminal import print_table
from mixjt.studies.phases import BlendPhases, Isobar

ROWS = 20  # of the states on the terminal; --out has all of them
SUCTION, DISCHARGE = "suction", "discharge"
FIGURES = (
    Figure("suction_pressure_Pa", "low.pressure"),
    Figure("discharge_pressure_Pa", "high.pressure"),
    Figure("dew_point_low_K", "low.dew_point"),
    Figure("bubble_point_low_K", "low.bubble_point"),
    Figure("glide_low_K", "low.glide"),
    Figure("dew_point_high_K", "high.dew_point"),
    Figure("bubble_point_high_K", "high.bubble_point"),
    Figure("glide_high_K", "high.glide"),
    Figure("two_liquids_low_K", "low.two_liquids"),
    Figure("two_liquids_high_K", "high.two_liquids"),
    Figure("saturation", lambda found: saturation(found).records()),
    Figure("standstill", lambda found: None if found.standstill is None else at_rest(found).records()),
    Figure("states", lambda found: states((found.low, found.high)).records()),
    Figure("warnings", lambda found: [*_two_liquids(found.low, found.high), *found.warnings]),
)
SIDES = (  # of (name, isobar)
    Figure("", lambda row: row[0], text="side"),
    Figure("pressure_Pa", lambda row: row[1].pressure, text="p", form=".3f"),
    Figure("bubble_point_K", lambda row: row[1].bubble_point, text="bubble point", form=".2f"),
    Figure("dew_point_K", lambda row: row[1].dew_point, text="dew point", form=".2f"),
    Figure("glide_K", lambda row: row[1].glide, text="glide", form=".2f"),
)
STATES = (  # of (isobar, number of the state)
    Figure("pressure_Pa", lambda row: row[0].pressure),
    Figure("temperature_K", lambda row: row[0].temperatures[row[1]]),
    Figure("phases", lambda row: row[0].phase_texts[row[1]]),
    Figure("vapour_fraction", lambda row: row[0].vapour_fraction[row[1]]),
    Figure("enthalpy_J_per_mol", lambda row: row[0].enthalpy[row[1]]),
)
SATURATION = (  # of a pair of curves
    Figure("pressure_Pa", "pressures", text="p", table=EVERY, form=".3f"),
    Figure("bubble_point_K", "bubble", text="bubble point", form=".2f"),
    Figure("dew_point_K", "dew", text="dew point", form=".2f"),
)
ENVELOPE = (
    Figure("curve", lambda line: ["dew" if dew else "bubble" for dew in line.on_dew_side]),
    Figure("temperature_K", "temperatures"),
    Figure("pressure_Pa", "pressures"),
)
TWO_LIQUIDS = (  # of (pressure, coldest, warmest)
    Figure("pressure_Pa", lambda row: row[0]),
    Figure("coldest_K", lambda row: row[1]),
    Figure("warmest_K", lambda row: row[2]),
)


def phase_record(case: Case, blend: Blend, found: BlendPhases) -> dict:
    """Saturation points, two-liquid spans, states and the charge at rest; None where there is no such point."""
    record = {"title": case.title, "case": case.file, "model": found.model, "blend": blend.to_dict()}
    record |= record_of(FIGURES, found)
    if found.envelope:
        record["critical_points"] = _critical(found.envelope)
    return record


def states(isobars: Sequence[Isobar]) -> Listing:
    """One row a state, isobar after isobar."""
    return listing(STATES, [(line, k) for line in isobars for k in range(len(line.temperatures))])


def saturation(found: BlendPhases) -> Listing:
    """Bubble and dew points, one row a pressure."""
    return curve(SATURATION, found.points)


def at_rest(found: BlendPhases) -> Listing:
    """Pressures of charges at rest."""
    request = found.standstill_request
    figures = (
        Figure("charge_g", lambda row: 1e3 * row.charge, text="charge", form=".1f"),
        Figure("ambient_pressure_Pa", "ambient_pressure", text=f"at {request.ambient_temperature:.5g} K", form=".2f"),
        Figure("hottest_pressure_Pa", "hottest_pressure", text=f"at {request.hottest_temperature:.5g} K", form=".2f"),
        Figure("phases", "phases", text="phases at ambient"),
    )
    return listing(figures, found.standstill)


def phase_tables(found: BlendPhases) -> dict[str, Listing]:
    """States, points, where there are two liquids, and the envelope from bubble to dew side, for files."""
    region = found.region
    tables = {
        "phases": states((found.low, found.high)),
        "saturation": saturation(found),
        "two_liquids": listing(TWO_LIQUIDS, zip(region.pressures, region.coldest, region.warmest, strict=True)),
    }
    return tables | ({"envelope": curve(ENVELOPE, found.envelope)} if found.envelope else {})


def phase_pictures(found: BlendPhases, blend: Blend) -> dict[str, Callable]:
    """The envelope."""
    from mixjt.plots.envelope_plot import envelope_figure

    return {"envelope": lambda: envelope_figure(found, blend.gases, blend.composition)}


def print_phases(found: BlendPhases) -> None:
    """Saturation at the circuit's and at round pressures, phases along both isobars, and the charge at rest."""
    low, high = found.low, found.high
    listing(SIDES, ((SUCTION, low), (DISCHARGE, high))).show("Saturation")
    saturation(found).show("Bubble and dew points")
    columns = ("T|K|.1f", SUCTION, "vapour|mol/mol|.4f", DISCHARGE, "vapour|mol/mol|.4f")
    rows = [
        (low.temperatures[k], low.phase_texts[k], low.vapour_fraction[k], high.phase_texts[k], high.vapour_fraction[k])
        for k in evenly(len(low.temperatures), ROWS)
    ]
    print_table("Phases from the cold end to the warm end", columns, rows)
    if found.standstill is not None:
        at_rest(found).show(f"At rest in {1e3 * found.standstill_request.volume:.4g} litres")


def _critical(line: Envelope) -> Mapping:
    record = {}
    for name in ("critical", "cricondenbar", "cricondentherm"):
        temperature, pressure = getattr(line, name) or (None, None)
        record |= {f"{name}_temperature_K": temperature, f"{name}_pressure_Pa": pressure}
    return record


def _two_liquids(*isobars: Isobar) -> list[str]:
    """One line for each span in which the blend splits into two liquids."""
    return [
        f"two liquids at {line.pressure / 1e5:.3g} bar from {low:.4g} K to {high:.4g} K: the blend in "
        "circulation may change"
        for line in isobars
        for low, high in line.two_liquids
    ]
