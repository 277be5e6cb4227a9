"""Load line and cool-down as people read them on the terminal."""

from __future__ import annotations

from mixjt.cycles.settled import FixedMachine
from mixjt.files.cooldown_records import load_line_table
from mixjt.report.terminal import print_notes, print_quantities, print_table
from mixjt.studies.cooldown import Cooldown

COLUMNS = (
    "cold end|K|.1f", "suction|bar abs|.2f", "discharge|bar abs|.2f", "cooling|W|.1f", "net|W|.1f", "power|W|.0f",
    "current|A|.2f", "outlet|K|.0f", "inlet|K|.0f", "vapour|mol/mol|.3f", "time|min|.0f",
)  # fmt: skip


def print_outcome(record: dict) -> None:
    """Lowest temperature and time to the target."""
    minutes = None if record["time_to_target_s"] is None else record["time_to_target_s"] / 60.0
    rows = [
        ("lowest temperature under leak and load", record["lowest_temperature_K"], "K"),
        (f"time to {record['target_temperature_K']:.4g} K", minutes, "min"),
    ]
    print_quantities("Cool-down", rows)
    print()


def print_load_line(found: Cooldown) -> None:
    """One row a cold-end temperature, from warm to cold."""
    if not found.states:
        print("No point of the load line was settled yet.")
        return
    rows = []
    for row in load_line_table(found).records():
        time = None if row["time_s"] is None else row["time_s"] / 60.0
        rows.append(
            (
                row["cold_temperature_K"], row["suction_pressure_Pa"] / 1e5, row["discharge_pressure_Pa"] / 1e5,
                row["cooling_power_W"], row["net_power_W"], row["compressor_power_W"], row["supply_current_A"],
                row["discharge_temperature_K"], row["suction_temperature_K"], row["suction_vapour_fraction"], time,
            )
        )  # fmt: skip
    print_table("Load line at settled pressures, from warm to cold", COLUMNS, rows)


def print_notes_on_method(machine: FixedMachine) -> None:
    """What the figures rest on, and how far to trust them."""
    kept = "the charge held by [volumes]" if machine.volumes else "the suction pressure kept, as without [volumes]"
    notes = (
        f"pressures settle between compressor and capillary with {kept}; flows of capillaries are good to 20-30 %",
        "the composition in circulation is taken as that charged: heavy gases held up as liquid shift it",
        "liquid held up in the exchanger is underestimated, and with it the pressure before the start",
    )
    print_notes("How far to trust this", notes)
