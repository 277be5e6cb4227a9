"""A smallest freezing margin as a constraint of the search."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from mixjt.circuit.machine import ThrottleCircuit
from mixjt.circuit.result import CircuitResult
from mixjt.fluid.freezing_points import FARTHEST, margin_from_index
from mixjt.fluid.saturation_index import index_of, solids_of
from mixjt.keys import key

# K; close together, because enthalpy bends where vapour or a second liquid appears.
BELOW_COLD_END = np.array([*range(13), 14.0, 17.0, 20.0, 25.0, 32.0])
LEAST_REACH = 1.0  # K


@dataclass(frozen=True)
class FreezingConstraint:
    """No gas may freeze out on the cold path, with so many kelvin to spare.

    Batches are judged at the throttle outlet alone, as a rule the coldest point and the one where the liquid
    holds most of the heavy gases, and by the search's model; a circuit solved in full is judged all along its cold
    path, by every plausible set of pair parameters.

    Parameters
    ----------
    circuit : ThrottleCircuit
    smallest : float
        [K]
    """

    circuit: ThrottleCircuit
    smallest: float = key(
        "temperature_difference", "how far above its first solid the cold path must stay",
        at="smallest_freezing_margin", within="[0, 40]", otherwise="freezing only warned of",
    )
    name: str = "freezing margin"
    unit: str = "K"
    step: float = 1.0

    def margins(self, model, z: np.ndarray, suction, discharge, cooling) -> np.ndarray:
        """Margin (n,) above the smallest one [K], at a throttle outlet interpolated between states."""
        margins = np.full(len(z), FARTHEST)
        coldest = self.circuit.cold_temperature - BELOW_COLD_END[-1]
        melting = np.where(z > 0.0, solids_of(model).melting, 0.0).max(axis=1)
        rows = np.flatnonzero(coldest - self.smallest < melting + 1.0)
        if rows.size:
            margins[rows] = self._near(model, z[rows], suction[rows] + self.circuit.low_side_drop, cooling[rows])
        return margins - self.smallest

    def solved_margin(self, result: CircuitResult) -> float:
        """Margin above the smallest one [K]; -60 where it could not be found."""
        report = result.freezing
        if report.margin is None:
            return -FARTHEST if report.warnings else FARTHEST - self.smallest
        return report.margin - self.smallest

    def _near(self, model, z, pressure, cooling) -> np.ndarray:
        """Margins (n,) [K] of blends that may freeze; NaN where the model has no answer."""
        temperatures = self.circuit.cold_temperature - BELOW_COLD_END[::-1]
        temperatures = np.unique(np.maximum(temperatures, solids_of(model).floor))
        swept = model.sweep(z, pressure[:, None], temperatures, strict=False, gradients=True)
        count, several = z.shape[0], temperatures.size
        log_f = swept.log_fugacities.reshape(count * several, -1)
        index = index_of(model, log_f, np.tile(temperatures, count), np.repeat(pressure, several))
        index = index.reshape(count, several, -1)
        margins = np.full(count, np.nan)
        for row in range(count):
            first = np.flatnonzero(np.isnan(swept.enthalpy[row])).max(initial=-1) + 1  # of what is solved down from the warm end
            enthalpy, known = swept.enthalpy[row, first:], temperatures[first:]
            if known.size < 2 or enthalpy[-1] - cooling[row] < enthalpy[0]:
                continue
            outlet = np.interp(enthalpy[-1] - cooling[row], enthalpy, known)
            margins[row] = margin_from_index(known, index[row, first:], outlet, max(self.smallest, LEAST_REACH))
        return margins
