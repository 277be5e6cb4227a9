"""What is said of a blend's phases: figures, tables, pictures, and the text on the terminal."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

from mixjt.blend import Blend
from mixjt.case.case import Case
from mixjt.fluid.envelope import Envelope
from mixjt.report.circuit_report import BLEND_SHARES, DISCHARGE, MODEL, SUCTION, TITLE
from mixjt.report.figure import EVERY, Figure, Listing, curve, evenly, listing, record_of
from mixjt.report.terminal import print_table
from mixjt.studies.phases import BlendPhases, Isobar

ROWS = 20  # of the states on the terminal; --out has all of them
LOW_SIDE, HIGH_SIDE = "suction", "discharge"
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


def _charge_figures(ambient: str = "", hottest: str = "") -> tuple[Figure, ...]:
    return (
        Figure("charge_g", lambda row: 1e3 * row.charge, text="charge", form=".1f"),
        Figure("ambient_pressure_Pa", "ambient_pressure", text=ambient, form=".2f"),
        Figure("hottest_pressure_Pa", "hottest_pressure", text=hottest, form=".2f"),
        Figure("phases", "phases", text="phases at ambient"),
    )


TWO_LIQUIDS = (  # of (pressure, coldest, warmest)
    Figure("pressure_Pa", lambda row: row[0]),
    Figure("coldest_K", lambda row: row[1]),
    Figure("warmest_K", lambda row: row[2]),
)
FIGURES = (
    replace(SUCTION, read="low.pressure"),
    replace(DISCHARGE, read="high.pressure"),
    Figure("dew_point_low_K", "low.dew_point", "at suction pressure"),
    Figure("bubble_point_low_K", "low.bubble_point"),
    Figure("glide_low_K", "low.glide"),
    Figure("dew_point_high_K", "high.dew_point", "at discharge pressure"),
    Figure("bubble_point_high_K", "high.bubble_point"),
    Figure("glide_high_K", "high.glide"),
    Figure("two_liquids_low_K", "low.two_liquids", "spans with two liquids"),
    Figure("two_liquids_high_K", "high.two_liquids"),
    Figure("saturation", lambda found: saturation(found), "bubble and dew points at round pressures"),
    Figure("standstill", "standstill", "null without a volume and charges at rest", rows=_charge_figures()),
    Figure("states", lambda found: states((found.low, found.high)), "along both isobars", rows=STATES),
    Figure("warnings", lambda found: [*_two_liquids(found.low, found.high), *found.warnings], "a list of sentences"),
)
CRITICAL = Figure(  # with --out
    "critical_points",
    lambda found: _critical(found.envelope),
    "only with `--out`: temperature and pressure of the critical point, cricondenbar and cricondentherm",
)


def phase_record(case: Case, blend: Blend, found: BlendPhases) -> dict:
    """Saturation points, two-liquid spans, states and the charge at rest; None where there is no such point."""
    record = record_of((*TITLE, MODEL, BLEND_SHARES), {"case": case, "model": found.model, "blend": blend})
    return record | record_of((*FIGURES, *([CRITICAL] if found.envelope else [])), found)


def states(isobars: Sequence[Isobar]) -> Listing:
    """One row a state, isobar after isobar."""
    return listing(STATES, [(line, k) for line in isobars for k in range(len(line.temperatures))])


def saturation(found: BlendPhases) -> Listing:
    """Bubble and dew points, one row a pressure."""
    return curve(SATURATION, found.points)


def at_rest_listing(found: BlendPhases) -> Listing:
    """Pressures of charges at rest."""
    request = found.standstill_request
    temperatures = (f"at {one:.5g} K" for one in (request.ambient_temperature, request.hottest_temperature))
    return listing(_charge_figures(*temperatures), found.standstill)


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
    listing(SIDES, ((LOW_SIDE, low), (HIGH_SIDE, high))).show("Saturation")
    saturation(found).show("Bubble and dew points")
    columns = ("T|K|.1f", LOW_SIDE, "vapour|mol/mol|.4f", HIGH_SIDE, "vapour|mol/mol|.4f")
    rows = [
        (low.temperatures[k], low.phase_texts[k], low.vapour_fraction[k], high.phase_texts[k], high.vapour_fraction[k])
        for k in evenly(len(low.temperatures), ROWS)
    ]
    print_table("Phases from the cold end to the warm end", columns, rows)
    if found.standstill is not None:
        at_rest_listing(found).show(f"At rest in {1e3 * found.standstill_request.volume:.4g} litres")


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
