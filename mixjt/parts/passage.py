"""A stage's fluid on its way through an exchanger, temperature against heat.

Sections are the heats at which a stream crosses a phase boundary, with more between them; within a section the
logarithmic mean holds (`mixjt.parts.recuperator.side`).
"""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np

from mixjt.fluid.states import State
from mixjt.parts.stage_fluid import StageFluid

SECTIONS = 4  # of every stretch between two phase boundaries


class Passage:
    """A stage's fluid on one side at constant pressure, between its states at the cold and the warm end."""

    def __init__(self, fluid: StageFluid, cold: State, warm: State):
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


def shares(*boundaries: list[float]) -> np.ndarray:
    """Of the heat: sections between all boundaries of the passages, ends included."""
    ends = np.unique([0.0, *(share for side in boundaries for share in side), 1.0])
    pieces = [np.linspace(start, end, SECTIONS, endpoint=False) for start, end in pairwise(ends)]
    return np.append(np.concatenate(pieces), 1.0)
