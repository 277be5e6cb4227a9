"""How much of each gas a volume holds through which vapour and liquid flow at different speeds.

A section of the volume V holds of gas i, with the void fraction a of the flow (`mixjt.parts.slip`),

    n_i = V (a rho_v y_i + (1 - a) sum over the liquids of s_k rho_k x_ki),

s_k being the share of a liquid in the volume of all that flow together. With a = V_v/(V_v + S V_l), V_v and V_l the
volumes of vapour and liquids that pass per mole, and l_i the amount of gas i in the liquids, that is

    n_i / V = (z_i - l_i + S l_i) / (V_v + S V_l),

so the liquid counts S times. Two liquids keep their own compositions and move together. Where one phase flows, or S = 1,
it is z_i / v: nothing is kept back.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from mixjt.fluid.fluid import Fluid
from mixjt.fluid.states import State, Sweep
from mixjt.fluid.transport import parachor
from mixjt.parts.slip import ROUHANI, slip_ratio


@dataclass(frozen=True, eq=False)
class Passing:
    """What passes places along a way, per mole of blend: volume and that of the liquids [m3], (m,), and the amounts of
    the gases in the liquids [mol], (m, c).
    """

    fluid: Fluid
    volume: np.ndarray
    liquid_volume: np.ndarray
    in_liquid: np.ndarray

    @classmethod
    def at(cls, fluid: Fluid, swept: Sweep) -> Passing:
        """From a sweep of one blend, whose arrays are (m,)."""
        return cls(fluid, swept.molar_volume, swept.liquid_volume, swept.liquid_amounts)

    @classmethod
    def of(cls, fluid: Fluid, states: list[State]) -> Passing:
        """From states."""
        none = np.zeros(fluid.z.size)
        in_liquid = [sum((one.fraction * one.composition for one in state.liquids), none) for state in states]
        return cls(
            fluid, np.array([state.molar_volume for state in states]),
            np.array([state.liquid_volume for state in states]), np.array(in_liquid),
        )  # fmt: skip

    def density(self, slip: str, mass_flux: float | None = None) -> np.ndarray:
        """Of each gas [mol/m3], (m, c), where vapour and liquids slip in one of `mixjt.parts.slip.SLIPS`.

        mass_flux [kg/(m2 s)] is for the slip that needs it.
        """
        z, masses = self.fluid.z, self.fluid.model.molar_masses
        return held_density(z, masses, self.volume, self.liquid_volume, self.in_liquid, slip, mass_flux, self._tension(slip))

    def _tension(self, slip: str) -> np.ndarray | None:
        """Surface tension (m,) [N/m] of the liquids together, NaN where one phase flows; see `mixjt.fluid.transport`."""
        if slip != ROUHANI:
            return None
        there = self.fluid.z > 0.0
        parachors = np.array([parachor(name) for name in np.array(self.fluid.gases)[there]])
        vapour = self.volume - self.liquid_volume
        with np.errstate(divide="ignore", invalid="ignore"):
            difference = self.in_liquid / self.liquid_volume[:, None] - (self.fluid.z - self.in_liquid) / vapour[:, None]
        return np.maximum(difference[:, there] @ parachors, 0.0) ** 4


def held_density(
    z, molar_masses, volume, liquid_volume, in_liquid, slip: str, mass_flux: float | None = None, tension=None
) -> np.ndarray:
    """Of each gas [mol/m3], (..., c), where a mole of blend passes.

    Parameters
    ----------
    z : array (..., c)
    molar_masses : array (c,)
        [kg/mol]
    volume, liquid_volume : arrays (...)
        Of the mole, and of the liquids in it [m3].
    in_liquid : array (..., c)
        What the liquids hold of it [mol].
    slip : str
        One of `mixjt.parts.slip.SLIPS`.
    mass_flux, tension : float, array (...)
        For the slip that needs them [kg/(m2 s)], [N/m].
    """
    vapour, weighed, whole = volume - liquid_volume, in_liquid @ molar_masses, z @ molar_masses
    quality = 1.0 - weighed / whole
    both = (vapour > 0.0) & (liquid_volume > 0.0) & (quality > 0.0) & (quality < 1.0)
    ratio, whole = np.ones(volume.shape), np.broadcast_to(whole, volume.shape)
    light = quality[both] * whole[both] / vapour[both]
    heavy = weighed[both] / liquid_volume[both]
    of_drift = () if tension is None else (mass_flux, tension[both])
    ratio[both] = slip_ratio(slip, quality[both], light, np.maximum(light, heavy), *of_drift)
    more = ratio - 1.0
    return (z + more[..., None] * in_liquid) / (volume + more * liquid_volume)[..., None]
