"""The greatest load that a cascade of compressors of stated displacement carries.

A warmer intermediate temperature makes the stage below it lift further and move less, and spares the stage above it.
So each stage condenses as warm as its own compressor and limits allow with the heat that it has to carry, and the load
is greatest where the warmest stage then just carries what reaches it: one bracketed root of the lowest
intermediate temperature, with a root in it for each of the others. Up to the warmest at which the coldest stage keeps its
limits, the load is what the coldest compressor carries there; beyond, the load falls instead. A compressor that is not
used up has a limit that stops it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

from mixjt.cascade.cascade_limits import stage_excesses
from mixjt.cascade.cascade_reach import SMALL_LIFT, why_not
from mixjt.cascade.cascade_records import Cascade, CascadeResult
from mixjt.cascade.fluid_table import Ladder, Prospect
from mixjt.cascade.optimum import KEPT, temperature_bounds
from mixjt.cascade.stages import cascade_cycles, cascade_stage, solve_cascade
from mixjt.errors import ConvergenceError, MixjtError, UnreachableError
from mixjt.fluid.roots import root_between
from mixjt.parts.stage_fluid import StageFluid
from mixjt.parts.vapour_stage import StageCycle, remembered_cycle

WITHIN = 1e-6  # K, of the temperatures
ROUNDS, SAME = 40, 1e-5  # K, of the approach of a condenser of stated size between two rounds
FARTHEST, EDGE = 20.0, 0.02  # K, of one step of that; share of what it lies in
HOPELESS = 1.0  # excess of a stage that cannot be solved
BOUND = 1e-4  # relative: a limit so near is what stops a stage
LEAST_LOAD, DOUBLINGS, HALVINGS = 1e-3, 30, 5  # W, for the ladder

Carried = tuple[float, tuple[float, ...], int]  # load [W], intermediate temperatures [K], sets of temperatures tried


def greatest_load(cascade: Cascade, fluids: Sequence[StageFluid]) -> tuple[CascadeResult, int]:
    """The cascade of given fluids at the greatest load it carries, and how many sets of temperatures were tried.

    Parameters
    ----------
    cascade : Cascade
        Whose limits state the displacements; its own load does not count.
    fluids : sequence of StageFluid
        Coldest stage first.

    Raises
    ------
    UnreachableError
        Where no temperatures keep every limit, or the compressors carry no more than the heat leaks.
    """
    return _settled(cascade, fluids, lambda held: _greatest_at(held, fluids))


def _settled(
    cascade: Cascade, fluids: Sequence[StageFluid], carried: Callable[[Cascade], Carried]
) -> tuple[CascadeResult, int]:
    """The cascade at the condensing temperature that the size of its condenser, if stated, leads to with what it carries there.

    The warmer it condenses, the less it carries, and the cooler a condenser can be with that; so one approach fits, looked
    for by secants between one at which less is carried than the condenser stands, or nothing, and one at which more is.
    """
    if cascade.condenser is None:
        load, between, tried = carried(cascade)
        return solve_cascade(replace(cascade, load=load), fluids, between), tried
    tried, at, high, above, below, lost = 0, cascade.condenser_approach, math.inf, None, None, ""
    low = at
    for _ in range(ROUNDS):
        held = replace(cascade, condenser_approach=at)
        try:
            load, between, more = carried(held)
        except UnreachableError as error:
            if below is None:  # as cool as it can begin
                raise
            left, lost = -math.inf, f": {error}"
        else:
            tried += more
            try:
                result = solve_cascade(replace(held, load=load), fluids, between)
                left = result.cascade.condenser_approach - at
            except UnreachableError as error:  # too small a condenser for so much
                left, lost = math.inf, f": {error}"
            if abs(left) <= SAME:
                return result, tried
        if left < 0.0 and below is None:  # begun too warm
            low, high, above, at = at + left, at, left, at + left
            continue
        low, below, high, above = (at, left, high, above) if left > 0.0 else (low, below, at, left)
        if high - low <= SAME:
            raise UnreachableError(_too_small(cascade, low, lost))
        at = _between(low, below, high, above)
    raise ConvergenceError("the condensing temperature of the warmest stage", "state a slightly different condenser")


def _too_small(cascade: Cascade, approach: float, why: str) -> str:
    size = cascade.condenser.to_ambient(cascade.ambient_temperature)
    return (
        f"a condenser of {size:.3g} W/K to the air is too small for these compressors: used up, they keep their limits only up "
        f"to a condensing temperature {approach:.3g} K above ambient, where it gives off less than they bring{why}; state a "
        "larger condenser, smaller compressors, or the load"
    )


def _between(low: float, below: float, high: float, above: float | None) -> float:
    """The next approach [K] between two that leave something above and below 0, or beyond the low one."""
    if math.isinf(high):
        return low + min(below, FARTHEST)
    if math.isfinite(below) and math.isfinite(above):
        share = below / (below - above)
        return low + min(max(share, EDGE), 1.0 - EDGE) * (high - low)
    return 0.5 * (low + high)


def _greatest_at(cascade: Cascade, fluids: Sequence[StageFluid]) -> Carried:
    """The same at the cascade's condensing temperature."""
    trial = _LoadTrial(cascade, fluids)
    trial.search()
    if trial.best is None:
        raise UnreachableError(_why_nothing(cascade, fluids))
    return (*trial.best, trial.count)


