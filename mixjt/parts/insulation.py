"""The insulated package around recuperator and cold end: how easily heat leaks into it, and where."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from mixjt.bounds import require_fields
from mixjt.keys import key

CALMING = 0.3  # of a change of the leak, by which it may turn back in the next round
KEPT = 0.4  # of the last round's leak where it turns back by more


@dataclass(frozen=True)
class Insulation:
    """Heat leaks in at the conductance [W/K] times the difference between the room and the place it reaches.

    cold_end_share of it reaches the evaporator; the rest spreads evenly over the recuperator's length. Its default is
    common practice, no source: a coil wound around or above a cold end that is small beside it.
    """

    conductance: float = key(
        "heat_conductance", "heat leaking in per kelvin below ambient", within="[0, 100]",
        otherwise="from the package: the keys below",
    )
    cold_end_share: float = key(
        "fraction", "how much of it reaches the cold end; the rest spreads over the recuperator", default=0.2,
        within="[0, 1]",
    )

    def __post_init__(self):
        require_fields(self, "insulation", ("conductance",), least=0.0)
        require_fields(self, "insulation", ("cold_end_share",), least=0.0, most=1.0)

    @property
    def along(self) -> float:
        """What of its conductance lies along the recuperator [W/K]."""
        return (1.0 - self.cold_end_share) * self.conductance


@dataclass(frozen=True, eq=False)
class Leak:
    """Heat leaking in between the evaporator and where the high side has certain temperatures.

    temperatures (m,) [K], ascending; heat (m,) [J/mol of blend], that of the cold end included. Where it is one of several
    rounds, off is how much more leaked in, all in all, than the round before had counted on.
    """

    temperatures: np.ndarray
    heat: np.ndarray
    off: float = 0.0

    def before(self, temperatures) -> np.ndarray:
        """What leaks in between the evaporator and high-side temperatures (k,) [J/mol of blend]."""
        return np.interp(temperatures, self.temperatures, self.heat)

    def following(self, last: Leak) -> Leak:
        """This one after that of the last round; of the two a mean where they chase each other, as leak and pinch may."""
        off = self.total - last.total
        turned = off * last.off < 0.0 and abs(off) > CALMING * abs(last.off)
        kept = KEPT if turned else 0.0
        return Leak(self.temperatures, (1.0 - kept) * self.heat + kept * last.before(self.temperatures), off)

    @property
    def at_cold_end(self) -> float:
        """Into the evaporator [J/mol of blend]."""
        return float(self.heat[0])

    @property
    def total(self) -> float:
        """[J/mol of blend]"""
        return float(self.heat[-1])


NO_LEAK = Leak(np.zeros(1), np.zeros(1))


def spread_leak(
    insulation: Insulation, ambient: float, flow: float, cold_temperature: float, length, high, low
) -> Leak:
    """The leak of a recuperator whose temperatures along its length are known.

    Parameters
    ----------
    insulation : Insulation
    ambient : float
        [K]
    flow : float
        Of the blend [mol/s].
    cold_temperature : float
        Of the cold end [K].
    length, high, low : arrays (m,)
        From the cold end on: share of the length, not falling from 0 to 1; high-side temperatures, ascending; and those
        of the low side, which the leak reaches [K].
    """
    at_end = insulation.cold_end_share * (ambient - cold_temperature)
    below = ambient - np.asarray(low)
    along = np.concatenate([[0.0], np.cumsum(0.5 * (below[1:] + below[:-1]) * np.diff(length))])
    heat = (insulation.conductance * at_end + insulation.along * along) / flow
    return Leak(np.asarray(high, dtype=float), heat)


def spread_leaks(insulation: Insulation, ambient: float, cold_temperature: float, flow, shares, low) -> np.ndarray:
    """What leaks in between the evaporator and each high-side temperature (n, m) [J/mol of blend].

    As `spread_leak`, of many blends: flow (n,) [mol/s], shares of the length (n, m) and low-side
    temperatures (n, m) [K].
    """
    below = ambient - low
    first = shares[:, :1] * (ambient - 0.5 * (cold_temperature + low[:, :1]))
    parts = np.hstack([first, 0.5 * (below[:, 1:] + below[:, :-1]) * np.diff(shares, axis=1)])
    at_end = insulation.cold_end_share * (ambient - cold_temperature)
    return (insulation.conductance / flow)[:, None] * (at_end + (1.0 - insulation.cold_end_share) * np.cumsum(parts, axis=1))
