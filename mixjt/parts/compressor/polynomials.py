"""A compressor known by ten-coefficient polynomials.

    X = C1 + C2 S + C3 D + C4 S^2 + C5 S D + C6 D^2 + C7 S^3 + C8 D S^2 + C9 S D^2 + C10 D^3

with S and D the dew-point temperatures of suction and discharge pressure; X is capacity, power, mass flow or current.
Carried over to another gas, the machine has at each pair of pressures the displacement and the isentropic efficiency with
which a compressor of its kind does what the polynomials say with their own refrigerant.

Source: ANSI/AHRI Standard 540 (2020), performance rating of positive displacement refrigerant compressors (form of the
equation from memory).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field

from mixjt.bounds import require
from mixjt.errors import InputError, UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.pure import PureModel, pure_model
from mixjt.fluid.states import State
from mixjt.keys import key
from mixjt.parts.compressor.compression import (
    COMPRESSOR_KINDS,
    DEFAULT_POWER_FACTOR,
    Compressor,
    require_rise,
)
from mixjt.parts.compressor.rating_points import RATING_AMBIENT
from mixjt.parts.compressor.sizing import fitted

TEMPERATURES: dict[str, Callable[[float], float]] = {
    "degC": lambda kelvin: kelvin - 273.15,
    "degF": lambda kelvin: 1.8 * (kelvin - 273.15) + 32.0,
    "K": lambda kelvin: kelvin,
}
BRITISH_THERMAL_UNIT = 1055.05585262  # J, International Table: exact by definition
POUND = 0.45359237  # kg, exact by definition
CAPACITIES = {"W": 1.0, "kW": 1e3, "BTU/h": BRITISH_THERMAL_UNIT / 3600.0, "kcal/h": 4186.8 / 3600.0}
POWERS = {"W": 1.0, "kW": 1e3}
MASS_FLOWS = {"kg/h": 1.0 / 3600.0, "kg/s": 1.0, "g/s": 1e-3, "lb/h": POUND / 3600.0}
ONE = (1.0,)


@dataclass(frozen=True)
class Polynomial:
    """Ten coefficients C1 to C10; temperature is a key of TEMPERATURES, unit the SI value of one unit of X."""

    coefficients: tuple[float, ...]
    temperature: str = "degC"
    unit: float = 1.0

    def __post_init__(self):
        if len(self.coefficients) != 10 or not all(math.isfinite(c) for c in self.coefficients):
            raise InputError(f"a rating polynomial needs ten coefficients, got {len(self.coefficients)}")
        if self.temperature not in TEMPERATURES:
            raise InputError(f"temperatures of a polynomial are in {', '.join(TEMPERATURES)}, not {self.temperature}")

    def value(self, evaporating: float, condensing: float) -> float:
        """X in SI at dew-point temperatures [K]."""
        s, d = (TEMPERATURES[self.temperature](kelvin) for kelvin in (evaporating, condensing))
        terms = (1.0, s, d, s * s, s * d, d * d, s**3, d * s * s, s * d * d, d**3)
        return self.unit * math.fsum(c * term for c, term in zip(self.coefficients, terms, strict=True))


@dataclass(frozen=True)
class PolynomialCompressor:
    """A compressor by its polynomials.

    Parameters
    ----------
    fluid : str
        The refrigerant they hold for, a name of `mixjt.fluid.pure.fluid_names`.
    kind : str
    speed : float
        Of the shaft [rev/s].
    power : Polynomial
        Electrical input [W].
    mass_flow, capacity : Polynomial, optional
        [kg/s], [W]; one of them is needed, and the flow is used where both are there.
    current : Polynomial, optional
        [A]
    return_gas, superheat : float, optional
        What the polynomials were measured with: inlet temperature [K], or above the dew point [K]; one of them.
    subcooling : float
        Of the liquid, for the capacity [K].
    evaporating_range, condensing_range : tuple of float, optional
        Where they hold [K].
    further : dict
        Other fields of `Compressor`, such as supply_voltage.

    Raises
    ------
    InputError
        For what is missing or contradictory.
    """

    fluid: str
    kind: str
    speed: float
    power: Polynomial
    mass_flow: Polynomial | None = None
    capacity: Polynomial | None = None
    current: Polynomial | None = None
    return_gas: float | None = None
    superheat: float | None = key(
        "temperature_difference", "the polynomials' superheat", default=None, within="[0, 100]",
        otherwise="by the return gas",
    )
    subcooling: float = key(
        "temperature_difference", "the polynomials' subcooling", default=0.0, within="[0, 50]"
    )
    evaporating_range: tuple[float, float] | None = key(
        "temperature", "where the polynomials hold", default=None, within="[150, 330]", span=True,
        otherwise="not checked",
    )
    condensing_range: tuple[float, float] | None = key(
        "temperature", "where the polynomials hold", default=None, within="[200, 400]", span=True,
        otherwise="not checked",
    )
    further: dict = field(default_factory=dict)

    def __post_init__(self):
        if self.kind not in COMPRESSOR_KINDS:
            raise InputError(f"compressor kind {self.kind!r} is not one of {', '.join(COMPRESSOR_KINDS)}")
        if self.mass_flow is None and self.capacity is None:
            raise InputError("rating polynomials need one for the mass flow or one for the capacity beside the power")
        if (self.return_gas is None) == (self.superheat is None):
            raise InputError("rating polynomials need the return gas temperature or the superheat they were measured with")
        require("rating speed", self.speed, above=0.0)

    def at(self, suction_pressure: float, discharge_pressure: float) -> Compressor:
        """The machine as `compress` takes it, at these pressures [Pa] and only there.

        Raises
        ------
        InputError
            For a discharge pressure not above the suction pressure.
        UnreachableError
            Where the polynomials do not hold, or give no flow or more than an ideal machine's efficiency.
        """
        require_rise(suction_pressure, discharge_pressure)
        model = pure_model(self.fluid)
        evaporating, condensing = (model.saturation_temperature(p) for p in (suction_pressure, discharge_pressure))
        self._check_range(evaporating, condensing)
        suction = self._suction(model, evaporating, suction_pressure)
        flow = self.molar_flow(evaporating, condensing)
        power = self.power.value(evaporating, condensing)
        if not (flow > 0.0 and power > 0.0):
            raise UnreachableError(self._outside("give no flow or no power", evaporating, condensing))
        kind = Compressor(
            self.kind, 1e-5, self.speed, **self.further | self._power_factor(power, evaporating, condensing)
        )
        point = (Fluid(model, ONE), suction, discharge_pressure, RATING_AMBIENT)
        try:
            return fitted(kind, *point, molar_flow=flow, power=power)
        except UnreachableError as error:
            raise UnreachableError(self._outside("give more than an ideal machine", evaporating, condensing) + f": {error}") from None

    def molar_flow(self, evaporating: float, condensing: float) -> float:
        """Flow of the polynomials' own refrigerant [mol/s] at dew-point temperatures [K]."""
        model = pure_model(self.fluid)
        if self.mass_flow is not None:
            return self.mass_flow.value(evaporating, condensing) / model.facts.molar_mass
        high = model.saturation_pressure(condensing)
        suction = self._suction(model, evaporating, model.saturation_pressure(evaporating))
        bubble = model.bubble_temperature(ONE, high)
        liquid = model.state_tp(ONE, bubble - max(self.subcooling, 0.01), high)
        return self.capacity.value(evaporating, condensing) / (suction.enthalpy - liquid.enthalpy)

    def _suction(self, model: PureModel, evaporating: float, pressure: float) -> State:
        temperature = self.return_gas if self.superheat is None else evaporating + self.superheat
        return model.state_tp(ONE, max(temperature, evaporating + 0.01), pressure)

    def _power_factor(self, power: float, evaporating: float, condensing: float) -> dict:
        """The power factor that power and current of the polynomials imply, the usual where that is none; nothing without them."""
        voltage = self.further.get("supply_voltage")
        if self.current is None or voltage is None:
            return {}
        apparent = voltage * self.current.value(evaporating, condensing)
        factor = power / (apparent * math.sqrt(self.further.get("supply_phases", 1)))
        return {"power_factor": factor if 0.0 < factor <= 1.0 else DEFAULT_POWER_FACTOR}

    def _check_range(self, evaporating: float, condensing: float) -> None:
        for value, span in ((evaporating, self.evaporating_range), (condensing, self.condensing_range)):
            if span is not None and not span[0] <= value <= span[1]:
                raise UnreachableError(self._outside("are not stated to hold", evaporating, condensing))

    def _outside(self, what: str, evaporating: float, condensing: float) -> str:
        place = f"{evaporating:.4g} K evaporating, {condensing:.4g} K condensing of {self.fluid}"
        return f"the rating polynomials {what} at {place}"
