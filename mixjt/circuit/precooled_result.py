"""What a solved precooled circuit consists of; see `mixjt.circuit.precooled`."""

from __future__ import annotations

import math
from dataclasses import dataclass

from mixjt.circuit.result import CircuitResult, PinchCurve
from mixjt.fluid.states import State
from mixjt.parts.compressor.compression import CompressionResult
from mixjt.parts.recuperator.side import Side
from mixjt.parts.vapour_stage import StageCycle


@dataclass(frozen=True)
class PrecooledResult(CircuitResult):
    """A precooled circuit solved for its greatest cooling.

    cop, carnot_fraction and exergy count the precooler's power too; compressor_power is the blend
    compressor's alone. pinch holds both sections one after the other, its conductance their sum; sections
    holds the cold one and, where there is one, the warm one. precooler_heat is in J/mol of blend. stage is
    None where the precooler has nothing to do.
    """

    precooler_temperature: float = math.nan
    precooler_heat: float = 0.0
    precooler_power: float = 0.0  # W, electrical
    precooler_fluid: str = ""
    stage: StageCycle | None = None
    sections: tuple[PinchCurve, ...] = ()

    @property
    def precooler_duty(self) -> float:
        """Heat that the precooler takes up [W]."""
        return self.precooler_heat * self.molar_flow

    @property
    def total_power(self) -> float:
        """Electrical power of both compressors [W]."""
        return self.compressor_power + self.precooler_power


@dataclass(frozen=True)
class PrecooledPoint:
    """A precooled circuit at its greatest cooling, its states and flow, before curves and balances.

    temperature [K] is that of the precooler outlet; cooling and precooler_heat in J/mol; cold_pinch and
    warm_pinch are high-side temperatures [K]; stage is None where the precooler has nothing to do.
    """

    temperature: float
    cooling: float
    precooler_heat: float
    high: Side
    low: Side
    cold_pinch: float
    warm_pinch: float
    places: dict[str, State]
    compression: CompressionResult
    stage: StageCycle | None

    @property
    def cooling_power(self) -> float:
        """[W]"""
        return self.cooling * self.compression.molar_flow

    @property
    def precooler_duty(self) -> float:
        """[W]"""
        return self.precooler_heat * self.compression.molar_flow

    @property
    def stage_work(self) -> float:
        """Electrical work of the precooler per mole of blend [J/mol]."""
        return 0.0 if self.stage is None else self.precooler_heat * self.stage.power_per_heat

    @property
    def precooler_power(self) -> float:
        """Electrical [W]."""
        return self.stage_work * self.compression.molar_flow

    @property
    def total_power(self) -> float:
        """Electrical power of both compressors [W]."""
        return self.compression.electrical_power + self.precooler_power

    @property
    def cop(self) -> float:
        """Cooling power over the electrical power of both compressors."""
        return self.cooling_power / self.total_power
