"""A compressor worked back from the capacity on its label.

The rating point fixes the flow: capacity / (h of the return gas - h of the liquid). The swept volume follows from it,
the speed and a volumetric efficiency

    filling(ratio) = heating * (1 - leak (ratio - 1)) * (1 + C - C ratio^(1/n))

whose last factor is the re-expansion of the clearance gas (see `mixjt.parts.compressor.compression`), and whose first two
say that the shell warms the gas before it enters the cylinder and that gas leaks back. The work follows from

    isentropic_efficiency(ratio) = best (1 - width ln(ratio / best_ratio)^2)

scaled so that the input at the rating point is that of the label, where the label has one. The shapes are those of
`mixjt.parts.compressor.compression.COMPRESSOR_KINDS`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from functools import cached_property

from mixjt.bounds import require_fields
from mixjt.errors import InputError, UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.pure import PureModel, fluid_names, pure_model
from mixjt.fluid.states import State
from mixjt.fluid.vapour_pressure import vapour_pressure
from mixjt.keys import FLUID, key
from mixjt.parts.compressor.compression import (
    COMPRESSOR_KINDS,
    CompressionResult,
    Compressor,
    KindDefaults,
    compress,
)
from mixjt.parts.compressor.rating_points import RatingPoint

LOCKED_ROTOR_SHARE = 0.2  # running over locked-rotor current; common practice, no source
WARMER_EVAPORATING = 15.0  # K that a machine stands above its rated evaporating temperature; common practice, no source
LEAST_POWER_FACTOR = 0.4  # below it, a label's current does not fit its voltage and power
ONE = (1.0,)


@dataclass(frozen=True)
class Label:
    """What the label of a compressor says.

    Parameters
    ----------
    fluid : str
        A name of `mixjt.fluid.pure.fluid_names`.
    capacity : float
        At the rating point [W].
    point : RatingPoint
    kind : str
        "reciprocating", "rotary" or "scroll".
    speed : float
        Of the shaft [rev/s].
    power : float, optional
        Electrical input at the rating point [W].
    rated_current, locked_rotor_current : float, optional
        [A]
    clearance : float, optional
        As of `Compressor`; by kind.
    further : dict
        Other fields of `Compressor`, such as supply_voltage; a stated isentropic_efficiency replaces the curve.

    Raises
    ------
    InputError
        For values that no label has.
    """

    fluid: str = key(
        FLUID, "the refrigerant of the label", at="refrigerant", choices=fluid_names(), required=False
    )
    capacity: float = key("power", "the capacity on the label", within="(0, 1e6]", required=False)
    point: RatingPoint
    kind: str
    speed: float
    power: float | None = key(
        "power", "the electrical input at the rating point", default=None, within="(0, 1e6]", otherwise="by type"
    )
    rated_current: float | None = key("current", "the rated (running) current", default=None, within="(0, 1000]")
    locked_rotor_current: float | None = key(
        "current", "the locked-rotor current, LRA", default=None, within="(0, 10000]"
    )
    clearance: float | None = None
    further: dict = field(default_factory=dict)

    def __post_init__(self):
        if self.kind not in COMPRESSOR_KINDS:
            raise InputError(f"compressor kind {self.kind!r} is not one of {', '.join(COMPRESSOR_KINDS)}")
        require_fields(self, "rating", ("capacity", "speed"), above=0.0)
        require_fields(self, "rating", ("power", "rated_current", "locked_rotor_current"), optional=True, above=0.0)
        if self.power is not None and "isentropic_efficiency" in self.further:
            raise InputError("give either the power on the label or an isentropic_efficiency, not both")


@dataclass(frozen=True)
class RatingState:
    """The rating point in the label's own refrigerant: return gas, discharge pressure [Pa], flow [mol/s]."""

    suction: State
    discharge_pressure: float
    molar_flow: float
    isentropic_cop: float  # capacity over isentropic work

    @property
    def ratio(self) -> float:
        """Pressure ratio of the rating point."""
        return self.discharge_pressure / self.suction.pressure


@dataclass(frozen=True)
class RatedCompressor:
    """A compressor worked back from its label.

    swept_volume [m3/rev] is the geometric one by the curves; efficiency_scale multiplies the kind's isentropic
    efficiency; power and current are those expected at the rating point [W, A]; largest_current [A] is the rated
    one, or a fifth of the locked-rotor current; notes says what on the label does not fit.
    """

    label: Label
    curve: KindDefaults
    rating: RatingState
    swept_volume: float
    efficiency_scale: float
    power_factor: float | None
    largest_current: float | None
    notes: tuple[str, ...]

    @cached_property
    def limits(self) -> dict[str, float | None]:
        """What the label allows, by field of `Compressor`."""
        return {
            "largest_supply_current": self.largest_current,
            "largest_suction_pressure": largest_suction_pressure(self.label.fluid, self.label.point),
        }

    @cached_property
    def at_rating(self) -> CompressionResult:
        """The rating point compressed again by the machine found."""
        rating = self.rating
        machine = self.at(rating.suction.pressure, rating.discharge_pressure)
        return compress(Fluid(pure_model(self.label.fluid), ONE), rating.suction, rating.discharge_pressure, machine)

    def isentropic_efficiency(self, ratio: float) -> float:
        """Ideal over actual work into the gas at a pressure ratio."""
        stated = self.label.further.get("isentropic_efficiency")
        if stated is not None:
            return stated
        return min(self.efficiency_scale * self.curve.isentropic_efficiency(ratio), 1.0)

    def at(self, suction_pressure: float, discharge_pressure: float) -> Compressor:
        """The machine as `compress` takes it, good for these pressures [Pa] and near them.

        Raises
        ------
        InputError
            For a pressure ratio not above 1.
        UnreachableError
            Where leakage takes everything.
        """
        ratio = discharge_pressure / suction_pressure
        if not ratio > 1.0:
            raise InputError(
                f"discharge pressure {discharge_pressure:.6g} Pa is not above the suction pressure {suction_pressure:.6g} Pa"
            )
        filling = self.curve.filling(ratio)
        if not filling > 0.0:
            raise UnreachableError(f"at a pressure ratio of {ratio:.3g} leakage takes all that the compressor moves")
        values = {"motor_efficiency": self.curve.motor_efficiency} | self.limits
        if self.power_factor:
            values["power_factor"] = self.power_factor
        values |= self.label.further | {"isentropic_efficiency": self.isentropic_efficiency(ratio)}
        return Compressor(
            kind=self.label.kind,
            displacement=self.swept_volume * filling,
            speed=self.label.speed,
            clearance=self.label.clearance,
            **values,
        )


