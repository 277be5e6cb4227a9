"""The air-cooled condenser of a stage: what conductance it takes, and where one of stated size condenses.

Fluid that condenses at T_c in air of T_ambient gives off its heat through the conductance

    K = n integral from outlet to inlet of dh/(T - T_ambient)

to air at ambient temperature (`mixjt.parts.air_coil`): hot gas by its logarithmic mean, a pure fluid's latent heat at T_c,
liquid by its logarithmic mean again. A stage that condenses warmer has more heat to reject and more difference to reject it
by; the latter wins until the fluid nears its critical point, so that a size has one condensing temperature, or none. With
K(T_c) what the stage at T_c takes and K that of the coil, it is the lowest root of

    T_ambient + (T_c - T_ambient) K(T_c)/K = T_c

whose left side hardly moves with T_c until the critical point is near, where it rises ever more steeply. Secants from below
come to the lowest root in a few steps; where even short ones lead to stages that do not work, there is none.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from mixjt.errors import ConvergenceError, MixjtError, UnreachableError
from mixjt.parts.air_coil import AirCoil
from mixjt.parts.passage import Passage, shares
from mixjt.parts.recuperator.side import conductance_per_flow
from mixjt.parts.vapour_stage import StageCycle

LEAST_LIFT = 1.0  # K, of the condensing above the evaporating temperature
SAME = 1e-7  # K
LEAST_SLOPE = 1e-2
SHARES = 1.0, 0.5, 0.25, 0.125  # of a step that leads too far: given compressors move less as they condense warmer
FARTHEST, STEPS = 100.0, 100  # K, of one of at most so many steps


def condenser_conductance(cycle: StageCycle, heat: float, ambient: float) -> float:
    """K [W/K] to air at ambient [K] of a stage that takes up a heat [W]; infinite where liquid leaves as cold as air."""
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

    at, short, slope = coldest, excess(coldest), 1.0
    if not short > 0.0:
        return cycle_at(coldest)
    for _ in range(STEPS):
        if abs(short) <= SAME:
            return cycle_at(at)
        try:
            nearer, left = _stepped(excess, at, short / slope, coldest)
        except MixjtError as error:
            raise UnreachableError(_too_small(size, cycle_at(coldest).fluid.name, error)) from error
        if nearer == at:
            break
        slope = max((short - left) / (nearer - at), LEAST_SLOPE)
        at, short = nearer, left
    raise ConvergenceError("the condensing temperature", "try a larger condenser", temperature=at)


def _stepped(excess: Callable[[float], float], at: float, step: float, coldest: float) -> tuple[float, float]:
    """A step [K] on from a temperature [K], or as much of it as leads to stages that work, and the excess there."""
    for share in SHARES:
        nearer = max(at + share * min(step, FARTHEST), coldest)
        try:
            return nearer, excess(nearer)
        except MixjtError as error:
            failed = error
    raise failed


def _too_small(size: float, fluid: str, error: MixjtError) -> str:
    return (
        f"a condenser of {size:.3g} W/K to the air is too small to give off what the stage rejects: {error}; state a "
        f"larger condenser, a smaller load or a fluid of higher critical temperature than {fluid}"
    )
