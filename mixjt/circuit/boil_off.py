"""What boil-off leaves behind: a stored liquid of nitrogen and oxygen gets richer in oxygen as it evaporates.

Each bit of vapour leaves in equilibrium with the liquid and is carried away: for the moles n_i of each gas left,

    dn_i/dN = y_i(x),      N = sum n_i,      x = n/N

(Rayleigh's equation: Rayleigh, Philosophical Magazine 4 (1902) 521-537, from memory). Nothing condenses back.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from mixjt.errors import ConvergenceError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.states import LIQUID, VAPOUR

SHARES_LEFT = (1.0, 0.75, 0.5, 0.25, 0.1, 0.05, 0.02)  # moles left per mole stored
ABOVE_BUBBLE = 0.02  # of the glide, where the first vapour is looked at


@dataclass(frozen=True)
class BoilOff:
    """left (m,), moles left per mole stored, falling; oxygen (m,), mole fraction in the liquid left;
    temperatures (m,) of its bubble point [K]."""

    left: np.ndarray
    oxygen: np.ndarray
    temperatures: np.ndarray

    def left_at(self, oxygen: float) -> float | None:
        """Moles left per mole stored when the liquid reaches a mole fraction of oxygen; 1 where it has it from
        the start, None where it does not come to it."""
        if self.oxygen[0] >= oxygen:
            return 1.0
        if self.oxygen[-1] < oxygen:
            return None
        return float(np.exp(np.interp(oxygen, self.oxygen, np.log(self.left))))


def boil_off(gas: Fluid, composition, pressure: float, shares=SHARES_LEFT, steps: int = 4) -> BoilOff:
    """The liquid that is left as a stored liquid boils away at constant pressure.

    Parameters
    ----------
    gas : Fluid
        Its model is used.
    composition : array (c,)
        Of the liquid stored.
    pressure : float
        [Pa]
    shares : sequence of float
        Moles left per mole stored to report at, falling from 1.
    steps : int
        Midpoint steps between two of them.

    Raises
    ------
    ConvergenceError
        Where a bubble point cannot be found.
    """
    moles = np.array(composition, dtype=float)
    liquids = [moles / moles.sum()]
    for before, after in pairwise(shares):
        amounts = np.geomspace(before, after, steps + 1)
        for large, small in pairwise(amounts):
            moles = _step(gas, moles, pressure, large - small)
        liquids.append(moles / moles.sum())
    temperatures = [gas.of(x).bubble_temperature(pressure) for x in liquids]
    return BoilOff(
        np.array(shares), np.array([gas.of(x).fraction("oxygen") for x in liquids]), np.array(temperatures)
    )


def _step(gas: Fluid, moles: np.ndarray, pressure: float, lost: float) -> np.ndarray:
    half = moles - 0.5 * lost * first_vapour(gas, moles / moles.sum(), pressure)
    return moles - lost * first_vapour(gas, half / half.sum(), pressure)


def first_vapour(gas: Fluid, liquid: np.ndarray, pressure: float) -> np.ndarray:
    """Composition (c,) of the vapour in equilibrium with a boiling liquid.

    Vapour over liquid mole fraction of each gas is taken from a state a little above the bubble point, where it
    is the same to first order.

    Raises
    ------
    ConvergenceError
    """
    if np.count_nonzero(liquid) < 2:
        return liquid
    product = gas.of(liquid)
    bubble, dew = product.bubble_temperature(pressure), product.dew_temperature(pressure)
    state = product.tp(bubble + ABOVE_BUBBLE * (dew - bubble), pressure)
    phases = {phase.kind: phase.composition for phase in state.phases}
    if VAPOUR not in phases or LIQUID not in phases:
        raise ConvergenceError(
            "the first vapour of the product", "try a slightly different product pressure", temperature=bubble
        )
    present = liquid > 0.0
    vapour = np.zeros_like(liquid)
    vapour[present] = liquid[present] * phases[VAPOUR][present] / phases[LIQUID][present]
    return vapour / vapour.sum()
