"""What a precooler means to the evaluation of many blends: its power, its limit and its temperature."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from mixjt.circuit.layouts.precooled import PrecooledCircuit, PrecooledResult
from mixjt.circuit.machine import ThrottleCircuit
from mixjt.circuit.result import CircuitResult
from mixjt.circuit.section import NO_LENGTH
from mixjt.errors import ConvergenceError, UnreachableError
from mixjt.parts.air_condenser import FARTHEST, condenser_conductance
from mixjt.parts.precooler import Precooler, coldest_condensing, condensing_stage, precooling_stage

PRECOOLER_MARGIN = ("precooler duty", "of its capacity", 0.01)
POINTS = 64  # condensing temperatures


@dataclass(frozen=True, eq=False)
class Precooling:
    """Electrical power per heat taken up, by duties [W], ascending; capacity [W] (infinite without a limit)."""

    duties: np.ndarray
    powers: np.ndarray
    capacity: float = math.inf

    @property
    def limited(self) -> bool:
        """Whether there is a limit."""
        return math.isfinite(self.capacity)

    def power_per_heat(self, duties: np.ndarray) -> np.ndarray:
        """Of stages that take up so much [W]; with a condenser of stated size it rises with the duty."""
        return np.interp(duties, self.duties, self.powers)


def precooling(circuit: ThrottleCircuit) -> Precooling:
    """Of a circuit; a plain one has none."""
    if not isinstance(circuit, PrecooledCircuit) or not _has_warm_section(circuit):
        return Precooling(np.zeros(1), np.zeros(1))
    precooler, ambient = circuit.precooler, circuit.ambient_temperature
    capacity = precooler.capacity_at(precooler.temperature, ambient)
    if precooler.condenser is None:
        stage = precooling_stage(precooler, precooler.temperature, ambient)
        return Precooling(np.zeros(1), np.array([stage.power_per_heat]), capacity)
    duties, powers = _by_duty(precooler, ambient)
    return Precooling(duties, powers, min(capacity, float(duties[-1])))


def _by_duty(precooler: Precooler, ambient: float) -> tuple[np.ndarray, np.ndarray]:
    """What a condenser of stated size can give off, for condensing temperatures up to the warmest that is of use."""
    coldest = coldest_condensing(precooler, precooler.temperature, ambient)
    warmer = ambient + np.geomspace(coldest - ambient + 1.0, FARTHEST, POINTS)
    duties, powers = [], []
    for condensing in (coldest, *warmer):
        try:
            cycle = condensing_stage(precooler, precooler.temperature, ambient, float(condensing))
        except (UnreachableError, ConvergenceError):
            break
        duty = precooler.condenser.to_ambient(ambient) / condenser_conductance(cycle, 1.0, ambient)
        if duties and not duty > duties[-1]:
            break
        duties.append(duty)
        powers.append(cycle.power_per_heat)
    if not duties:
        raise UnreachableError(f"the precooler's {precooler.fluid} does not condense in a room of {ambient:.4g} K")
    return np.array(duties), np.array(powers)


def section_boundary(circuit: ThrottleCircuit) -> float | None:
    """High-side temperature [K] where the cold section begins; None where there is only one section."""
    if isinstance(circuit, PrecooledCircuit) and _has_warm_section(circuit):
        return circuit.precooler.temperature
    return None


def duty_margin(precooler: Precooling, result: CircuitResult) -> float:
    """Share of the capacity that a solved circuit leaves unused."""
    duty = result.precooler_duty if isinstance(result, PrecooledResult) else 0.0
    return 1.0 - duty / precooler.capacity


def _has_warm_section(circuit: PrecooledCircuit) -> bool:
    return circuit.warm_temperature - circuit.precooler.temperature > NO_LENGTH
