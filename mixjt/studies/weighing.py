"""What errors in weighing the charge do to cooling power and lowest temperature.

The mass of each bottle is drawn from a normal distribution about its target, cut off at nought. What circulates of a charge
is found as `mixjt.studies.circulation` tells, or is the charge itself. The draws share one circuit, whose pressures hold.

The linear estimate that goes with it takes the cooling with each mass off by its own error, up and down: the squares of
half their differences add up (propagation of uncorrelated errors; JCGM 100:2008, section 5.1.2).
"""

from __future__ import annotations

from collections.abc import Callable
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
from mixjt.studies.sensitivity import Progress

PERCENTILES = (5.0, 50.0, 95.0)
CHUNK = 50  # blends swept between two reports of progress
BELOW = 20.0  # K below the lowest temperature of the target blend, where the draws' search ends


@dataclass(frozen=True)
class WeighingRequest:
    """charge [kg]; errors (k,) [kg], standard deviations, one for each bottle of the blend; draws; seed."""

    charge: float = key(
        "mass", "the charge weighed in; without one no weighing errors", within="(0, 100]",
        otherwise="what the circuit holds in [volumes], or that of [standstill]",
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

    masses (k,) [kg] are the targets, contributions (k,) [W] what the error of each brings on its own. amounts (n, k) are the bottles' fractions in the draws evaluated, cooling_power
    (n,) [W] and lowest_temperature (n,) [K] go with them; NaN where the model has no answer or the load is carried
    nowhere, and minus infinity where the load is still carried at the floor [K] of the search. target_power [W] and
    target_lowest [K] are those of the blend aimed at by the same approximation.
    """

    request: WeighingRequest
    masses: np.ndarray
    contributions: np.ndarray
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


def draw_moles(recipe: Recipe, molar_masses, request: WeighingRequest) -> np.ndarray:
    """Moles (draws, k) of the bottles in charges weighed in with errors; the same seed gives the same.

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
    return _cut_normal(target, errors, uniform) / (recipe.matrix @ molar_masses)


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
    circulates: Callable[[np.ndarray], np.ndarray] | None = None,
) -> Weighing:
    """Cooling power and lowest temperature of charges weighed in with errors.

    Parameters
    ----------
    model : PropertyModel
    recipe : Recipe
        The charge aimed at.
    circuit : ThrottleCircuit
    request : WeighingRequest
    reach : Reach, optional
        Load and lowest temperature of the blend aimed at; without one no lowest temperatures are sought.
    progress : function, optional
        Called with done and total. A KeyboardInterrupt ends the study and keeps the draws done.
    circulates : function, optional
        From moles (n, c) of the gases charged to the mole fractions (n, c) that circulate; by default the same.
    """
    circulates = circulates or (lambda gases: gases / gases.sum(axis=1, keepdims=True))
    moles = draw_moles(recipe, model.molar_masses, request)
    drawn = circulates(moles @ recipe.matrix)
    amounts = moles / moles.sum(axis=1, keepdims=True)
    (target,) = circulates(_moles(recipe, request.charge, model.molar_masses)[None] @ recipe.matrix)

    def cooled(moles: np.ndarray) -> np.ndarray:
        return batch_cooling(model, circulates(moles @ recipe.matrix), circuit).cooling_power

    seek = reach is not None and reach.temperature is not None
    floor = max(reach.temperature - BELOW, coldest_of(model)) if seek else None
    power, lowest = [], []
    goal_power = float(batch_cooling(model, target, circuit).cooling_power[0])
    goal_lowest = float(_lowest(model, target, circuit, reach.load, floor)[0]) if seek else None
    with keeping() as cut:
        for start in range(0, len(amounts), CHUNK):
            if progress:
                progress(start, len(amounts))
            z = np.vstack([target, drawn[start : start + CHUNK]])
            cooling = batch_cooling(model, z, circuit).cooling_power[1:]
            reached = _lowest(model, z, circuit, reach.load, floor)[1:] if seek else np.full(len(cooling), np.nan)
            power.append(cooling)
            lowest.append(reached)
    done = sum(len(part) for part in power)
    return Weighing(
        request=request,
        masses=recipe.masses(request.charge, model.molar_masses),
        contributions=_contributions(recipe, model.molar_masses, request, cooled),
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


def _contributions(recipe: Recipe, molar_masses, request: WeighingRequest, power) -> np.ndarray:
    """Half the change (k,) of the cooling power [W] between each bottle's error up and down, the others as aimed at."""
    moles, off = _moles(recipe, request.charge, molar_masses), np.diag(np.array(request.errors) / (recipe.matrix @ molar_masses))
    ends = np.maximum(np.vstack([moles + off, moles - off]), 0.0)
    up, down = np.split(power(ends), 2)
    return np.abs(up - down) / 2.0


def _moles(recipe: Recipe, charge: float, molar_masses) -> np.ndarray:
    """Of each bottle (k,) in a charge [kg]."""
    return recipe.masses(charge, molar_masses) / (recipe.matrix @ molar_masses)


def _percentiles(values: np.ndarray) -> tuple[float, ...] | None:
    known = np.sort(values[~np.isnan(values)])
    if known.size == 0:
        return None
    if np.isfinite(known).all():
        return tuple(float(value) for value in np.percentile(known, PERCENTILES))
    nearest = np.round(np.array(PERCENTILES) / 100.0 * (known.size - 1)).astype(int)
    return tuple(float(value) for value in known[nearest])
