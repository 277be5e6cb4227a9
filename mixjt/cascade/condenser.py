"""The exchanger between two stages of a cascade: both streams against heat, its UA and smallest approach.

Counterflow, adiabatic but for the warmer stage's heat leak, which is spread evenly over the heat. Sections are
the heats at which either stream crosses a phase boundary, with more between them; within a section the
logarithmic mean holds (`mixjt.parts.recuperator.side`).
"""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np

from mixjt.cascade.cascade_records import CascadeCondenser
from mixjt.errors import UnreachableError
from mixjt.parts import places as place
from mixjt.parts.recuperator.side import conductance_per_flow
from mixjt.parts.stage_fluid import StageFluid
from mixjt.parts.vapour_stage import StageResult

SECTIONS = 4  # of every stretch between two phase boundaries


def couple(colder: StageResult, warmer: StageResult) -> CascadeCondenser:
    """The exchanger in which the colder stage condenses and the warmer one evaporates.

    Raises
    ------
    UnreachableError
        Where the streams would touch or cross.
    """
    hot = _Stream(colder.fluid, colder.points[place.CONDENSER_OUTLET], colder.points[place.CONDENSER_INLET])
    cold = _Stream(warmer.fluid, warmer.points[place.THROTTLE_OUTLET], warmer.points[place.EVAPORATOR_OUTLET])
    share = _shares(hot.boundaries(), cold.boundaries())
    heat = colder.condenser_heat
    high, low = hot.temperatures(share), cold.temperatures(share)
    conductance = conductance_per_flow(heat * share, high, low)
    smallest = float(np.min(high - low))
    if not math.isfinite(conductance):
        raise UnreachableError(
            f"the streams of the cascade condenser cross: {colder.fluid.name} comes within {smallest:.2g} K of "
            f"{warmer.fluid.name}; use less superheat or subcooling, or a greater approach"
        )
    profile = (tuple(heat * share), tuple(high), tuple(low))
    return CascadeCondenser(heat=heat, conductance=conductance, smallest_approach=smallest, profile=profile)


class _Stream:
    """One side at constant pressure, between its states at the cold and the warm end."""

    def __init__(self, fluid: StageFluid, cold, warm):
        self.fluid, self.cold, self.warm = fluid, cold, warm
        self.pressure = cold.pressure

    def boundaries(self) -> list[float]:
        """Shares of the heat at which the stream crosses its bubble or dew point."""
        found = []
        for temperature, state_at in (
            (self.fluid.bubble_temperature(self.pressure), self.fluid.bubble_state),
            (self.fluid.dew_temperature(self.pressure), self.fluid.dew_state),
        ):
            if math.isfinite(temperature):
                share = (state_at(temperature).enthalpy - self.cold.enthalpy) / self._span
                found += [share] if 0.0 < share < 1.0 else []
        return found

    def temperatures(self, share: np.ndarray) -> np.ndarray:
        """[K] at shares of the heat from the cold end."""
        inner = [
            self.fluid.hp(self.cold.enthalpy + one * self._span, self.pressure).temperature
            for one in share[1:-1]
        ]
        return np.array([self.cold.temperature, *inner, self.warm.temperature])

    @property
    def _span(self) -> float:
        return self.warm.enthalpy - self.cold.enthalpy


def _shares(*boundaries: list[float]) -> np.ndarray:
    """Sections between all boundaries, ends included."""
    ends = np.unique([0.0, *(share for side in boundaries for share in side), 1.0])
    pieces = [np.linspace(start, end, SECTIONS, endpoint=False) for start, end in pairwise(ends)]
    return np.append(np.concatenate(pieces), 1.0)
