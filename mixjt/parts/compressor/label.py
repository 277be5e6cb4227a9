"""A compressor worked back from the capacity on its label.

The rating point fixes the flow: capacity / (h of the return gas - h of the liquid). The swept volume is that of the machine
which moves it, and its isentropic efficiency, where the label has an input, that which makes it draw so much
(`mixjt.parts.compressor.sizing`); all else is that of the kind (`mixjt.parts.compressor.compression.COMPRESSOR_KINDS`).
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
    compress,
)
from mixjt.parts.compressor.rating_points import RATING_AMBIENT, RatingPoint
from mixjt.parts.compressor.sizing import fitted

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
    further : dict
        Other fields of `Compressor`, such as supply_voltage or clearance.

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

    power_factor is what the rated current implies, where it does; notes says what on the label does not fit.
    """

    label: Label
    rating: RatingState
    machine: Compressor
    power_factor: float | None
    notes: tuple[str, ...]

    @cached_property
    def at_rating(self) -> CompressionResult:
        """The rating point compressed again by the machine found."""
        rating, fluid = self.rating, Fluid(pure_model(self.label.fluid), ONE)
        return compress(fluid, rating.suction, rating.discharge_pressure, self.machine, RATING_AMBIENT)

    def at(self, suction_pressure: float, discharge_pressure: float) -> Compressor:
        """The machine as `compress` takes it; the same at all pressures [Pa]."""
        return self.machine


def rated_compressor(label: Label) -> RatedCompressor:
    """Work a compressor back from its label.

    Raises
    ------
    InputError, UnknownGasError
        For a label that no machine has.
    UnreachableError
        Where the refrigerant has no such rating point, or the label's power is less than the isentropic work.
    """
    rating = rating_state(pure_model(label.fluid), label.capacity, label.point)
    limits = {
        "largest_supply_current": largest_current(label.rated_current, label.locked_rotor_current),
        "largest_suction_pressure": largest_suction_pressure(label.fluid, label.point),
    }
    kind = Compressor(label.kind, 1e-5, label.speed, **limits | label.further)
    found = RatedCompressor(label, rating, _fitted(label, rating, kind), None, ())
    factor, notes = _power_factor(label, found.at_rating.electrical_power)
    inrush = (label.locked_rotor_current or 0.0) / (label.rated_current or math.inf)
    if inrush and not 2.0 < inrush < 12.0:
        notes.append("the locked-rotor current is usually four to six times the rated one: read the label again")
    machine = replace(found.machine, power_factor=factor) if factor else found.machine
    return RatedCompressor(label, rating, machine, factor, tuple(notes))


def _fitted(label: Label, rating: RatingState, kind: Compressor) -> Compressor:
    fluid = Fluid(pure_model(label.fluid), ONE)
    point = (fluid, rating.suction, rating.discharge_pressure, RATING_AMBIENT)
    try:
        return fitted(kind, *point, molar_flow=rating.molar_flow, power=label.power)
    except UnreachableError as error:
        if label.power is None:
            raise
        raise UnreachableError(
            f"the label's capacity of {label.capacity:.4g} W for {label.power:.4g} W is a COP of "
            f"{label.capacity / label.power:.3g}; an ideal compressor has {rating.isentropic_cop:.3g}: another rating point? {error}"
        ) from None


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
