"""What the sheet for the bench says of a machine: its figures, and the text on the terminal."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from mixjt.blend import Blend
from mixjt.case.case import Case
from mixjt.case.tables import TABLES
from mixjt.circuit.fixed_machine import FixedMachine
from mixjt.circuit.result import CircuitResult
from mixjt.constants import ZERO_CELSIUS
from mixjt.report import charge_report, cooldown_report, first_start_report, throttle_report
from mixjt.report.cautions import cautions
from mixjt.report.circuit_report import INTERRUPTED, MACHINE_KEYS, print_heading, print_keys
from mixjt.report.figure import EVERY, Figure, Listing, evenly, listing, record_of
from mixjt.report.output import program_version
from mixjt.report.terminal import print_notes
from mixjt.studies.band import Band
from mixjt.studies.charge.charge_plan import ChargePlan
from mixjt.studies.cooldown import Cooldown
from mixjt.studies.first_start import StartLook
from mixjt.studies.readings import WAY, Reading
from mixjt.studies.set_points import CURRENT, PRESSURE, TEMPERATURE, SetPoint
from mixjt.studies.throttle_study import ThrottleResult

SHOWN_ON_THE_WAY = 6  # rows; the record has all
BUILT = (  # tables of the case that tell what is built
    "compressor", "rating", "aftercooler", "recuperator", "recuperator_tubes", "throttle", "volumes", "oil", "insulation",
    "cold_mass",
)  # fmt: skip
NOT_BUILT = (
    "coldest",
    "bores",
    "tolerance",
    "debris",
)  # among their keys what is asked, and what is shown elsewhere


@dataclass(frozen=True)
class Sheet:
    """All that is told: the solved case, and what could be found out besides; None where missing says what it lacks."""

    case: Case
    blend: Blend
    result: CircuitResult
    band: Band | None
    plan: ChargePlan | None
    throttle: ThrottleResult | None
    machine: FixedMachine | None
    found: Cooldown | None
    start: StartLook
    readings: tuple[Reading, ...]
    points: tuple[SetPoint, ...]
    missing: tuple[str, ...]

    @property
    def atmosphere(self) -> float:
        """[Pa]"""
        return self.case.tables["ambient"]["pressure"]

    @property
    def told(self) -> charge_report.Told | None:
        """The charge as its own report tells it."""
        return self.plan and charge_report.Told(self.case, self.blend, self.result.fluid, self.plan)


GAUGE = {"unit": "bar gauge", "scale": 1e5, "form": ".2f"}
CELSIUS = {"unit": "°C", "form": ".0f"}
PARTS = (  # of (table, key, its value as written)
    Figure("table", lambda row: row[0]),
    Figure("key", lambda row: row[1]),
    Figure("stated", lambda row: row[2], "as the case has it"),
    Figure("meaning", lambda row: TABLES[row[0]].keys[row[1]].help),
)
READINGS = (  # of (reading, local atmosphere [Pa])
    Figure("when", lambda row: row[0].when, text="when", table=EVERY),
    Figure("time_s", lambda row: row[0].time, "from the start", text="time", form=".0f"),
    Figure("cold_temperature_K", lambda row: row[0].cold_temperature, text="cold end", form=".0f"),
    Figure("suction_gauge_pressure_Pa", lambda row: row[0].suction - row[1], "above the local atmosphere",
           text="suction", **GAUGE),
    Figure("suction_pressure_Pa", lambda row: row[0].suction, "absolute", text="suction", form=".2f"),
    Figure("discharge_gauge_pressure_Pa", lambda row: row[0].discharge - row[1], text="discharge", **GAUGE),
    Figure("discharge_pressure_Pa", lambda row: row[0].discharge, text="discharge", form=".2f"),
    Figure("discharge_temperature_K", lambda row: row[0].discharge_temperature, "of the line"),
    Figure("", lambda row: _celsius(row[0].discharge_temperature), text="line", **CELSIUS),
    Figure("supply_current_A", lambda row: row[0].current, text="current", form=".2f"),
)  # fmt: skip
SET_POINTS = (  # of (set point, local atmosphere [Pa])
    Figure("device", lambda row: row[0].device, text="device"),
    *(
        Figure(f"{end}_{measure}_{unit}",
               lambda row, end=end, of=measure: getattr(row[0], end) if row[0].measure == of else None,
               "what it may be set to, of the one that it acts on; the others are null" if first else "")
        for end, measure, unit, first in (
            ("least", PRESSURE, "Pa", True), ("most", PRESSURE, "Pa", False), ("least", TEMPERATURE, "K", False),
            ("most", TEMPERATURE, "K", False), ("least", CURRENT, "A", False), ("most", CURRENT, "A", False),
        )
    ),
    Figure("least_from", lambda row: row[0].least_from, "where it comes from"),
    Figure("most_from", lambda row: row[0].most_from),
    Figure("", lambda row: _bound(row[0], row[0].least, row[0].least_from, row[1]), text="above"),
    Figure("", lambda row: _bound(row[0], row[0].most, row[0].most_from, row[1]), text="at most"),
)  # fmt: skip
FIGURES = (
    Figure("parts", lambda sheet: part_listing(sheet.case), "what the case states of what is built", rows=PARTS),
    Figure("charge", lambda sheet: sheet.told and charge_report.charge_records(sheet.told),
           "in filling order, as `mixjt charge` tells it, errors of cooling aside; null where it is not known"),
    Figure("readings", lambda sheet: reading_listing(sheet), "what gauges and meters show, from rest to cold", rows=READINGS),
    Figure("set_points", lambda sheet: point_listing(sheet), "of cut-outs and relief valves", rows=SET_POINTS),
    Figure("throttle_sensitivity",
           lambda sheet: sheet.throttle and listing(throttle_report.VARIANTS, sheet.throttle.variants),
           "what tolerance and debris make of the capillary, as `mixjt throttle` tells it"),
    Figure("lowest_temperature_K", "found.lowest_temperature",
           "of the cool-down, as `mixjt cooldown` tells it; null where the case lacks something for it"),
    Figure("time_to_target_s", "found.time_to_target"),
    Figure("cool_down", lambda sheet: sheet.found and cooldown_report.way_listing(sheet.found)),
    replace(INTERRUPTED, read="found.interrupted"),
    Figure("missing", lambda sheet: list(sheet.missing), "what is not on the sheet, why, and what finds it"),
    Figure("version", lambda _: program_version(), "of the program"),
)  # fmt: skip


def sheet_record(sheet: Sheet, record: Mapping) -> dict:
    """The record of the circuit with all that the sheet says besides."""
    conflicts = [point.conflict for point in sheet.points if point.conflict]
    of_parts = [
        warning for part in (sheet.found, sheet.plan, sheet.throttle) if part for warning in part.warnings
    ]
    warnings = list(dict.fromkeys([*sheet.start.warnings, *conflicts, *of_parts, *record["warnings"]]))
    highest = max(one.discharge for one in sheet.readings)
    coldest = min(state.temperature for state in sheet.result.points.values())
    if sheet.found and sheet.found.states:
        coldest = min(coldest, sheet.found.states[-1].cold_temperature)
    hazards = cautions(sheet.blend.gases, sheet.blend.fractions, highest, coldest)
    filling = [charge_report.FILLING] if sheet.plan else []
    record = {**record, "warnings": warnings, "cautions": [*filling, *hazards]}
    return record | record_of(FIGURES, sheet) | record_of(first_start_report.FIGURES, sheet.start)


def part_listing(case: Case) -> Listing:
    """One row a value that the case states of what is built."""
    tables = [(name, case.raw[name]) for name in BUILT if name in case.raw]
    return listing(
        PARTS,
        [
            (name, key, _written(value))
            for name, table in tables
            for key, value in table.items()
            if key not in NOT_BUILT
        ],
    )


def reading_listing(sheet: Sheet) -> Listing:
    """One row a reading."""
    return listing(READINGS, [(one, sheet.atmosphere) for one in sheet.readings])


def shown_readings(sheet: Sheet) -> list[int]:
    """Places of those that are shown: some on the way, all others."""
    way = [place for place, one in enumerate(sheet.readings) if one.when == WAY]
    picked = [way[k] for k in evenly(len(way), SHOWN_ON_THE_WAY)] if way else []
    return [place for place, one in enumerate(sheet.readings) if one.when != WAY or place in picked]


def point_listing(sheet: Sheet) -> Listing:
    """One row a device."""
    return listing(SET_POINTS, [(point, sheet.atmosphere) for point in sheet.points])


def print_sheet(sheet: Sheet, record: Mapping) -> None:
    """What is read off most at the bench; the page has all."""
    print_heading(sheet.case, sheet.blend, record, sheet.band)
    print_keys("Machine", MACHINE_KEYS, record)
    if sheet.told:
        listing(charge_report.STEPS, sheet.told.rows).show("Let in, in this order", charge_report.FILL)
    reading_listing(sheet).show("What gauges and meters should show", picked=shown_readings(sheet))
    point_listing(sheet).show("Cut-outs and relief valves")
    print_notes("Not on the sheet", sheet.missing)


def _bound(point: SetPoint, value: float | None, source: str, atmosphere: float) -> str:
    """As it is set on the device, and where that comes from."""
    if value is None:
        return source
    if point.measure == PRESSURE:
        return f"{gauge_text(value, atmosphere)}: {source}"
    return (
        f"{_celsius(value):.0f} °C: {source}" if point.measure == TEMPERATURE else f"{value:.2f} A: {source}"
    )


def gauge_text(pressure: float, atmosphere: float) -> str:
    """For instance "15.0 bar gauge (16.0 abs)"."""
    return f"{(pressure - atmosphere) / 1e5:.1f} bar gauge ({pressure / 1e5:.1f} abs)"


def _celsius(temperature: float | None) -> float | None:
    return None if temperature is None else temperature - ZERO_CELSIUS


def _written(value) -> str:
    """A value of the case as its file has it."""
    return ", ".join(map(str, value)) if isinstance(value, list) else str(value)
