"""Batches judged in the hottest ambient that must keep their conditions in the coldest one, too."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from mixjt.fluid.states import PropertyModel
from mixjt.studies.search.evaluate import Evaluator, Grid, Judgement, Samples, Trials
from mixjt.studies.search.grids import FINE, common_grid
from mixjt.studies.search.search_request import SearchRequest

COLDEST = " in the coldest ambient"


class BothEndsEvaluator(Evaluator):
    """Evaluates blends for a request with a range of ambient temperatures, whose circuit stands in the hottest.

    Its conditions are those there, then the same ones in the coldest ambient. There a blend cools more, so the gas comes
    back colder, and wetter by far more than the ambient has fallen where the pinch has moved; the suction is denser, and the
    throttle's outlet colder. All that needs the blend swept once more, on an even grid.
    """

    def __init__(self, model: PropertyModel, request: SearchRequest):
        super().__init__(model, request)
        circuit = replace(request.circuit, ambient_temperature=request.ambients[0])
        there = replace(request, circuit=circuit, ambient_range=None)
        self.coldest, self.coldest_grid = Evaluator(model, there), common_grid(there, FINE)
        self.conditions = np.concatenate([self.conditions, self.conditions.max() + 1 + self.coldest.conditions])
        self.names += tuple(name + COLDEST for name in self.coldest.names)
        self.units += self.coldest.units
        self.steps = np.tile(self.steps, 2)

    def _sampled(self, grid: Grid, trials: Trials, around: Trials) -> Samples:
        there = self.coldest._sampled(self.coldest_grid, trials, around)
        return replace(super()._sampled(grid, trials, around), coldest_margins=self.coldest.judge(there, there.cooling).margins)

    def judge(self, samples: Samples, cooling: np.ndarray) -> Judgement:
        """As `Evaluator.judge`; margins in the coldest ambient are those at the cooling there."""
        here = super().judge(samples, cooling)
        return replace(here, margins=np.hstack([here.margins, samples.coldest_margins]))
