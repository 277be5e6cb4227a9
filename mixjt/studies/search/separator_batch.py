"""Circuits with a phase separator, of many blends at once: where the sections meet is found with the cooling.

Every temperature of the recuperator lies in the cold or in the warm section, each of which bounds the cooling there (see
`mixjt.circuit.layouts.separator`). Where a stretch of intermediate temperatures gives the greatest cooling, either bound
may count within it, so the greater one does; where the best is a single crossing of the two, this makes a V of it, like
those of pinches, which a climb follows. A circuit solved in full has the exact sections.
"""

from __future__ import annotations

import numpy as np

from mixjt.circuit.layouts.separator import separated
from mixjt.errors import ConvergenceError, InputError, UnreachableError
from mixjt.fluid.states import PropertyModel
from mixjt.studies.search.evaluate import Evaluator, Grid, Samples, Trials, unsized
from mixjt.studies.search.search_request import COOLING_PER_CONDUCTANCE, SearchRequest


class SeparatorEvaluator(Evaluator):
    """Evaluates blends for a request whose circuit has a separator.

    Raises
    ------
    InputError
        For the aim "cooling per conductance": the conductance of both sections is not known roughly.
    """

    def __init__(self, model: PropertyModel, request: SearchRequest):
        if request.objective == COOLING_PER_CONDUCTANCE:
            raise InputError('a search with a separator does not know the objective "cooling per conductance"')
        super().__init__(model, request)

    def _sampled(self, grid: Grid, trials: Trials, around: Trials) -> Samples:
        _, high_pressures, low_pressures = self._paths(grid, trials)
        along, beyond = np.split(high_pressures, [grid.recuperator.size], axis=1)
        y, x, vapour = self._parted(around)
        low, discharge = self._swept(around.z, low_pressures, grid.low), self._swept(around.z, beyond, grid.discharge)
        flow = vapour[:, None]
        vapour_high = flow * self._swept(y, along, grid.recuperator).enthalpy
        vapour_low = flow * self._swept(y, low_pressures, grid.low).enthalpy[:, grid.met]
        high = vapour_high + (1.0 - flow) * self._swept(x, along, grid.recuperator).enthalpy
        cold, warm = vapour_low - vapour_high, low.enthalpy[:, grid.met] - high
        between = self.circuit.intermediate_temperature
        difference = _met(cold, warm) if between is None else np.where(grid.recuperator <= between, cold, warm)
        lost = [np.isnan(array).any(axis=1) for array in (cold, low.enthalpy, high, discharge.enthalpy)]
        difference[np.any(lost, axis=0)] = np.nan
        return Samples(around, grid, high, difference, difference[:, :0], low, discharge, y, vapour, *unsized(difference, high))

    def _parted(self, trials: Trials) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Vapour and liquid (n, c) of blends, and the share (n,) that is vapour, NaN where nothing is or the model has no answer."""
        y, x, vapour = trials.z.copy(), trials.z.copy(), np.full(len(trials.z), np.nan)
        pressures = self.circuit.aftercooler_pressure + trials.discharge - self.circuit.discharge_pressure
        for row, (z, pressure) in enumerate(zip(trials.z, pressures, strict=True)):
            try:
                split = separated(self.model.state_tp(z, self.circuit.warm_temperature, pressure), self.circuit)
            except (ConvergenceError, UnreachableError):
                continue
            y[row], vapour[row] = split.y, split.vapour_flow
            x[row] = split.y if split.x is None else split.x
        return y, x, vapour


def _met(cold: np.ndarray, warm: np.ndarray) -> np.ndarray:
    """What bounds the cooling (n, m) where cold and warm sections, that allow so much, meet best."""
    falling, rising = np.minimum.accumulate(cold, axis=1), np.minimum.accumulate(warm[:, ::-1], axis=1)[:, ::-1]
    allowed, column = np.minimum(falling, rising), np.arange(cold.shape[1])
    best = allowed >= allowed.max(axis=1, keepdims=True)
    first, last = np.argmax(best, axis=1)[:, None], column[-1] - np.argmax(best[:, ::-1], axis=1)[:, None]
    open_to_both = (column >= first - 1) & (column <= last + 1) & (column > 0) & (column < column[-1])
    return np.where(open_to_both, np.maximum(cold, warm), np.where(column <= first, cold, warm))
