"""What a precooler means to the evaluation of many blends: its power, its limit and its temperature."""

from __future__ import annotations

import math
from dataclasses import dataclass

from mixjt.circuit.layouts.precooled import PrecooledCircuit, PrecooledResult
from mixjt.circuit.machine import ThrottleCircuit
from mixjt.circuit.result import CircuitResult
from mixjt.circuit.section import NO_LENGTH
from mixjt.parts.precooler import precooling_stage

PRECOOLER_MARGIN = ("precooler duty", "of its capacity", 0.01)


@dataclass(frozen=True)
class Precooling:
    """Electrical power per heat taken up, capacity [W] (infinite without a limit)."""

    power_per_heat: float = 0.0
    capacity: float = math.inf

    @property
    def limited(self) -> bool:
        """Whether there is a limit."""
        return math.isfinite(self.capacity)


def precooling(circuit: ThrottleCircuit) -> Precooling:
    """Of a circuit; a plain one has none."""
    if not isinstance(circuit, PrecooledCircuit) or not _has_warm_section(circuit):
        return Precooling()
    precooler, ambient = circuit.precooler, circuit.ambient_temperature
    stage = precooling_stage(precooler, precooler.temperature, ambient)
    return Precooling(stage.power_per_heat, precooler.capacity_at(precooler.temperature, ambient))


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
