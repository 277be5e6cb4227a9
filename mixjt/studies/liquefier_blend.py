"""The blend of what can be bought that liquefies most, in a machine with a given feed.

Blends are judged on a common grid of temperatures: the feed per mole is the least of (D - q)/g there (see
`mixjt.circuit.greatest_feed`), its flow and the constraints' margins are those of the search for cooling. A start
spread evenly over the simplex is followed by rounds of random steps around the best so far, each half as wide as
the one before last; the same seed gives the same blend. The best few are solved in full.

Random steps of shrinking width: Rastrigin, Automation and Remote Control 24 (1963) 1337 (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from mixjt.blend import Blend, expand
from mixjt.circuit.feed_states import feed_of
from mixjt.errors import MixjtError, UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.states import PropertyModel
from mixjt.interrupt import Interrupted, keeping
from mixjt.parts import places
from mixjt.studies.liquefier_study import LiquefierRequest, Rates
from mixjt.studies.search.evaluate import Evaluator, Grid
from mixjt.studies.search.grids import COMMON, FINE, common_grid
from mixjt.studies.search.landscape import Landscape
from mixjt.studies.search.search_request import COOLING_POWER, SearchRequest

START, ROUNDS, STEPS, PARENTS = 768, 11, 128, 8
WIDTH, NARROWING = 0.6, 0.7  # of the first random steps in the logarithm of an amount, and per round
PENALTY = 0.1  # of the logarithm of the product, per step that a constraint is missed by
LEAST_FEED = 1e-6  # mol/mol; blends that liquefy less are ranked by how much they fall short
SOLVED = 5


@dataclass(frozen=True)
class BestBlend:
    """blend, its amounts by bottle, its product [kg/s], how many blends were looked at, and whether Ctrl-C ended it."""

    blend: Blend
    amounts: dict[str, float]
    mass_rate: float
    evaluations: int
    interrupted: bool = False


def best_blend(model: PropertyModel, search: SearchRequest, request: LiquefierRequest) -> BestBlend:
    """Find the blend of a search's bottles that liquefies most.

    Parameters
    ----------
    model : PropertyModel
        It must hold at least search.gases.
    search : SearchRequest
        Its bottles, bounds, constraints and seed; pressures are those of the machine.
    request : LiquefierRequest

    Raises
    ------
    UnreachableError
        Where no blend liquefies within the constraints, or the feed does not condense.

    An interruption (Ctrl-C) gives the best blend found until then.
    """
    search = replace(
        search,
        circuit=request.circuit,
        objective=COOLING_POWER,
        suction_pressure_range=None,
        discharge_pressure_range=None,
    )
    judge = _Judge(model, search, request)
    random = np.random.default_rng(search.seed)
    amounts = allowed(random.dirichlet(np.ones(len(search.bottles)), START), search)
    best = None
    with keeping() as cut:
        merit = judge.merit(amounts, common_grid(search, COMMON))
        for turn in range(ROUNDS):
            parents = best = amounts[np.argsort(-merit, kind="stable")[:PARENTS]]
            width = WIDTH * NARROWING**turn
            steps = random.normal(scale=width, size=(STEPS, amounts.shape[1]))
            near = parents[random.integers(len(parents), size=STEPS)]
            mixed = np.maximum(near, 0.2 * width * random.random(near.shape) * (random.random(near.shape) < 0.2))
            amounts = np.vstack([parents, allowed(mixed * np.exp(steps), search)])
            merit = judge.merit(amounts, common_grid(search, FINE if turn > ROUNDS // 2 else COMMON))
        best = amounts[np.argsort(-merit, kind="stable")]
    if best is None:
        raise Interrupted
    return _solved(model, search, request, judge, best[:SOLVED], cut.short)


def allowed(amounts: np.ndarray, search: SearchRequest) -> np.ndarray:
    """The rows (n, b) brought within number of bottles and bounds; those that cannot be are left out."""
    most = search.counts[-1]
    kept = np.where(search.required, np.inf, amounts)
    rank = np.argsort(np.argsort(-kept, axis=1, kind="stable"), axis=1, kind="stable")
    amounts = np.where(rank < most, amounts, 0.0)
    amounts = amounts / np.maximum(amounts.sum(axis=1, keepdims=True), 1e-12)
    amounts = np.where((amounts < search.lowest) & ~search.required, 0.0, amounts)
    for _ in range(20):
        present = (amounts > 0.0) | search.required
        amounts = np.where(present, np.clip(amounts, search.lowest, search.highest), 0.0)
        free = present & (amounts > search.lowest) & (amounts < search.highest)
        excess = amounts.sum(axis=1, keepdims=True) - 1.0
        share = np.where(free, amounts, 0.0)
        amounts = amounts - excess * share / np.maximum(share.sum(axis=1, keepdims=True), 1e-12)
    present = amounts > 0.0
    inside = np.all(~present | ((amounts > search.lowest - 1e-9) & (amounts < search.highest + 1e-9)), axis=1)
    return amounts[inside & (np.abs(amounts.sum(axis=1) - 1.0) < 1e-6)]


class _Judge:
    """Merit of blends: logarithm of the feed's flow, less a penalty for constraints that are missed."""

    def __init__(self, model: PropertyModel, search: SearchRequest, request: LiquefierRequest):
        self.landscape = Landscape(model, search)
        self.evaluator: Evaluator = self.landscape.evaluator
        self.load, self.approach = request.load, request.circuit.recuperator_approach
        self._feed = feed_of(request.gas, request.passage, request.circuit)
        circuit = request.circuit
        self._log_pressures = np.log([circuit.suction_pressure, circuit.discharge_pressure])

    def merit(self, amounts: np.ndarray, grid: Grid) -> np.ndarray:
        """Of rows of amounts (n, b); minus infinity where the model has no answer."""
        pressures = np.tile(self._log_pressures, (len(amounts), 1))
        samples = self.landscape.sample(grid, amounts, pressures)
        need = self._need(grid.recuperator)
        flow = np.exp(self.evaluator.judge(samples, samples.cooling).log_gain)
        spare = samples.difference - (self.load / flow)[:, None]
        feed = np.min(np.where(need > 0.0, spare / np.maximum(need, 1e-9), np.inf), axis=1)
        judged = self.evaluator.judge(samples, self.load / flow + np.maximum(feed, 0.0) * need[-1])
        missed = self.landscape.missed(judged.margins).sum(axis=1)
        short = np.minimum(feed - LEAST_FEED, 0.0)
        merit = np.log(np.maximum(feed, LEAST_FEED)) + judged.log_gain + 10.0 * short - PENALTY * missed
        return np.where(np.isfinite(merit), merit, -np.inf)

    def _need(self, temperatures: np.ndarray) -> np.ndarray:
        need, back = self._feed.down.enthalpy(temperatures), self._feed.back
        return need if back is None else need - back.enthalpy(temperatures - self.approach)


