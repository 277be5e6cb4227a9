"""Blends whose worst case is best: cooling power when any one bottle is off by a step, and a search for it nearby.

The worst case of a blend is the least cooling power among the blend itself and its neighbours, in each of which one
bottle has a step more or less and all others are scaled alike. Where it is known what circulates of a charge, the step is one of
the charge, which is what gets weighed in: of a charge that holds n_i of each gas for a blend z_i, that with n_i' circulates z'
with ln z' = ln z + R ln(n'/n), R and n/z being those of a blend nearby (`mixjt.studies.circulation`). The search is a pattern search on the simplex
(R. Hooke and T. A. Jeeves, J. ACM 8 (1961) 212, from memory): an amount is moved from one bottle to another, the best
of all such moves is taken, and the amount is halved where none helps. All moves and their neighbours are one batch.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from mixjt.circuit.machine import ThrottleCircuit
from mixjt.errors import InputError, UnreachableError
from mixjt.fluid.states import PropertyModel
from mixjt.interrupt import keeping
from mixjt.studies.batch import batch_cooling
from mixjt.studies.circulation import ChargeResponse
from mixjt.studies.recipe import Recipe, shifted
from mixjt.studies.search.search_request import Constraint
from mixjt.studies.sensitivity import Progress

STEP = 0.01  # mol/mol, what a bottle may be off
MOVES = (0.04, 0.02, 0.01, 0.005, 0.0025)  # mol/mol, amounts moved between two bottles
MOST_ROUNDS = 60
GAIN = 1e-4  # of the worst cooling; a move that gains less is none


@dataclass(frozen=True)
class Bounds:
    """What blends must keep: least and most of each bottle (k,), suction superheat [K], further conditions.

    Superheat, discharge temperature and conditions are kept by the blend and its neighbours, or, where the start does
    not keep them, not broken further.
    """

    least: np.ndarray
    most: np.ndarray
    suction_superheat: float = 0.0
    constraints: tuple[Constraint, ...] = ()


@dataclass(frozen=True)
class WorstCase:
    """Of n blends: nominal and worst cooling power (n,) [W], the neighbour that has the worst, least margin (n,).

    worst is NaN where the model has no answer for a neighbour. neighbour is, for instance, "nitrogen +1 mol %", or
    "" for the blend itself. margin is the least of all conditions, in units of one kelvin of superheat.
    """

    nominal: np.ndarray
    worst: np.ndarray
    neighbour: tuple[str, ...]
    margin: np.ndarray


@dataclass(frozen=True)
class RobustBlend:
    """A blend and the one nearby whose worst case is best: amounts (k,) [mol/mol] and cooling powers [W].

    kept says whether all conditions hold for the found blend and all its neighbours.
    """

    names: tuple[str, ...]
    step: float
    start: np.ndarray
    start_nominal: float
    start_worst: float
    start_neighbour: str
    amounts: np.ndarray
    nominal: float
    worst: float
    neighbour: str
    kept: bool
    interrupted: bool = False


def worst_case(
    model: PropertyModel,
    recipe: Recipe,
    amounts,
    circuit: ThrottleCircuit,
    step: float = STEP,
    bounds: Bounds | None = None,
    response: ChargeResponse | None = None,
) -> WorstCase:
    """Cooling power of blends when one bottle at a time is off by a step.

    Parameters
    ----------
    model : PropertyModel
    recipe : Recipe
        Whose bottles the amounts belong to.
    amounts : array (n, k) or (k,)
        Mole fractions of the bottles; the blends should lie close together. A bottle that holds less than a step is
        left out altogether in its lesser neighbour.
    circuit : ThrottleCircuit
    step : float
        [mol/mol]
    bounds : Bounds, optional
    response : ChargeResponse, optional
        Of a blend nearby; without one all that is charged circulates.
    """
    amounts = np.atleast_2d(np.asarray(amounts, dtype=float))
    neighbours = [_neighbours(recipe, row, step, response) for row in amounts]
    found = batch_cooling(
        model, np.vstack([z for group in neighbours for _, z in group]), circuit,
        bounds.suction_superheat if bounds else 0.0, bounds.constraints if bounds else (),
    )  # fmt: skip
    margins = np.nan_to_num(found.margins / found.steps, nan=-np.inf).min(axis=1)
    ends = np.cumsum([len(group) for group in neighbours])
    nominal, worst, names, least = [], [], [], []
    for group, end in zip(neighbours, ends, strict=True):
        rows = slice(end - len(group), end)
        power = found.cooling_power[rows]
        at = int(np.argmin(power))  # a NaN comes first
        nominal.append(power[0])
        worst.append(power[at])
        names.append(group[at][0])
        least.append(margins[rows].min())
    return WorstCase(np.array(nominal), np.array(worst), tuple(names), np.array(least))


def robust_blend(
    model: PropertyModel,
    recipe: Recipe,
    circuit: ThrottleCircuit,
    step: float = STEP,
    bounds: Bounds | None = None,
    progress: Progress | None = None,
    response: ChargeResponse | None = None,
) -> RobustBlend:
    """The blend near a recipe whose worst case, each bottle off by a step, is best.

    Parameters
    ----------
    model : PropertyModel
    recipe : Recipe
        Where to start; its bottles stay in.
    circuit : ThrottleCircuit
    step : float
        What a bottle may be off [mol/mol].
    bounds : Bounds, optional
        By default every bottle keeps at least a step (or what it has), and only the compressor's limits count.
    progress : function, optional
        Called with done and total. A KeyboardInterrupt keeps the best so far.
    response : ChargeResponse, optional
        As of `worst_case`.

    Raises
    ------
    InputError
        For a step that is not above 0.
    UnreachableError
        Where a neighbour of the start has no answer.
    """
    if not 0.0 < step < 0.5:
        raise InputError(f"the step of a worst case must be above 0 and below 0.5, got {step:g}")
    bounds = bounds or default_bounds(recipe, step)
    here = recipe.amounts
    start = worst_case(model, recipe, here, circuit, step, bounds, response)
    if not np.isfinite(start.worst[0]):
        raise UnreachableError("the property model has no answer for a neighbour of this blend; try the other one")
    allowed = min(0.0, float(start.margin[0]))
    best, rounds = start, 0
    with keeping() as cut:
        for amount in MOVES:
            while rounds < MOST_ROUNDS:
                if progress:
                    progress(rounds, MOST_ROUNDS)
                rounds += 1
                moved = _moves(here, amount, bounds)
                if not len(moved):
                    break
                tried = worst_case(model, recipe, moved, circuit, step, bounds, response)
                worth = np.where(np.isfinite(tried.worst) & (tried.margin >= allowed), tried.worst, -np.inf)
                at = int(np.argmax(worth))
                if not worth[at] > best.worst[0] + GAIN * abs(best.worst[0]):
                    break
                here, best = moved[at], worst_case(model, recipe, moved[at], circuit, step, bounds, response)
    return RobustBlend(
        recipe.names, step,
        recipe.amounts, float(start.nominal[0]), float(start.worst[0]), start.neighbour[0],
        here, float(best.nominal[0]), float(best.worst[0]), best.neighbour[0],
        bool(best.margin[0] >= 0.0), cut.short,
    )  # fmt: skip


def default_bounds(recipe: Recipe, step: float) -> Bounds:
    """Every bottle keeps at least a step, or what it has; no other conditions than the compressor's."""
    return Bounds(np.minimum(recipe.amounts, step), np.ones(len(recipe.names)))


