"""The air-cooled condenser of a vapour-compression stage: what conductance it takes, and where one of stated size condenses.

Fluid that condenses at T_c in air of T_ambient gives off its heat through the conductance

    K = n integral from outlet to inlet of dh/(T - T_ambient)

to air at ambient temperature (`mixjt.parts.air_coil`): hot gas by its logarithmic mean, a pure fluid's latent heat at T_c,
liquid by its logarithmic mean again. A stage that condenses warmer has more heat to reject and more difference to reject it
by; the latter wins until the fluid nears its critical point, so that a size has one condensing temperature, or none. With
K(T_c) what the stage at T_c takes and K that of the coil, it is the lowest root of

    T_ambient + (T_c - T_ambient) K(T_c)/K = T_c

whose left side rises a little with T_c: from below it steps up to the root and not beyond.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from mixjt.errors import ConvergenceError, MixjtError, UnreachableError
from mixjt.fluid.roots import root_between
from mixjt.parts.air_coil import AirCoil
from mixjt.parts.passage import Passage, shares
from mixjt.parts.recuperator.side import conductance_per_flow
from mixjt.parts.vapour_stage import StageCycle

LEAST_LIFT = 1.0  # K, of the condensing above the evaporating temperature
SAME = 1e-8  # K
LEAST_SLOPE = 1e-2
OVER = 2.0  # of a step, to get beyond the root; where that leads too far, the step itself
SHORTER = 1.0, 0.5, 0.25, 0.125  # of a step where a compressor of given size moves less as it condenses warmer
FARTHEST, STEPS = 100.0, 100  # K, of one of at most so many steps


def condenser_conductance(cycle: StageCycle, heat: float, ambient: float) -> float:
    """K [W/K] to air at ambient [K] that a stage takes which takes up a heat [W]; infinite where liquid leaves as cold as the air."""
    passage = Passage(cycle.fluid, cycle.condenser_outlet, cycle.condenser_inlet)
    share = shares(passage.boundaries())
    given = heat * cycle.rejected_per_heat * share
    return conductance_per_flow(given, passage.temperatures(share), np.full(share.shape, ambient))


def sized_cycle(
    cycle_at: Callable[[float], StageCycle],
    heat_of: Callable[[StageCycle], float],
    coil: AirCoil,
    ambient: float,
    coldest: float,
) -> StageCycle:
    """The stage that condenses where its condenser gives off what it rejects.

    Parameters
    ----------
    cycle_at : function
        Of the condensing temperature [K].
    heat_of : function
        What the evaporator of such a stage takes up [W].
    coil : AirCoil
    ambient : float
        [K]
    coldest : float
        At which it may condense [K], and does where the condenser could do more.

    Raises
    ------
    UnreachableError
        Where the condenser is too small.
    ConvergenceError
    """
    size = coil.to_ambient(ambient)

    def excess(temperature: float) -> float:
        cycle = cycle_at(temperature)
        return (temperature - ambient) * (condenser_conductance(cycle, heat_of(cycle), ambient) / size - 1.0)

    low, short, slope = coldest, excess(coldest), 1.0
    for _ in range(STEPS):
        if not short > 0.0:
            return cycle_at(low)
        try:
            high, beyond = _next(excess, low, short, slope)
        except MixjtError as error:
            raise UnreachableError(_too_small(size, cycle_at(low).fluid.name, error)) from error
        if not beyond > 0.0:
            return cycle_at(root_between(excess, low, high, SAME))
        low, short, slope = high, beyond, max((short - beyond) / (high - low), LEAST_SLOPE)
    raise ConvergenceError("the condensing temperature", "try a larger condenser", temperature=low)


def _next(excess: Callable[[float], float], low: float, short: float, slope: float) -> tuple[float, float]:
    """A temperature [K] beyond the root, or closer to it, and the excess there, from one that is short by so much.

    slope is that of the last step; the curve bends up, so that its straight line ends before the root.
    """
    for stride in (OVER / slope, 1.0 / slope, *SHORTER):
        high = low + min(stride * short, FARTHEST)
        try:
            beyond = excess(high)
        except MixjtError as error:
            failed = error
            continue
        if stride < OVER / slope or not beyond > 0.0:
            return high, beyond
    raise failed


def _too_small(size: float, fluid: str, error: MixjtError) -> str:
    return (
        f"a condenser of {size:.3g} W/K to the air is too small to give off what the stage rejects: {error}; state a larger "
        f"condenser, a smaller load or a fluid of higher critical temperature than {fluid}"
    )
