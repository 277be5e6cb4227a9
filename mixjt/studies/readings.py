"""What gauges and meters should show of a machine: at rest, at its start, on the way down and cold."""

from __future__ import annotations

from dataclasses import dataclass

from mixjt.circuit.fixed_machine import Settled
from mixjt.circuit.result import CircuitResult
from mixjt.parts.compressor.compression import CompressionResult
from mixjt.studies.at_rest import Standstill
from mixjt.studies.cooldown import SAME_TEMPERATURE, Cooldown
from mixjt.studies.first_start import FirstStart

BENCH, WARM, HOTTEST = "at rest on the bench", "at rest, all warm", "at rest, hottest day"
FIRST_MINUTES, WAY, COLDEST, DESIGNED = (
    "first minutes",
    "cooling down",
    "coldest followed",
    "cold, as designed",
)


@dataclass(frozen=True)
class Reading:
    """Suction and discharge pressure [Pa absolute] at some time.

    time [s] counts from the start; cold_temperature is that of the evaporator's outlet and discharge_temperature that of the
    line [K]; current [A]. None where the machine rests, or where it is not known.
    """

    when: str
    suction: float
    discharge: float
    time: float | None = None
    cold_temperature: float | None = None
    discharge_temperature: float | None = None
    current: float | None = None

    @property
    def runs(self) -> bool:
        """Whether the compressor does."""
        return self.discharge_temperature is not None


def expected_readings(
    designed: CircuitResult,
    bench: float | None,
    rest: Standstill | None,
    start: FirstStart | None,
    found: Cooldown | None,
) -> tuple[Reading, ...]:
    """Readings in the order in which they come; what is not known is left out.

    Parameters
    ----------
    designed : CircuitResult
    bench : float or None
        Pressure after the last bottle [Pa].
    rest : Standstill or None
        The charge at rest.
    start : FirstStart or None
    found : Cooldown or None
    """
    still = [(BENCH, bench)] + (
        [(WARM, rest.ambient_pressure), (HOTTEST, rest.hottest_pressure)] if rest else []
    )
    rows = [Reading(when, pressure, pressure) for when, pressure in still if pressure is not None]
    if start:
        rows.append(_of_compression(FIRST_MINUTES, start.settled))
    if found:
        timed = zip(found.way.moments, found.way.moment_times, strict=True)
        rows += [_of_state(WAY, moment.settled, float(time)) for moment, time in timed]
        last = found.states[-1] if found.states else None
        if last and last.cold_temperature < designed.cold_temperature - SAME_TEMPERATURE:
            rows.append(_of_state(COLDEST, last))
    return (*rows, Reading(
        DESIGNED, designed.suction_pressure, designed.discharge_pressure, None, designed.cold_temperature,
        designed.discharge_temperature, designed.supply_current,
    ))  # fmt: skip


def _of_state(when: str, state: Settled, time: float | None = None) -> Reading:
    return _of_compression(when, state.compression, time, state.cold_temperature)


def _of_compression(
    when: str, one: CompressionResult, time: float | None = None, cold: float | None = None
) -> Reading:
    pressures = one.suction.pressure, one.discharge.pressure
    return Reading(when, *pressures, time, cold, one.discharge_temperature, one.supply_current)