def _neighbours(
    recipe: Recipe, amounts: np.ndarray, step: float, response: ChargeResponse | None
) -> list[tuple[str, np.ndarray]]:
    """The blend itself, then what circulates with every bottle a step up and a step down (or left out)."""
    z = recipe.mixed(amounts)
    found, charged = [("", z)], amounts if response is None else recipe.holding(response.holding(z)).amounts
    for k, name in enumerate(recipe.names):
        for change in (step, -min(step, charged[k])):
            moved = shifted(charged, k, change) if change else None
            if moved is not None:
                mixed = recipe.mixed(moved)
                beside = mixed if response is None else response.beside(z, mixed, recipe.mixed(charged))
                found.append((f"{name} {100.0 * change:+.3g} mol %", beside))
    return found


def _moves(amounts: np.ndarray, amount: float, bounds: Bounds) -> np.ndarray:
    """All blends with an amount moved from one bottle to another, within the bounds (n, k)."""
    found = []
    for giver in range(len(amounts)):
        for taker in range(len(amounts)):
            if giver == taker or amounts[giver] - amount < bounds.least[giver] - 1e-12:
                continue
            if amounts[taker] + amount > bounds.most[taker] + 1e-12:
                continue
            moved = amounts.copy()
            moved[giver] -= amount
            moved[taker] += amount
            found.append(moved)
    return np.array(found)
