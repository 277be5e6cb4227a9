"""Filling a circuit bottle by bottle: the gauge pressure after each, and how well scale and gauge tell the grams.

After each bottle the gases in the circuit, both sides of the throttle equalised, are at rest in its whole volume at the
bench's temperature, as real gas or partly as liquid (`mixjt.fluid.standstill`).

A mass is the difference of two readings, each off by up to half the scale's resolution d; a step of pressure that of
two readings off by up to e, while the temperature is off by up to t, everything in between as likely. The standard
deviations of the mass then are

    by weight       s_m = d / sqrt(6)
    by pressure     s_m = sqrt((2 e^2 + (t d(dp)/dT)^2) / 3) / (dp/dm)

with dp the rise that this bottle brings and m its mass (JCGM 100:2008, sections 4.3.7 and 5.1.2). What the scale's
drift and the gas in the hose add is not counted. Where liquid is present dp/dm is small and pressure tells nothing.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from mixjt.blend import Blend
from mixjt.constants import GAS_CONSTANT
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.standstill import LOWEST_PRESSURE, standstill_pressure
from mixjt.fluid.states import LIQUID, VAPOUR, PropertyModel
from mixjt.studies.charge.charge_request import ChargeRequest
from mixjt.studies.charge.drawn import Drawn, Portions

BY_WEIGHT, BY_PRESSURE, BY_SMALL_BOTTLE = "weight", "pressure", "weight, small bottle"
PROBE = 0.02  # of a portion, for the slope of the pressure
SAME_VOLUME = 1e-3  # relative; a pure fluid partly liquid has no state of its own mean volume
TOLD = 0.5  # of a portion: an error above it tells no grams
COARSE = 0.05  # of a portion: an error above it is warned of
LEAST_PUSH = 1.02  # bottle over circuit (absolute), below which hardly anything flows (our choice)
THIN = 2.0 * LOWEST_PRESSURE  # below it every gas is ideal, to about 1e-4 of the pressure
WARM_PROBE = 1.0  # K, for the slope of the pressure where the temperature is known exactly


@dataclass(frozen=True, eq=False)
class Step:
    """One bottle let in: amount [mol], mass [kg]; pressures [Pa absolute] before and after it, and the phases after.

    Errors [kg] are standard deviations, of weighing and of filling by pressure; None where pressure tells nothing.
    on_scale says whether the scale carries the bottle; way is how to fill.
    """

    bottle: Drawn
    amount: float
    mass: float
    before: float
    after: float
    phases: str
    scale_error: float
    pressure_error: float | None
    on_scale: bool

    @property
    def way(self) -> str:
        """The better of what is possible."""
        if self.pressure_error is not None and not (self.on_scale and self.scale_error <= self.pressure_error):
            return BY_PRESSURE
        return BY_WEIGHT if self.on_scale else BY_SMALL_BOTTLE

    @property
    def error(self) -> float:
        """[kg], of the way to fill."""
        return self.pressure_error if self.way == BY_PRESSURE else self.scale_error

    @property
    def pushes(self) -> bool:
        """Whether the bottle is strong enough to push its gas in at the bench's temperature."""
        return self.bottle.pressure is None or self.bottle.pressure >= LEAST_PUSH * self.after


def fill(model: PropertyModel, given: Portions, request: ChargeRequest) -> tuple[Step, ...]:
    """Every bottle in turn, in the order of the portions.

    Parameters
    ----------
    model : PropertyModel
    given : Portions
        Of an evacuated circuit, see `mixjt.studies.charge.drawn.filling_order`.
    request : ChargeRequest

    Raises
    ------
    UnreachableError
        Where the charge would stand above 400 bar in this volume.
    """
    t, warm = request.bench_temperature, request.temperature_error or WARM_PROBE
    steps, held, before, rise = [], np.zeros(len(model.gases)), 0.0, (0.0, 0.0)
    for bottle, amount in zip(given.bottles, given.amounts, strict=True):
        portion = amount * bottle.z
        after, phases = at_bench(model, held + portion, request)
        warmer = tuple(_pressure(model, held + portion, request.volume, t + way * warm) for way in (-1.0, 1.0))
        mass = float(portion @ model.molar_masses)
        around = [_pressure(model, held + (1.0 + way * PROBE) * portion, request.volume, t) for way in (-1.0, 1.0)]
        slope = (around[1] - around[0]) / (2.0 * PROBE * mass)
        by_temperature = ((warmer[1] - rise[1]) - (warmer[0] - rise[0])) / (2.0 * warm) * request.temperature_error
        off = math.hypot(math.sqrt(2.0) * request.gauge_error, by_temperature) / math.sqrt(3.0)
        told = off < TOLD * slope * mass
        steps.append(
            Step(
                bottle, float(amount), mass, before, after, phases,
                scale_error=request.scale_resolution / math.sqrt(6.0),
                pressure_error=off / slope if told else None,
                on_scale=bottle.gross_mass <= request.largest_load,
            )
        )  # fmt: skip
        held, before, rise = held + portion, after, warmer
    return tuple(steps)