def loaded_at(cascade: Cascade, fluids: Sequence[StageFluid], intermediates: Sequence[float]) -> CascadeResult:
    """The cascade of given fluids and temperatures with the load of `load_at`, whose errors it has."""

    def carried(held: Cascade) -> Carried:
        return load_at(replace(held, condenser=None), fluids, intermediates), tuple(intermediates), 1

    return _settled(cascade, fluids, carried)[0]


def load_at(cascade: Cascade, fluids: Sequence[StageFluid], intermediates: Sequence[float]) -> float:
    """The load that every stage carries between stated temperatures [W]; other limits do not count.

    Raises
    ------
    UnreachableError
        Where it is not above 0.
    """
    cycles = cascade_cycles(cascade, fluids, intermediates)
    load = min(_load_of(cascade, cycles, number) for number in range(len(cycles)))
    if not load > 0.0:
        raise UnreachableError(_only_leaks(fluids))
    return load


def promising(
    cascade: Cascade, choices: Sequence[Sequence[StageFluid]], most: int, on_step=lambda: None
) -> list[Prospect]:
    """Combinations that carry the greatest loads on the ladder, its rungs taken loosely; about as many as `most`.

    choices holds the fluids to choose from for each stage, coldest first.
    """
    ladder = Ladder(cascade, choices)

    def carrying(load: float) -> list[Prospect]:
        ladder.cascade = replace(cascade, load=load)
        return ladder.prospects(most, True, on_step)

    low, found = LEAST_LOAD, carrying(LEAST_LOAD)
    high = low
    for _ in range(DOUBLINGS):
        if len(found) < most:
            break
        low, high = high, 2.0 * high
        found = carrying(high)
    for _ in range(HALVINGS):
        middle = (low * high) ** 0.5
        low, high = (middle, high) if len(carrying(middle)) >= most else (low, middle)
    return carrying(low)


def unused(result: CascadeResult) -> list[str]:
    """Of the stages whose stated compressor is not used up: to how much it is, and what stops it."""
    cascade, said = result.cascade, []
    for number, stage in enumerate(result.stages):
        used = stage.displacement / cascade.limits.displacement(number)
        if used > 1.0 - BOUND:
            continue
        near = [one.quantity for one in stage_excesses(stage.cycle, cascade.limits, number) if one.relative > -BOUND]
        reason = f", its {near[0]} is at its limit" if near else ""
        said.append(f"stage {number + 1} uses {100.0 * used:.3g} % of its compressor{reason}")
    return said


