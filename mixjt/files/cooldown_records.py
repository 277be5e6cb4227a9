"""Load line and cool-down as a record for JSON and as tables for CSV."""

from __future__ import annotations

import numpy as np

from mixjt.case.case import Case
from mixjt.cycles.settled import FixedMachine
from mixjt.files.output import Table
from mixjt.studies.cooldown import Cooldown

COLUMNS = (
    "cold_temperature_K", "suction_pressure_Pa", "discharge_pressure_Pa", "cooling_power_W", "net_power_W",
    "molar_flow_mol_per_s", "compressor_power_W", "supply_current_A", "discharge_temperature_K",
    "valve_temperature_K", "suction_temperature_K", "suction_vapour_fraction", "time_s",
)  # fmt: skip
SECONDS_PER_MINUTE = 60.0


def cooldown_record(case: Case, machine: FixedMachine, found: Cooldown, blend, model: str) -> dict:
    """The cool-down's figures and its load line; None where there is no such quantity."""
    return {
        "title": case.title,
        "case": case.file,
        "model": model,
        "blend": blend.to_dict(),
        "target_temperature_K": case.circuit.cold_temperature,
        "load_W": case.load,
        "lowest_temperature_K": found.lowest_temperature,
        "time_to_target_s": found.time_to_target,
        "interrupted": found.interrupted,
        "load_line": load_line_table(found).records(),
        "lost": list(found.lost),
        "warnings": list(found.warnings),
    }


def load_line_table(found: Cooldown) -> Table:
    """One row a cold-end temperature, from warm to cold."""
    rows = []
    for state, net in zip(found.states, found.net_power, strict=True):
        compression = state.compression
        rows.append(
            (
                state.cold_temperature,
                state.suction_pressure,
                state.discharge_pressure,
                state.cooling_power,
                float(net),
                state.molar_flow,
                compression.electrical_power,
                compression.supply_current,
                compression.discharge_temperature,
                compression.valve_temperature,
                state.compressor_inlet.temperature,
                state.compressor_inlet.vapour_fraction,
                _time_at(state.cold_temperature, found),
            )
        )
    return Table(COLUMNS, tuple(rows))


def way_table(found: Cooldown) -> Table:
    """Temperature of the cold end over time."""
    return Table(("time_s", "cold_temperature_K"), tuple(zip(found.times, found.temperatures, strict=True)))


def _time_at(temperature: float, found: Cooldown) -> float | None:
    """When the cold end passes a temperature; None where it has not within the times known."""
    if found.temperatures.size == 0 or temperature < found.temperatures[-1] - 1e-6:
        return None
    return float(np.interp(-temperature, -found.temperatures, found.times))
