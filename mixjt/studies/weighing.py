"""What errors in weighing the charge do to cooling power and lowest temperature.

The mass of each bottle is drawn from a normal distribution about its target, cut off at nought. The draws share one
circuit: its pressures hold, and the error in the whole mass of the charge counts only through the composition.

The linear estimate that goes with it takes the slopes S_k = dP/dx_k of the table of effects (x_k changed, all others
scaled alike). With n moles in the charge, a mass error s_k of a bottle of molar mass M_k moves x_k by
(1 - x_k) s_k / (M_k n) in just that way, so that

    s_P^2 = sum over k of [ S_k (1 - x_k) s_k / (M_k n) ]^2

(propagation of uncorrelated errors; JCGM 100:2008, section 5.1.2).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from mixjt.circuit.machine import ThrottleCircuit
from mixjt.errors import InputError
from mixjt.fluid.states import PropertyModel
from mixjt.interrupt import keeping
from mixjt.keys import WHOLE, key
from mixjt.studies.batch import batch_cooling, batch_reach
from mixjt.studies.reach import Reach, coldest_of
from mixjt.studies.recipe import Recipe
from mixjt.studies.sensitivity import FRACTION, Effect, Progress

PERCENTILES = (5.0, 50.0, 95.0)
CHUNK = 50  # blends swept between two reports of progress
BELOW = 20.0  # K below the lowest temperature of the target blend, where the draws' search ends


@dataclass(frozen=True)
class WeighingRequest:
    """charge [kg]; errors (k,) [kg], standard deviations, one for each bottle of the blend; draws; seed."""

    charge: float = key(
        "mass", "the charge weighed in; without one no weighing errors", within="(0, 100]",
        otherwise="that of [volumes] or [standstill]",
    )
    errors: tuple[float, ...]
    draws: int = key(WHOLE, "charges drawn with weighing errors", default=500, within="[1, 100000]")
    seed: int = key(WHOLE, "start of the random numbers", default=1, within="[0, 4294967295]")

    def __post_init__(self):
        if not self.charge > 0.0:
            raise InputError(f"the charge must be above 0, got {self.charge:g} kg")
        if any(not error >= 0.0 for error in self.errors):
            raise InputError("a weighing error must be at least 0")
        if self.draws < 1:
            raise InputError(f"draws must be at least 1, got {self.draws}")


@dataclass(frozen=True)
class Weighing:
    """What the draws gave.

    masses (k,) [kg] are the targets. amounts (n, k) are the bottles' fractions in the draws evaluated, cooling_power
    (n,) [W] and lowest_temperature (n,) [K] go with them; NaN where the model has no answer or the load is carried
    nowhere, and minus infinity where the load is still carried at the floor [K] of the search. target_power [W] and
    target_lowest [K] are those of the blend aimed at by the same approximation.
    """

    request: WeighingRequest
    masses: np.ndarray
    amounts: np.ndarray
    cooling_power: np.ndarray
    lowest_temperature: np.ndarray
    floor: float | None
    load: float | None
    target_power: float
    target_lowest: float | None
    interrupted: bool = False

    @property
    def solved(self) -> int:
        """Draws with a cooling power."""
        return int(np.isfinite(self.cooling_power).sum())

    @property
    def power_percentiles(self) -> tuple[float, ...] | None:
        """Of the cooling power [W] at `PERCENTILES`; None where no draw was solved."""
        return _percentiles(self.cooling_power)

    @property
    def lowest_percentiles(self) -> tuple[float, ...] | None:
        """Of the lowest temperature [K], among draws that carry the load somewhere; minus infinity below the floor."""
        return _percentiles(self.lowest_temperature)

    @property
    def power_deviation(self) -> float | None:
        """Standard deviation of the cooling power [W]."""
        known = self.cooling_power[np.isfinite(self.cooling_power)]
        return float(known.std(ddof=1)) if known.size > 1 else None

    @property
    def carrying_share(self) -> float | None:
        """Share of the solved draws that carry the load at the cold end asked for; None without a load."""
        if self.load is None or not self.solved:
            return None
        return float(np.sum(self.cooling_power >= self.load) / self.solved)


def draw_amounts(recipe: Recipe, molar_masses, request: WeighingRequest) -> np.ndarray:
    """Fractions (draws, k) of the bottles in charges weighed in with errors; the same seed gives the same.

    Parameters
    ----------
    recipe : Recipe
    molar_masses : array (c,)
        Of the gases [kg/mol].
    request : WeighingRequest

    Raises
    ------
    InputError
        Unless there is one error for each bottle.
    """
    if len(request.errors) != len(recipe.names):
        raise InputError(
            f"the blend has {len(recipe.names)} bottles ({', '.join(recipe.names)}), but {len(request.errors)} "
            "weighing errors are given"
        )
    target, errors = recipe.masses(request.charge, molar_masses), np.array(request.errors)
    uniform = np.random.default_rng(request.seed).random((request.draws, len(errors)))
    masses = _cut_normal(target, errors, uniform)
    amounts = masses / (recipe.matrix @ molar_masses)
    return amounts / amounts.sum(axis=1, keepdims=True)


def _cut_normal(mean: np.ndarray, deviation: np.ndarray, uniform: np.ndarray) -> np.ndarray:
    """Normal values above nought, by the inverse of the cut distribution; the mean where nothing scatters."""
    from scipy.special import ndtr, ndtri

    scatter = np.where(deviation > 0.0, deviation, 1.0)
    below = ndtr(-mean / scatter)
    values = mean + scatter * ndtri(np.clip(below + uniform * (1.0 - below), 1e-300, 1.0 - 1e-16))
    return np.where(deviation > 0.0, np.maximum(values, 0.0), mean)


def weigh(
    model: PropertyModel,
    recipe: Recipe,
    circuit: ThrottleCircuit,
    request: WeighingRequest,
    reach: Reach | None = None,
    progress: Progress | None = None,
) -> Weighing:
    """Cooling power and lowest temperature of charges weighed in with errors.

    Parameters
    ----------
    model : PropertyModel
    recipe : Recipe
        The blend aimed at.
    circuit : ThrottleCircuit
    request : WeighingRequest
    reach : Reach, optional
        Load and lowest temperature of the blend aimed at; without one no lowest temperatures are sought.
    progress : function, optional
        Called with done and total. A KeyboardInterrupt ends the study and keeps the draws done.
    """
    amounts = draw_amounts(recipe, model.molar_masses, request)
    target = recipe.composition
    seek = reach is not None and reach.temperature is not None
    floor = max(reach.temperature - BELOW, coldest_of(model)) if seek else None
    power, lowest = [], []
    goal_power = float(batch_cooling(model, target, circuit).cooling_power[0])
    goal_lowest = float(_lowest(model, target, circuit, reach.load, floor)[0]) if seek else None
    with keeping() as cut:
        for start in range(0, len(amounts), CHUNK):
            if progress:
                progress(start, len(amounts))
            z = np.vstack([target, recipe.mixed(amounts[start : start + CHUNK])])
            cooling = batch_cooling(model, z, circuit).cooling_power[1:]
            reached = _lowest(model, z, circuit, reach.load, floor)[1:] if seek else np.full(len(cooling), np.nan)
            power.append(cooling)
            lowest.append(reached)
    done = sum(len(part) for part in power)
    return Weighing(
        request=request,
        masses=recipe.masses(request.charge, model.molar_masses),
        amounts=amounts[:done],
        cooling_power=np.concatenate([*power, []]),
        lowest_temperature=np.concatenate([*lowest, []]),
        floor=floor,
        load=None if reach is None else reach.load,
        target_power=goal_power,
        target_lowest=goal_lowest,
        interrupted=cut.short,
    )


def _lowest(model, z, circuit: ThrottleCircuit, load: float, floor: float) -> np.ndarray:
    found = batch_reach(model, z, circuit, load, floor)
    return np.where(found.below_floor, -np.inf, found.temperature)


def linear_contributions(
    recipe: Recipe, molar_masses, request: WeighingRequest, effects: Sequence[Effect]
) -> np.ndarray:
    """Standard deviations (k,) of the cooling power [W] that each bottle's weighing error brings on its own.

    The slopes are those of the smallest step of each bottle among the effects, up and down where both are known;
    NaN where neither is.
    """
    bottle_masses = recipe.matrix @ molar_masses
    moles = request.charge / float(recipe.amounts @ bottle_masses)
    moved = (1.0 - recipe.amounts) * np.array(request.errors) / (bottle_masses * moles)
    return np.array([abs(_slope(name, effects)) for name in recipe.names]) * moved


def _slope(name: str, effects: Sequence[Effect]) -> float:
    """Cooling power over mole fraction of a bottle [W]."""
    own = [
        (effect.change.amount, effect.power_change)
        for effect in effects
        if effect.change.input == name and effect.change.unit == FRACTION and effect.power_change is not None
    ]
    steps = [abs(amount) for amount, _ in own if amount != 0.0]
    if not steps:
        return np.nan
    slopes = [change / amount for amount, change in own if abs(amount) == min(steps)]
    return float(np.mean(slopes))


def _percentiles(values: np.ndarray) -> tuple[float, ...] | None:
    known = np.sort(values[~np.isnan(values)])
    if known.size == 0:
        return None
    if np.isfinite(known).all():
        return tuple(float(value) for value in np.percentile(known, PERCENTILES))
    nearest = np.round(np.array(PERCENTILES) / 100.0 * (known.size - 1)).astype(int)
    return tuple(float(value) for value in known[nearest])
