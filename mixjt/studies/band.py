"""How well a cooling figure is known: the spread of plausible sets of pair parameters on this blend and circuit.

Each set of `mixjt.fluid.pair_sets` that touches the blend changes the parameters of one kind of pair within
what measurements, or independent correlations, leave open. The cooling is computed with each on the same grid of
temperatures. Sets of different pairs are independent, so that their deviations add up in squares; of several sets
for the same pairs the farthest counts. What the pure gases' short equations leave open makes the floor.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from mixjt.circuit.machine import ThrottleCircuit
from mixjt.circuit.result import CircuitResult
from mixjt.circuit.solve import grid_cooling
from mixjt.errors import MixjtError, UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.models import plausible_models
from mixjt.fluid.pair_sets import set_names
from mixjt.fluid.states import PropertyModel
from mixjt.interrupt import keeping

POINTS = 96
FLOOR = 15.0  # J/mol; short pure equations against long ones move the least difference by 1.4 % at the 90th percentile
COOLING, LIQUID_MADE = "cooling", "liquid"


@dataclass(frozen=True)
class Member:
    """What one set of pair parameters gives: the relative difference from the result's own figure.

    pairs are those that the set changes in this blend; difference is None where the set has no answer, and -1 where
    nothing is cooled by it.
    """

    name: str
    pairs: tuple[tuple[str, str], ...]
    difference: float | None


@dataclass(frozen=True)
class Band:
    """Relative half width of the band of a figure, the floor's share in it, and the members it comes from.

    notes tell what weakens the model for the blend: estimated pairs, pairs without a departure function, false splits.
    """

    fraction: float
    floor: float
    members: tuple[Member, ...] = ()
    of: str = COOLING
    notes: tuple[str, ...] = ()

    @property
    def dominant(self) -> Member | None:
        """The member that makes most of the band; None where the floor does."""
        known = [one for one in self.members if one.difference is not None]
        widest = max(known, key=lambda one: abs(one.difference), default=None)
        return widest if widest and abs(widest.difference) > self.floor else None

    @property
    def pair(self) -> str | None:
        """The pair, or pairs, on which the figure hangs most, for instance "methane + n-butane"."""
        return None if self.dominant is None else ", ".join(" + ".join(two) for two in self.dominant.pairs)

    @property
    def basis(self) -> str:
        """What the band rests on, in words."""
        if self.dominant is None:
            return "the pure gases' equations leave this open; the pairs leave less"
        how = "more" if self.dominant.difference > 0.0 else "less"
        return (
            f"{self.pair} leaves most of it open: the set {self.dominant.name} finds "
            f"{percent(self.dominant.difference)} {how} {self.of}"
        )

    @property
    def sentence(self) -> str:
        """The band in words."""
        return f"{self.of} is known to about {percent(self.fraction)}, the machine's own errors aside: {self.basis}"

    @property
    def warnings(self) -> tuple[str, ...]:
        """Where a plausible set finds nothing at all, or has no answer, and what weakens the model."""
        none = [one.name for one in self.members if one.difference is not None and one.difference <= -1.0]
        lost = [one.name for one in self.members if one.difference is None]
        said = [f"with the plausible pair parameters {name} there is no {self.of} at all: do not build on it" for name in none]
        return (*said, *(f"the pair parameters {name} gave no answer for this blend" for name in lost), *self.notes)


def percent(fraction: float) -> str:
    """Two digits below 10 %, whole numbers above."""
    value = 100.0 * abs(fraction)
    return f"{value:.2g} %" if value < 10.0 else f"{value:.0f} %"


def cooling_band(result: CircuitResult, circuit: ThrottleCircuit) -> Band | None:
    """Band of a result's cooling; None where an interruption (Ctrl-C) came first, or nothing is cooled.

    Parameters
    ----------
    result : CircuitResult
    circuit : ThrottleCircuit
        That it solves.
    """
    settled = circuit.as_solved(result)

    def cooling(with_model: PropertyModel) -> float:
        return grid_cooling(Fluid(with_model, result.composition), settled, POINTS)

    return band_of(
        result.fluid, cooling, FLOOR / max(result.cooling_capacity, 1e-9), circuit.cold_temperature
    )


def band_of(
    fluid: Fluid, figure: Callable[[PropertyModel], float], floor: float, coldest: float, of: str = COOLING
) -> Band | None:
    """Band of any figure of a blend that grows with the cooling; floor is relative, coldest [K].

    None where an interruption came first or the figure is not above zero.
    """
    present = {name for name, share in zip(fluid.gases, fluid.z, strict=True) if share > 0.0}
    members: list[Member] = []
    if fluid.model.name in set_names():  # the spread of the sets is that around the default
        return None
    with keeping() as cut:
        try:
            own = figure(fluid.model)
        except MixjtError:
            return None
        if not own > 0.0:
            return None
        for one, other in plausible_models(fluid.model, fluid.z):
            pairs = tuple(two for two in one.pairs if present.issuperset(two))
            members.append(Member(one.name, pairs, _difference(figure, other, own)))
    if cut:
        return None
    widest: dict[tuple, float] = {}
    for one in members:
        if one.difference is not None:
            widest[one.pairs] = max(widest.get(one.pairs, 0.0), abs(one.difference))
    fraction = math.hypot(floor, *widest.values())
    notes = fluid.model.warnings(fluid.z, coldest)
    return Band(fraction, floor, tuple(members), of, tuple(notes))


def _difference(figure, model: PropertyModel, own: float) -> float | None:
    try:
        its = figure(model)
    except UnreachableError:
        return -1.0
    except MixjtError:
        return None
    return max(its / own - 1.0, -1.0) if np.isfinite(its) else None
