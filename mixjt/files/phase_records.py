"""The phases of a blend along isobars, as a record for JSON and as tables for CSV."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from mixjt.blend import Blend
from mixjt.case.case import Case
from mixjt.files.output import Table
from mixjt.properties.envelope import Envelope
from mixjt.studies.envelopes import SaturationPoints, TwoLiquids
from mixjt.studies.phases import BlendPhases, Isobar
from mixjt.studies.standstill import Standstill

COLUMNS = (
    "pressure_Pa",
    "temperature_K",
    "phases",
    "vapour_fraction",
    "enthalpy_J_per_mol",
)


def phase_record(case: Case, blend: Blend, found: BlendPhases) -> dict:
    """Saturation points, two-liquid spans, states and the charge at rest; None where there is no such point."""
    low, high = found.low, found.high
    record = {
        "title": case.title,
        "case": case.file,
        "model": found.model,
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
        "saturation": saturation_table(found.points).records(),
        "standstill": None if found.standstill is None else [_rest(row) for row in found.standstill],
        "states": phase_table((low, high)).records(),
        "warnings": [*_warnings(low, high), *found.warnings],
    }
    if found.envelopes:
        record["critical_points"] = {name: _critical(curve) for name, curve in found.envelopes.items()}
    return record


def _rest(row: Standstill) -> dict:
    return {
        "charge_g": 1e3 * row.charge,
        "ambient_pressure_Pa": row.ambient_pressure,
        "hottest_pressure_Pa": row.hottest_pressure,
        "phases": row.phases,
    }


def _critical(curve: Envelope) -> dict:
    record = {}
    for name in ("critical", "cricondenbar", "cricondentherm"):
        temperature, pressure = getattr(curve, name) or (None, None)
        record |= {f"{name}_temperature_K": temperature, f"{name}_pressure_Pa": pressure}
    return record


def phase_table(isobars: Sequence[Isobar]) -> Table:
    """One row a state, isobar after isobar."""
    rows = []
    for line in isobars:
        states = zip(line.temperatures, line.phase_texts, line.vapour_fraction, line.enthalpy, strict=True)
        rows += [(line.pressure, *state) for state in states]
    return Table(COLUMNS, tuple(rows))


def saturation_table(points: Sequence[SaturationPoints]) -> Table:
    """Bubble and dew points by each model, one row a pressure."""
    columns, curves = ["pressure_Pa"], [points[0].pressures]
    for each in points:
        columns += [f"bubble_point_{each.model}_K", f"dew_point_{each.model}_K"]
        curves += [each.bubble, each.dew]
    return Table(tuple(columns), tuple(zip(*curves, strict=True)))


def envelope_table(envelopes: Mapping[str, Envelope]) -> Table:
    """Every point of every envelope, from the bubble side over the critical point to the dew side."""
    rows = [
        (model, "dew" if on_dew else "bubble", temperature, pressure)
        for model, curve in envelopes.items()
        for on_dew, temperature, pressure in zip(
            curve.on_dew_side, curve.temperatures, curve.pressures, strict=True
        )
    ]
    return Table(("model", "curve", "temperature_K", "pressure_Pa"), tuple(rows))


def two_liquids_table(region: TwoLiquids) -> Table:
    """Span with two liquids at each pressure; empty where there is none."""
    rows = zip(region.pressures, region.coldest, region.warmest, strict=True)
    return Table(("pressure_Pa", "coldest_K", "warmest_K"), tuple(rows))


def _warnings(*isobars: Isobar) -> list[str]:
    """One line for each span in which the blend splits into two liquids."""
    return [
        f"two liquids at {line.pressure / 1e5:.3g} bar from {low:.4g} K to {high:.4g} K: the blend in "
        "circulation may change"
        for line in isobars
        for low, high in line.two_liquids
    ]