def rated_compressor(label: Label) -> RatedCompressor:
    """Work a compressor back from its label.

    Raises
    ------
    InputError, UnknownGasError
        For a label that no machine has.
    UnreachableError
        Where the refrigerant has no such rating point, or the label's power is less than the isentropic work.
    """
    curve = COMPRESSOR_KINDS[label.kind]
    motor = label.further.get("motor_efficiency")
    if motor is not None:
        curve = replace(curve, motor_efficiency=motor)
    rating = rating_state(pure_model(label.fluid), label.capacity, label.point)
    scale = _efficiency_scale(label, curve, rating)
    trial = RatedCompressor(label, curve, rating, 1e-6, scale, None, None, ())
    unit = trial.at_rating
    swept = 1e-6 * rating.molar_flow / unit.molar_flow
    power = unit.electrical_power * rating.molar_flow / unit.molar_flow
    factor, notes = _power_factor(label, power)
    inrush = (label.locked_rotor_current or 0.0) / (label.rated_current or math.inf)
    if inrush and not 2.0 < inrush < 12.0:
        notes.append("the locked-rotor current is usually four to six times the rated one: read the label again")
    largest = largest_current(label.rated_current, label.locked_rotor_current)
    return RatedCompressor(label, curve, rating, swept, scale, factor, largest, tuple(notes))


def rating_state(model: PureModel, capacity: float, point: RatingPoint) -> RatingState:
    """The rating point in a refrigerant, and the flow of a capacity [W]."""
    low, high = model.saturation_pressure(point.evaporating), model.saturation_pressure(point.condensing)
    suction = model.state_tp(ONE, max(point.return_gas, point.evaporating + 0.01), low)
    bubble = model.bubble_temperature(ONE, high)
    liquid = model.state_tp(ONE, min(point.liquid, bubble - 0.01), high)
    effect = suction.enthalpy - liquid.enthalpy
    if not effect > 0.0:
        raise UnreachableError(f"{model.fluid} does not cool at this rating point")
    isentropic = model.state_sp(ONE, suction.entropy, high)
    return RatingState(suction, high, capacity / effect, effect / (isentropic.enthalpy - suction.enthalpy))


def _efficiency_scale(label: Label, curve: KindDefaults, rating: RatingState) -> float:
    """Factor on the kind's isentropic efficiency that meets the label's input; 1 where it has none."""
    if label.power is None:
        return 1.0
    overall = label.capacity / label.power / rating.isentropic_cop
    scale = overall / (curve.motor_efficiency * curve.isentropic_efficiency(rating.ratio))
    if overall >= curve.motor_efficiency:
        raise UnreachableError(
            f"the label's capacity of {label.capacity:.4g} W for {label.power:.4g} W is a COP of "
            f"{label.capacity / label.power:.3g}, too good for a motor of {curve.motor_efficiency:.0%}; an ideal compressor "
            f"has {rating.isentropic_cop:.3g}: another rating point?"
        )
    return scale


def _power_factor(label: Label, power: float) -> tuple[float | None, list[str]]:
    """The power factor that the label's current implies, or None; and what does not fit."""
    voltage, current = label.further.get("supply_voltage"), label.rated_current
    if voltage is None or current is None or "power_factor" in label.further:
        return None, []
    factor = power / (voltage * current * math.sqrt(label.further.get("supply_phases", 1)))
    if not LEAST_POWER_FACTOR <= factor <= 1.0:
        fit = f"{current:.3g} A at {voltage:.4g} V do not fit an input of {power:.4g} W"
        return None, [f"{fit}: the rated current may be for another point or supply"]
    return factor, []


def largest_current(rated: float | None, locked_rotor: float | None) -> float | None:
    """The current that a machine may draw for long [A]: the rated one, or a fifth of the locked-rotor current."""
    if rated is None and locked_rotor is not None:
        return LOCKED_ROTOR_SHARE * locked_rotor
    return rated


def largest_suction_pressure(fluid: str, point: RatingPoint) -> float:
    """Of a labelled machine [Pa]: that of its refrigerant at the warm end of its application, beyond which the motor
    is overloaded. Common practice, no source."""
    return vapour_pressure(fluid, point.evaporating + WARMER_EVAPORATING)