def at_bench(model: PropertyModel, amounts: np.ndarray, request: ChargeRequest) -> tuple[float, str]:
    """Pressure [Pa absolute] and phases of amounts (c,) [mol] at rest in the circuit at the bench's temperature."""
    temperature, held = request.bench_temperature, request.volume / amounts.sum()
    pressure = _pressure(model, amounts, request.volume, temperature)
    state = Fluid(model, amounts / amounts.sum()).tp(temperature, pressure)
    split = abs(state.molar_volume / held - 1.0) > SAME_VOLUME
    return pressure, f"{VAPOUR} + {LIQUID}" if split else state.phase_text


def filling_curve(
    model: PropertyModel, steps: Sequence[Step], request: ChargeRequest, points: int = 13
) -> list[tuple[str, float, float]]:
    """Bottle, mass in the circuit [kg] and pressure [Pa absolute] all along the filling, each bottle's end twice."""
    rows, held, temperature = [], np.zeros(len(model.gases)), request.bench_temperature
    for step in steps:
        for share in np.linspace(0.0, 1.0, points):
            amounts = held + share * step.amount * step.bottle.z
            pressure = step.before if share == 0.0 else _pressure(model, amounts, request.volume, temperature)
            rows.append((step.bottle.name, float(amounts @ model.molar_masses), pressure))
        held = held + step.amount * step.bottle.z
    return rows


def filling_warnings(model: PropertyModel, steps: Sequence[Step], request: ChargeRequest) -> list[str]:
    """A sentence for each bottle that does not push, is drawn as what it does not hold, or is told too coarsely."""
    found = []
    for step in steps:
        name = step.bottle.name
        if not step.pushes:
            stands, bottle = ((one - request.atmosphere) / 1e5 for one in (step.after, step.bottle.pressure))
            found.append(
                f"{name}: its bottle stands at {bottle:.2f} bar gauge at the bench, the circuit at {stands:.2f} after it: "
                "the last of it does not flow by itself; cool a receiver in the circuit, never heat a bottle with a flame"
            )
        if step.bottle.changes:
            found.append(
                f"{name}, drawn as vapour, gives {_mixture(model, step.bottle.z)} at first instead of its "
                f"{_mixture(model, step.bottle.bottled)}, and gets heavier with everything drawn: draw it as liquid"
            )
        if step.error > COARSE * step.mass:
            found.append(
                f"{name}: its {1e3 * step.mass:.3g} g are known to {1e3 * step.error:.2g} g only, {_ways(step)}"
            )
    return found


def _mixture(model: PropertyModel, z: np.ndarray) -> str:
    present = z > 0.0
    return Blend(np.array(model.gases)[present], z[present]).text.removesuffix(" (mole)")


def _ways(step: Step) -> str:
    if step.way == BY_PRESSURE and step.scale_error < step.pressure_error:
        return f"by pressure; bought in a small bottle that the scale carries, to {1e3 * step.scale_error:.2g} g"
    return "by weight; a finer scale helps" if step.way != BY_PRESSURE else "by pressure; a finer gauge helps"


def _pressure(model: PropertyModel, amounts: np.ndarray, volume: float, temperature: float) -> float:
    total = amounts.sum()
    ideal = total * GAS_CONSTANT * temperature / volume
    if ideal < THIN:
        return ideal
    return standstill_pressure(Fluid(model, amounts / total), temperature, volume / total)