class _LoadTrial:
    """One search; best is the greatest load [W] that kept every limit, with its intermediate temperatures [K]."""

    def __init__(self, cascade: Cascade, fluids: Sequence[StageFluid]):
        self.cascade, self.fluids, self.last = cascade, tuple(fluids), len(fluids) - 1
        self.low, self.high = temperature_bounds(cascade, fluids)
        self.best: tuple[float, tuple[float, ...]] | None = None
        self.count = 0

    def search(self) -> None:
        cold = self.cascade.evaporating_temperature
        if self.last == 0:
            self._kept(self._carried_by_coldest(self.cascade.condensing_temperature), ())
            return
        warmest = self._warmest(0, cold, None)
        if warmest is None:
            return

        def spare(place: float) -> float:
            """Along temperatures up to the warmest, then over 1 K more down to no load."""
            between = min(place, warmest)
            load = self._carried_by_coldest(between + self.cascade.approach) * min(1.0, warmest + 1.0 - place)
            return self._kept(load, (between,))

        ends = float(self.low[0]), warmest + 1.0
        if spare(ends[0]) < 0.0 < spare(ends[1]):
            root_between(spare, *ends, WITHIN)

    def _kept(self, load: float, between: tuple[float, ...]) -> float:
        """How far the warmest stage keeps its limits (negative: not) where the others are used up, which is remembered."""
        self.count += 1
        heat, evaporating = load, self.cascade.evaporating_temperature
        for number in range(self.last):
            heat += self.cascade.of_stage("heat_leaks", number)
            if number == len(between):
                warmest = self._warmest(number, evaporating, heat)
                if warmest is None:
                    return -HOPELESS
                between = (*between, warmest)
            cycle = self._cycle(number, evaporating, between[number] + self.cascade.approach)
            heat, evaporating = heat * cycle.rejected_per_heat, between[number]
        heat += self.cascade.of_stage("heat_leaks", self.last)
        excess = self._excess(self.last, evaporating, self.cascade.condensing_temperature, heat)
        if excess <= KEPT and load > 0.0 and (self.best is None or load > self.best[0]):
            self.best = load, between
        return -excess

    def _warmest(self, number: int, evaporating: float, heat: float | None) -> float | None:
        """The warmest that the stage above may evaporate at [K]; None where even the coldest is too warm."""

        def excess(temperature: float) -> float:
            return self._excess(number, evaporating, temperature + self.cascade.approach, heat)

        low, high = max(float(self.low[number]), evaporating + SMALL_LIFT), float(self.high[number])
        if not low < high or excess(low) > 0.0:
            return None
        return high if excess(high) <= 0.0 else root_between(excess, low, high, WITHIN)

    def _excess(self, number: int, evaporating: float, condensing: float, heat: float | None) -> float:
        """Of the limit that a stage exceeds most; without heat its displacement does not count."""
        try:
            cycle = self._cycle(number, evaporating, condensing)
        except MixjtError:
            return HOPELESS
        found = stage_excesses(cycle, self.cascade.limits, number, heat)
        return max((one.relative for one in found), default=-HOPELESS)

    def _cycle(self, number: int, evaporating: float, condensing: float) -> StageCycle:
        stage = cascade_stage(self.cascade, number, len(self.fluids), evaporating, condensing)
        return remembered_cycle(self.fluids[number], stage)

    def _carried_by_coldest(self, condensing: float) -> float:
        """What the coldest compressor carries [W]; 0 where the stage cannot be solved."""
        try:
            cycle = self._cycle(0, self.cascade.evaporating_temperature, condensing)
        except MixjtError:
            return 0.0
        return max(_load_of(self.cascade, [cycle], 0), 0.0)


def _load_of(cascade: Cascade, cycles: Sequence[StageCycle], number: int) -> float:
    """The load at which a stage's displacement is used up [W]."""
    heat = cascade.limits.displacement(number) * cascade.compressor.speed / cycles[number].swept_per_heat
    for colder in reversed(range(number)):
        heat = (heat - cascade.of_stage("heat_leaks", colder + 1)) / cycles[colder].rejected_per_heat
    return heat - cascade.of_stage("heat_leaks", 0)


def _why_nothing(cascade: Cascade, fluids: Sequence[StageFluid]) -> str:
    free = replace(cascade, limits=replace(cascade.limits, displacements=None))
    reason = why_not(free, fluids)
    return _only_leaks(fluids) if reason.startswith("no intermediate") else reason


def _only_leaks(fluids: Sequence[StageFluid]) -> str:
    names = " + ".join(fluid.name for fluid in fluids)
    return f"{names}: compressors of these displacements carry no load besides the heat leaks; larger ones are needed"