def _solved(
    model, search: SearchRequest, request: LiquefierRequest, judge: _Judge, rows, interrupted: bool
) -> BestBlend:
    """The best of a few blends, each solved at full accuracy and held to what a solved circuit can tell.

    After an interruption the first that passes will do.
    """
    found, obstacles = [], []
    for amounts in rows:
        blend = expand([bottle.ingredient for bottle in search.bottles], amounts)
        z = np.array([dict(zip(blend.gases, blend.fractions)).get(gas, 0.0) for gas in model.gases])
        machine = Rates(Fluid(model, z), request)
        try:
            product = machine.at(request.passage).mass_rate
        except MixjtError as error:
            obstacles.append(str(error))
            continue
        compression, compressor = machine.solution.compression, search.compressor
        beyond = [limit.name for limit in search.limits if limit.kept(compression, compressor) < -0.5]
        wet = machine.solution.states[places.COMPRESSOR_INLET].liquids
        if beyond or wet or not product > 0.0:
            reason = "liquid at the suction" if wet else f"too high a {beyond[0]}" if beyond else "nothing liquid"
            obstacles.append(f"a blend of {blend.text} makes {reason}")
            continue
        found.append((product, blend, amounts))
        if interrupted:
            break
    if not found:
        raise UnreachableError(f"no blend of the bottles liquefies within the limits: {obstacles[0]}")
    product, blend, amounts = max(found, key=lambda entry: entry[0])
    named = {name: float(amount) for name, amount in zip(search.names, amounts) if amount > 0.0}
    return BestBlend(blend.without_absent(), named, product, judge.evaluator.evaluations, interrupted)
