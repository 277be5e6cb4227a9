"""What is said of the first start of a warm machine: its figures, and its table on the terminal."""

from __future__ import annotations

from collections.abc import Mapping

from mixjt.report.figure import Figure, print_figures, record_of
from mixjt.studies.first_start import StartLook

START = "First start, all warm"
PARTS = (
    Figure("trips", "trips", '"no", "may" or "yes", null where no current tells'),
    Figure("standing_pressure_Pa", "standing_pressure", "of both sides before it", "both sides at rest", START),
    Figure("refrigerant_standing_pressure_Pa", "refrigerant_pressure", "vapour pressure of the label's refrigerant at ambient",
           "  the label's refrigerant", START),
    Figure("greatest_power_W", "greatest.electrical_power", "on the way down", "greatest power", START),
    Figure("greatest_current_A", "greatest.supply_current", "", "  current", START),
    Figure("greatest_suction_pressure_Pa", "greatest.suction.pressure", "", "  suction", START),
    Figure("greatest_discharge_pressure_Pa", "greatest.discharge.pressure", "", "  discharge", START),
    Figure("held_power_W", "held.electrical_power", "greatest that lasts for minutes", "power for minutes", START),
    Figure("held_current_A", "held.supply_current", "", "  current", START),
    Figure("first_suction_pressure_Pa", "settled.suction.pressure", "where the throttle first passes what is moved",
           "settles first at suction", START),
    Figure("first_discharge_pressure_Pa", "settled.discharge.pressure", "", "  discharge", START),
    Figure("rated_current_A", "rated_current", "the label's, or a fifth of the locked-rotor current", "rated current", START),
    Figure("least_trip_current_A", "trip_current", "at which a protector may trip if it is held", "protector trips from", START),
    Figure("locked_rotor_current_A", "locked_rotor_current", "of the label", "locked-rotor current", START),
)  # fmt: skip
FIGURES = (
    Figure("first_start", "found", "of the warm machine; null without `[volumes]` and "
           "a capillary of stated diameter and length", parts=PARTS),
)  # fmt: skip


def with_start(record: Mapping, look: StartLook) -> dict:
    """A record with the first start, and what it says to the builder among its warnings, first."""
    return {**record, "warnings": [*look.warnings, *record["warnings"]]} | record_of(FIGURES, look)


def print_start(record: Mapping) -> None:
    """Its table, where there is one."""
    found = record.get("first_start")
    if found:
        print_figures(PARTS, START, found)
