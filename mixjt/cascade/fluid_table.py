"""Every combination of fluids on a coarse ladder of temperatures, to find which are worth optimising.

Rung 0 is the coldest evaporating temperature, the others are possible evaporating temperatures of the stages
above, the last stands for the warmest condensing temperature. A stage of one fluid between two rungs has a
power, a rejected heat and a swept volume per evaporator heat, all independent of the load: they are calculated
once and serve every combination. Between the coldest and the warmest stage that is done only for rungs which some fluid
below gets up to and, of the last of them, some fluid above gets down to.

A combination whose exact limits leave less than a rung of room must not be lost. Limits tighten with the lift,
so where `loose` is asked for, a stage between two rungs counts as possible already when the stage a rung shorter
at each free end keeps its limits; what is listed too much the optimisation finds out.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from mixjt.cascade.cascade_limits import stage_excesses
from mixjt.cascade.cascade_records import Cascade
from mixjt.cascade.stages import cascade_stage
from mixjt.errors import MixjtError
from mixjt.parts.stage_fluid import StageFluid
from mixjt.parts.vapour_stage import remembered_cycle

RUNG = 5.0  # K
LEAST_RUNG, MOST_RUNGS = 0.5 * RUNG, 100  # the lowest two may lie as far apart as one and a half
HOPELESS = 0.6  # relative excess of a limit that a rung less of lift at both ends does not mend
LOOSE_DISPLACEMENT = 1.3  # of the limit, for the same reason


@dataclass(frozen=True)
class Prospect:
    """A combination with its power on the ladder [W] and the intermediate temperatures it had there [K]."""

    power: float
    fluids: tuple[StageFluid, ...]
    intermediates: tuple[float, ...]


@dataclass(frozen=True)
class _StageTable:
    """One fluid as one stage; arrays over (lower rung, upper rung), infinite where it cannot work."""

    power: np.ndarray
    rejected: np.ndarray
    swept: np.ndarray

    @property
    def reached(self) -> tuple[np.ndarray, np.ndarray]:
        """Lower and upper rungs between which it can."""
        return np.nonzero(np.isfinite(self.power))


@dataclass(frozen=True)
class _Partial:
    """The stages up to some number; arrays over the rung on which the next stage evaporates."""

    power: np.ndarray
    heat: np.ndarray
    rungs: np.ndarray  # (stages - 1, rungs): where the stages below stand

    def bound(self, carnot: np.ndarray) -> float:
        """Least power that any completion can have."""
        return float(np.min(self.power + carnot * np.where(np.isfinite(self.heat), self.heat, 0.0)))


class Ladder:
    """Tables of stages for cascades of one number of stages.

    Parameters
    ----------
    cascade : Cascade
    choices : sequence of sequences
        Fluids to choose from for each stage, coldest stage first. No fluid serves twice.
    """

    def __init__(self, cascade: Cascade, choices: Sequence[Sequence[StageFluid]]):
        self.cascade, self.choices, self.count = cascade, choices, len(choices)
        cold, warm = cascade.evaporating_temperature, cascade.condensing_temperature
        between = warm - RUNG * np.arange(1, MOST_RUNGS)[::-1]  # the same for every cold end, whose stages are remembered
        self.temperatures = np.concatenate([[cold], between[between > cold + LEAST_RUNG], [warm]])  # the last is a condensing one
        self._highests: dict[int, int] = {}
        self._tables: dict[tuple[StageFluid, int], tuple[_StageTable, _StageTable]] = {}
        efficiency = cascade.compressor.isentropic_efficiency * cascade.compressor.motor_efficiency
        self._carnot = np.maximum(warm / self.temperatures - 1.0, 0.0) / efficiency

    def prospects(self, kept: int, loose: bool, on_step: Callable[[], None] = lambda: None) -> list[Prospect]:
        """The best combinations, least power first.

        Parameters
        ----------
        kept : int
            How many at most.
        loose : bool
            Whether what may keep its limits between two rungs counts too.
        on_step : function
            Called now and then.
        """
        found: list[Prospect] = []

        def extend(partial: _Partial | None, fluids: tuple[StageFluid, ...]) -> None:
            number = len(fluids)
            for fluid in self.choices[number]:
                if fluid in fluids:
                    continue
                on_step()
                longer = self._with_stage(partial, fluid, number, loose)
                worst = found[-1].power if len(found) >= kept else math.inf
                if not longer.bound(self._carnot) < worst:
                    continue
                if number == self.count - 1:
                    found.append(self._finished(longer, (*fluids, fluid)))
                    found.sort(key=lambda one: one.power)
                    del found[kept:]
                else:
                    extend(longer, (*fluids, fluid))

        extend(None, ())
        return found

    def _with_stage(self, below: _Partial | None, fluid: StageFluid, number: int, loose: bool) -> _Partial:
        """One more stage; for each upper rung the lower rung that costs least."""
        table = self._table(fluid, number, loose)
        leak = self.cascade.of_stage("heat_leaks", number)
        size = len(self.temperatures)
        if below is None:
            heat, power = np.full(size, np.inf), np.full(size, np.inf)
            heat[0], power[0] = self.cascade.load, 0.0
        else:
            heat, power = below.heat, below.power
        taken = np.where(np.isfinite(heat), heat + leak, 0.0)[:, None]
        usable = np.isfinite(power)[:, None] & np.isfinite(table.power)
        total = np.where(usable, power[:, None] + np.where(usable, table.power, 0.0) * taken, np.inf)
        limit = self.cascade.limits.displacement(number)
        if limit is not None:
            most = (LOOSE_DISPLACEMENT if loose else 1.0) * limit * self.cascade.compressor.speed
            total = np.where(np.where(usable, table.swept, 0.0) * taken > most, np.inf, total)
        usable = np.isfinite(total)
        rejected = np.where(usable, np.where(usable, table.rejected, 0.0) * taken, np.inf)
        to_come = self._carnot[None, :] * np.where(usable, rejected, 0.0)
        best = np.argmin(total + to_come, axis=0)
        columns = np.arange(size)
        before = np.empty((0, size), dtype=int) if below is None else np.vstack([below.rungs[:, best], best])
        return _Partial(total[best, columns], rejected[best, columns], before)

    def _finished(self, partial: _Partial, fluids: tuple[StageFluid, ...]) -> Prospect:
        rungs = partial.rungs[:, -1]
        return Prospect(float(partial.power[-1]), fluids, tuple(float(self.temperatures[rung]) for rung in rungs))

    def _table(self, fluid: StageFluid, number: int, loose: bool) -> _StageTable:
        key = (fluid, number)
        if key not in self._tables:
            self._tables[key] = self._calculated(fluid, number)
        return self._tables[key][loose]

    def _calculated(self, fluid: StageFluid, number: int) -> tuple[_StageTable, _StageTable]:
        """Strict and loose."""
        size = len(self.temperatures)
        figures = np.full((3, size, size), np.inf)
        kept = np.zeros((size, size), dtype=bool)
        for run in self._runs(number):
            for lower, upper in run:
                if not self._in_range(fluid, lower, upper):
                    break
                cycle = self._cycle(fluid, number, lower, upper)
                if cycle is None:
                    continue
                figures[:, lower, upper] = cycle.power_per_heat, cycle.rejected_per_heat, cycle.swept_per_heat
                worst = max((one.relative for one in stage_excesses(cycle, self.cascade.limits, number)), default=0.0)
                kept[lower, upper] = worst <= 0.0
                if worst > HOPELESS:
                    break
        strict = _StageTable(*np.where(kept, figures, np.inf))
        return strict, _loosened(figures, kept, free_lower=number > 0, free_upper=number < self.count - 1)

    def _runs(self, number: int) -> Iterator[Iterator[tuple[int, int]]]:
        """Pairs of rungs that matter for a stage, in runs of growing lift."""
        top = len(self.temperatures) - 1
        if number == self.count - 1:
            lowers = range(top - 1, 0, -1) if number else (0,)
            yield ((lower, top) for lower in lowers)
            return
        highest = min(self._highest(number - 1) + 1, top - 1) if number else 0  # one more, as in what follows, for the loose table
        lowest = max(self._lowest - 1, 1) if number and number == self.count - 2 else 1
        for lower in range(min(number, 1), highest + 1):
            yield ((lower, upper) for upper in range(max(lower + 1, lowest), top))

    def _highest(self, number: int) -> int:
        """The highest rung that a fluid of a stage gets up to; 0 where there is none."""
        if number not in self._highests:
            tables = [self._table(fluid, number, loose=True) for fluid in self.choices[number]]
            self._highests[number] = max((int(table.reached[1].max(initial=0)) for table in tables), default=0)
        return self._highests[number]

    @cached_property
    def _lowest(self) -> int:
        """The lowest rung from which a fluid of the warmest stage gets up; the last where there is none."""
        top = len(self.temperatures) - 1
        tables = [self._table(fluid, self.count - 1, loose=True) for fluid in self.choices[-1]]
        return min((int(table.reached[0].min(initial=top)) for table in tables), default=top)

    def _in_range(self, fluid: StageFluid, lower: int, upper: int) -> bool:
        """Whether a pure fluid is liquid and vapour on both rungs."""
        facts = fluid.facts
        return facts is None or (
            facts.triple_temperature <= self.temperatures[lower] and self._condensing(upper) < facts.critical_temperature
        )

    def _condensing(self, upper: int) -> float:
        last = upper == len(self.temperatures) - 1
        return float(self.temperatures[upper]) + (0.0 if last else self.cascade.approach)

    def _cycle(self, fluid: StageFluid, number: int, lower: int, upper: int):
        evaporating, condensing = float(self.temperatures[lower]), self._condensing(upper)
        try:
            return remembered_cycle(fluid, cascade_stage(self.cascade, number, self.count, evaporating, condensing))
        except MixjtError:
            return None


def _loosened(figures: np.ndarray, kept: np.ndarray, free_lower: bool, free_upper: bool) -> _StageTable:
    """Keep a stage also where the one a rung shorter at each free end keeps its limits, with its figures."""
    shorter_kept, shorter = kept, figures
    if free_lower:
        shorter_kept, shorter = _shifted(shorter_kept, -1, 0), _shifted(shorter, -1, 0)
    if free_upper:
        shorter_kept, shorter = _shifted(shorter_kept, 1, 1), _shifted(shorter, 1, 1)
    possible = kept | shorter_kept
    chosen = np.where(np.isfinite(figures), figures, shorter)
    return _StageTable(*np.where(possible, chosen, np.inf))


def _shifted(array: np.ndarray, by: int, axis: int) -> np.ndarray:
    """The array moved along one of its last two axes, what enters being False or infinite."""
    moved = np.roll(array, by, axis=array.ndim - 2 + axis)
    edge = [slice(None)] * array.ndim
    edge[array.ndim - 2 + axis] = 0 if by > 0 else -1
    moved[tuple(edge)] = False if array.dtype == bool else np.inf
    return moved
