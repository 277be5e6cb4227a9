"""What is fixed about a throttle circuit apart from its blend."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from numbers import Real
from typing import TYPE_CHECKING

from mixjt.errors import InputError
from mixjt.keys import key
from mixjt.parts.air_coil import AirCoil
from mixjt.parts.compressor.compression import Compressor
from mixjt.parts.insulation import Insulation
from mixjt.parts.recuperator.side import Ends
from mixjt.parts.recuperator.tubes import Coil

if TYPE_CHECKING:
    from mixjt.circuit.result import CircuitResult


@dataclass(frozen=True, kw_only=True)
class ThrottleCircuit:
    """A plain throttle circuit with its temperatures, pressures and compressor.

    Defaults are ordinary values of plate or tube-in-tube exchangers (common practice, no source).

    Parameters
    ----------
    ambient_temperature : float
        [K]
    suction_pressure, discharge_pressure : float
        At the compressor's inlet and outlet [Pa absolute].
    cold_temperature : float
        Of the evaporator outlet [K].
    aftercooler_approach : float
        Aftercooler outlet above ambient [K].
    aftercooler : AirCoil, optional
        Its size; then the approach is a result, and the one stated only where its search starts.
    aftercooler_drop : float
        [Pa]
    recuperator_approach : float
        Smallest temperature difference in the recuperator [K]; zero asks for the thermodynamic limit.
    recuperator_conductance : float, optional
        Of the recuperator [W/K]; then the approach is a result, and the one stated only where its search starts.
    coil : Coil, optional
        The tubes of the recuperator, from which its pressure drops follow, and with their length stated its conductance
        too. Two sections are cut from it. Not for circuits with a third stream in the recuperator.
    high_side_drop, low_side_drop : float
        Pressure drops of the recuperator's sides [Pa]. The throttle sees discharge pressure less
        aftercooler and high-side drop, the evaporator suction pressure plus low-side drop.
    compressor : Compressor
    insulation : Insulation, optional
        Through which heat leaks into recuperator and cold end; None for no leak.

    Raises
    ------
    InputError
        For values that no circuit can have, NaN included.
    """

    ambient_temperature: float = key(
        "temperature", "the temperature of the surrounding air", at="ambient.temperature", within="[200, 350]"
    )
    suction_pressure: float = key(
        "pressure", "the pressure at the compressor inlet", at="circuit.suction_pressure", within="[1e3, 1e7]"
    )
    discharge_pressure: float = key(
        "pressure", "the pressure at the compressor outlet", at="circuit.discharge_pressure", within="[1e3, 1e7]"
    )
    cold_temperature: float = key(
        "temperature", "the evaporator outlet, the warmest point of the load", at="cold_end.temperature",
        within="[60, 300]",
    )
    aftercooler_approach: float = key(
        "temperature_difference", "outlet temperature above ambient", at="aftercooler.approach", default=8.0,
        within="[0, 60]",
    )
    aftercooler_drop: float = key(
        "pressure_difference", "loss of pressure", at="aftercooler.pressure_drop", default=0.0, within="[0, 1e6]"
    )
    recuperator_approach: float = key(
        "temperature_difference", "smallest difference between the streams", at="recuperator.approach", default=3.0,
        within="[0, 60]",
    )
    recuperator_conductance: float | None = key(
        "heat_conductance", "conductance UA of the recuperator, from which its approach follows", default=None,
        at="recuperator.conductance", within="(0, 1e5]", otherwise="from the approach",
    )
    high_side_drop: float = key(
        "pressure_difference", "loss on the high-pressure side", at="recuperator.pressure_drop_high", default=0.0,
        within="[0, 1e6]",
    )
    low_side_drop: float = key(
        "pressure_difference", "loss on the low-pressure side", at="recuperator.pressure_drop_low", default=0.0,
        within="[0, 1e6]",
    )
    compressor: Compressor
    aftercooler: AirCoil | None = None
    insulation: Insulation | None = None
    coil: Coil | None = None
    three_streams = ""  # what runs side by side in a recuperator that is no pair of streams

    def __post_init__(self):
        for name in ("ambient_temperature", "suction_pressure", "discharge_pressure", "cold_temperature"):
            _require(name, getattr(self, name), zero_allowed=False)
        for name in ("aftercooler_approach", "recuperator_approach"):
            _require(name, getattr(self, name), zero_allowed=True)
        for name in ("high_side_drop", "low_side_drop", "aftercooler_drop"):
            _require(name, getattr(self, name), zero_allowed=True)
        if self.recuperator_conductance is not None:
            _require("recuperator_conductance", self.recuperator_conductance, zero_allowed=False)
        if self.coil is not None and self.three_streams:
            raise InputError(
                f"the tubes of the recuperator carry two streams, but {self.three_streams}: leave out the tubes, and state "
                "the recuperator's approach or conductance"
            )
        if not self.discharge_pressure > self.suction_pressure:
            raise InputError(
                f"discharge pressure {self.discharge_pressure:.6g} Pa must be above the suction pressure "
                f"{self.suction_pressure:.6g} Pa"
            )
        if not self.throttle_pressure > self.evaporator_pressure:
            raise InputError(
                f"the pressure drops leave nothing to the throttle: {self.throttle_pressure:.6g} Pa before it, "
                f"{self.evaporator_pressure:.6g} Pa after it"
            )
        if not self.cold_temperature < self.ambient_temperature:
            raise InputError(
                f"cold temperature {self.cold_temperature:.6g} K must be below the ambient "
                f"{self.ambient_temperature:.6g} K"
            )
        if not self.cold_temperature + self.recuperator_approach < self.warm_temperature:
            raise InputError(
                f"a recuperator approach of {self.recuperator_approach:.6g} K leaves no recuperator between "
                f"{self.cold_temperature:.6g} K and {self.warm_temperature:.6g} K"
            )

    @property
    def of_stated_length(self) -> bool:
        """Whether the recuperator is a coil whose length is stated."""
        return self.coil is not None and self.coil.length is not None

    @property
    def of_stated_size(self) -> bool:
        """Whether the recuperator's conductance or tubes are stated, so that its approach is a result."""
        return self.recuperator_conductance is not None or self.of_stated_length

    @property
    def warm_temperature(self) -> float:
        """Of the aftercooler outlet [K]."""
        return self.ambient_temperature + self.aftercooler_approach

    @property
    def aftercooler_pressure(self) -> float:
        """Of the aftercooler outlet, where the recuperator's high side begins [Pa]."""
        return self.discharge_pressure - self.aftercooler_drop

    @property
    def throttle_pressure(self) -> float:
        """Of the throttle inlet [Pa]."""
        return self.aftercooler_pressure - self.high_side_drop

    @property
    def evaporator_pressure(self) -> float:
        """Of the evaporator [Pa]."""
        return self.suction_pressure + self.low_side_drop

    @property
    def span(self) -> tuple[float, float]:
        """High-side temperatures the recuperator can have [K]."""
        return self.cold_temperature + self.recuperator_approach, self.warm_temperature

    def as_solved(self, result: CircuitResult) -> ThrottleCircuit:
        """The circuit with all that was chosen for a result of its kind, the approach of its recuperator stated."""
        return replace(
            self.as_sized(result), recuperator_conductance=None, suction_pressure=result.suction_pressure,
            discharge_pressure=result.discharge_pressure, aftercooler_approach=result.aftercooler_approach,
        )  # fmt: skip

    def as_sized(self, result: CircuitResult) -> ThrottleCircuit:
        """The circuit with a recuperator as large as that of a result, and with its pressure drops, but without tubes.

        What is solved with other gases, pressures or temperatures then keeps that recuperator's UA.
        """
        found = result.circuit
        return replace(
            self, recuperator_approach=found.recuperator_approach, high_side_drop=found.high_side_drop,
            low_side_drop=found.low_side_drop, coil=None,
            recuperator_conductance=result.recuperator_conductance if self.of_stated_size else None,
        )  # fmt: skip

    def ends(
        self, throttle_inlet: float | None = None, compressor_inlet: float | None = None
    ) -> tuple[Ends, Ends]:
        """Of the recuperator's high and low side; without the end temperatures [K] found, their limits."""
        cold, warm = self.span[0], self.warm_temperature
        high_cold = cold if throttle_inlet is None else throttle_inlet
        low_warm = warm - self.recuperator_approach if compressor_inlet is None else compressor_inlet
        return (
            Ends(high_cold, warm, self.throttle_pressure, self.aftercooler_pressure),
            Ends(self.cold_temperature, low_warm, self.evaporator_pressure, self.suction_pressure),
        )


def _require(name: str, value, zero_allowed: bool):
    """Refuse a value that is not a finite number, or is negative, or is zero where that is not allowed."""
    number = isinstance(value, Real) and math.isfinite(value)
    if not number or value < 0.0 or (value == 0.0 and not zero_allowed):
        need = "at least 0" if zero_allowed else "above 0"
        raise InputError(f"{name.replace('_', ' ')} must be a number {need}, got {value}")
