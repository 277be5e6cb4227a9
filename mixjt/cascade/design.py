"""Choice of fluids and intermediate temperatures of a cascade that draw the least power within its limits.

Where the compressors are given, what is sought is the greatest load instead.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass, field, replace
from itertools import pairwise

from mixjt.cascade.cascade_reach import SMALL_LIFT, chain_reach, stage_obstacle, why_not
from mixjt.cascade.cascade_records import MOST_STAGES, Cascade, CascadeResult
from mixjt.cascade.fluid_table import RUNG, Ladder, Prospect
from mixjt.cascade.greatest_load import greatest_load, loaded_at, promising, unused
from mixjt.cascade.optimum import begun, best_cascade
from mixjt.cascade.stages import solve_cascade
from mixjt.errors import ConvergenceError, InputError, UnreachableError
from mixjt.fluid.pure import REFRIGERANTS, resolve_fluid
from mixjt.gases.catalogue import gas, gas_names
from mixjt.interrupt import holding, keeping
from mixjt.keys import TEXT, WHOLE, key
from mixjt.parts.stage_fluid import StageFluid, pure_fluid
from mixjt.units import quantity_text

Progress = Callable[[str, int, int, float | None], None]
# Not sold new any more: they destroy the ozone layer (Montreal Protocol). They may be named in a list.
PHASED_OUT = ("R-12", "R-22")
RARE = ("neon", "krypton")  # too dear to fill a stage with; they may be named as well
TRIED = 6  # combinations from either ranking, for each one kept
ENOUGH = 1.02  # combinations whose power on the ladder is this much above the last one kept are left
LISTED_PAIRS = 60  # of fluids whose failure as a two-stage cascade is explained


def default_fluids() -> tuple[str, ...]:
    """Fluids one can buy: the catalogue's working gases and the usual refrigerants, without rare ones."""
    gases = [name for name in gas_names() if gas(name).refrigerant and name not in RARE]
    return (*gases, *(name for name in REFRIGERANTS if name not in PHASED_OUT))


@dataclass(frozen=True)
class CascadeRequest:
    """What a design is asked for.

    Parameters
    ----------
    cascade : Cascade
    fluids : tuple of StageFluid, optional
        Coldest stage first; without them they are chosen from `available`.
    intermediates : tuple of float, optional
        Evaporating temperatures of all stages but the coldest [K]; without them they are optimised.
    available : tuple of str
        Names of pure fluids.
    stages : int, optional
        Without it, and without fluids, 1 to 4 are tried.
    kept : int
        Combinations listed for each number of stages.
    greatest : bool
        Whether the greatest load is sought that compressors of the displacements among the limits carry, in place of the
        least power for the cascade's load.
    explained : bool
        Whether pairs of fluids that do not serve are told where others do.

    Raises
    ------
    InputError
    UnknownGasError
    """

    cascade: Cascade
    fluids: tuple[StageFluid, ...] | None = key(
        TEXT, "the fluid of each stage, coldest first; the name of a [[bottle]] for a blend", default=None, many=True,
        otherwise="chosen from available",
    )
    intermediates: tuple[float, ...] | None = key(
        "temperature", "evaporating temperatures of all stages but the coldest, ascending; needs fluids",
        at="intermediate_temperatures", default=None, within="[20, 350]", many=True, otherwise="optimised",
    )
    available: tuple[str, ...] = key(
        TEXT, "pure fluids to choose from", default_factory=default_fluids, many=True,
        otherwise="the gases of the catalogue and usual refrigerants, without rare and phased-out ones",
    )
    stages: int | None = key(
        WHOLE, "how many", default=None, within="[1, 4]", otherwise="as many as fluids, or 1 to 4 are tried"
    )
    kept: int = key(
        WHOLE, "cascades listed for each number of stages", at="shown", default=3, within="[1, 50]"
    )
    greatest: bool = False
    explained: bool = True

    def __post_init__(self):
        if self.fluids is not None and self.stages not in (None, len(self.fluids)):
            raise InputError(f"{len(self.fluids)} fluids are given for {self.stages} stages")
        if self.intermediates is not None and self.fluids is None:
            raise InputError("intermediate temperatures need the fluids of the stages too")
        if self.greatest and self.cascade.limits.displacements is None:
            raise InputError("the greatest load needs the displacements of the compressors")
        if self.kept < 1:
            raise InputError(f"at least one combination must be kept, got {self.kept}")
        for count in self.counts:
            if self.fluids is not None or self.stages is not None:
                self.cascade.check_counts(count)
        for name in self.available:
            resolve_fluid(name)

    @property
    def counts(self) -> tuple[int, ...]:
        """Numbers of stages to try."""
        if self.fluids is not None:
            return (len(self.fluids),)
        return tuple(range(1, MOST_STAGES + 1)) if self.stages is None else (self.stages,)

    def rank(self, result: CascadeResult) -> float:
        """The lower the better."""
        return -result.cascade.load if self.greatest else result.total_power


@dataclass(frozen=True)
class RuledOut:
    """Fluids, coldest first, that do not serve, as what ("coldest stage", "cascade" ...), and why."""

    stages: int
    role: str
    fluids: tuple[str, ...]
    reason: str

    @property
    def text(self) -> str:
        """Fluids, role and reason in one line."""
        names = " + ".join(self.fluids)
        if self.role != "cascade":
            return f"{names} as {self.role}: {self.reason}"
        return self.reason if self.reason.startswith(names) else f"{names}: {self.reason}"


@dataclass(frozen=True)
class CascadeDesign:
    """What a design found.

    best draws the least power, or carries the greatest load; None only after an interruption. by_count holds the best
    for each number of stages, candidates all that were kept, best first; greatest is that of the request. The figures
    below are those of best.
    """

    best: CascadeResult | None
    by_count: dict[int, CascadeResult]
    candidates: tuple[CascadeResult, ...]
    ruled_out: tuple[RuledOut, ...]
    messages: tuple[str, ...]
    evaluations: int
    seconds: float = field(compare=False)
    interrupted: bool = False
    greatest: bool = False

    @property
    def total_power(self) -> float:
        """Electrical power of all stages [W]."""
        return self.best.total_power

    @property
    def compressors(self) -> int:
        """How many."""
        return len(self.best.stages)

    @property
    def displacements(self) -> tuple[float, ...]:
        """Needed per stage, coldest first [m3 per revolution]."""
        return self.best.displacements

    @property
    def discharge_temperatures(self) -> tuple[float, ...]:
        """Per stage, coldest first [K]."""
        return self.best.discharge_temperatures

    @property
    def flammable_mass(self) -> float | None:
        """[kg]; None where it is not known."""
        return self.best.flammable_mass

    @property
    def condenser_conductance(self) -> float:
        """UA of all cascade condensers [W/K]."""
        return self.best.condenser_conductance

    @property
    def lowest_temperature(self) -> float | None:
        """Coldest load that the fluids of best reach within the limits [K]."""
        return self.best.lowest_temperature


def design_cascade(request: CascadeRequest, progress: Progress | None = None) -> CascadeDesign:
    """Find the fluids and intermediate temperatures that draw the least power within the limits.

    Parameters
    ----------
    request : CascadeRequest
    progress : function, optional
        Called with stage, done, total and the least power so far [W] (None as long as there is none). A
        KeyboardInterrupt, there or anywhere, ends the design early and keeps what was found.

    Returns
    -------
    CascadeDesign

    Raises
    ------
    InputError
    UnreachableError
        Where no combination keeps every limit; says what stands in the way.
    """
    return _Search(request, progress).run()


class _Search:
    """One design under way."""

    def __init__(self, request: CascadeRequest, progress: Progress | None):
        self.request, self.cascade, self.progress = request, begun(request.cascade), progress
        self.looked = self.cascade  # at whose condensing temperature fluids are picked
        self.found: list[CascadeResult] = []
        self.ruled_out: list[RuledOut] = []
        self.evaluations = 0

    def run(self) -> CascadeDesign:
        started = time.monotonic()
        with keeping() as cut:
            for count in self.request.counts:
                self._design(count)
        interrupted = cut.short
        if not self.found and not interrupted:
            raise UnreachableError(self._obstacle())
        with holding():
            ranked = self._kept()
        by_count = {}
        for one in ranked:
            by_count.setdefault(len(one.stages), one)
        return CascadeDesign(
            best=ranked[0] if ranked else None,
            by_count=dict(sorted(by_count.items())),
            candidates=tuple(ranked),
            ruled_out=tuple(self.ruled_out),
            messages=tuple(_messages(by_count, self.request, interrupted)),
            evaluations=self.evaluations,
            seconds=time.monotonic() - started,
            interrupted=interrupted,
            greatest=self.request.greatest,
        )

    def _design(self, count: int) -> None:
        if self.request.intermediates is not None:
            fluids, between = self.request.fluids, self.request.intermediates
            self.found.append((loaded_at if self.request.greatest else solve_cascade)(self.cascade, fluids, between))
            return
        fixed = self.request.fluids
        choices = [[fluid] for fluid in fixed] if fixed else self._choices(count)
        prospects = self._prospects(count, choices)
        if self.cascade.condenser is not None and not fixed:
            self._look_closer(prospects)
            prospects = self._prospects(count, choices)
        if fixed and not prospects:
            self._rule_out(count, "cascade", fixed, why_not(self.looked, fixed))
        if count == 2 and not fixed and not self.request.greatest and (self.request.explained or not prospects):
            self._explain_pairs(choices, prospects)
        self._optimise(count, prospects)

    def _look_closer(self, prospects: Sequence[Prospect]) -> None:
        """At about the condensing temperature that the first combination which works has: whole rungs from before."""
        low = self.cascade.condenser_approach
        for prospect in prospects:
            with suppress(UnreachableError, ConvergenceError):
                above = self._solved(prospect)[0].cascade.condenser_approach - low
                self.looked = replace(self.cascade, condenser_approach=low + RUNG * round(above / RUNG))
                return

    def _solved(self, prospect: Prospect) -> tuple[CascadeResult, int]:
        if self.request.greatest:
            return greatest_load(self.cascade, prospect.fluids)
        return best_cascade(self.cascade, prospect.fluids, prospect.intermediates)

    def _prospects(self, count: int, choices) -> list[Prospect]:
        """Combinations that keep their limits on the ladder, and those that may between its rungs."""
        if self.request.greatest:
            if self.request.fluids is not None:
                return [Prospect(0.0, self.request.fluids, ())]
            return promising(self.looked, choices, TRIED * self.request.kept, lambda: self._report(count, 0, 1))
        found: dict[tuple[StageFluid, ...], Prospect] = {}
        ladder = Ladder(self.looked, choices)
        for loose in (False, True):
            most = TRIED * self.request.kept
            for one in ladder.prospects(most, loose, lambda: self._report(count, 0, 1)):
                found.setdefault(one.fluids, one)
        return sorted(found.values(), key=lambda one: one.power)

    def _choices(self, count: int) -> list[list[StageFluid]]:
        """Fluids for each stage, without those that cannot do at all at the end where they stand."""
        fluids = [pure_fluid(name) for name in dict.fromkeys(self.request.available)]
        cold, warm = self.cascade.evaporating_temperature, self.cascade.condensing_temperature
        first, last = list(fluids), list(fluids)
        lowest = warm if count == 1 else cold + SMALL_LIFT
        for fluid in fluids:
            reason = stage_obstacle(self.cascade, fluid, 0, count, cold, lowest)
            if reason:
                self._rule_out(count, "only stage" if count == 1 else "coldest stage", (fluid,), reason)
                first.remove(fluid)
            if count > 1:
                reason = stage_obstacle(self.cascade, fluid, count - 1, count, warm - SMALL_LIFT, warm)
                if reason:
                    self._rule_out(count, "warmest stage", (fluid,), reason)
                    last.remove(fluid)
        return [first] if count == 1 else [first, *([fluids] * (count - 2)), last]

    def _explain_pairs(self, choices, prospects: Sequence[Prospect]) -> None:
        kept = {prospect.fluids for prospect in prospects}
        pairs = [(a, b) for a in choices[0] for b in choices[1] if a is not b and (a, b) not in kept]
        for pair in pairs[:LISTED_PAIRS]:
            found = chain_reach(self.looked, pair)
            if found.temperature is None or found.temperature > self.looked.cold_temperature:
                self._rule_out(2, "cascade", pair, why_not(self.looked, pair))

    def _optimise(self, count: int, prospects: Sequence[Prospect]) -> None:
        mine: list[float] = []
        for done, prospect in enumerate(prospects):
            self._report(count, done, len(prospects))
            mine.sort()
            enough = len(mine) >= self.request.kept and not self.request.greatest
            if enough and prospect.power > ENOUGH * mine[self.request.kept - 1]:
                break
            try:
                result, tried = self._solved(prospect)
            except (UnreachableError, ConvergenceError) as error:
                self._rule_out(count, "cascade", prospect.fluids, str(error))
                continue
            self.evaluations += tried
            mine.append(result.total_power)
            self.found.append(result)

    def _kept(self) -> list[CascadeResult]:
        """The best of each number of stages, best first, with how cold their fluids reach."""
        ranked = sorted(self.found, key=self.request.rank)
        families = ([one for one in ranked if len(one.stages) == count] for count in self.request.counts)
        kept = [_with_reach(one) for family in families for one in family[: self.request.kept]]
        return sorted(kept, key=self.request.rank)

    def _rule_out(self, count: int, role: str, fluids: Sequence[StageFluid], reason: str) -> None:
        self.ruled_out.append(RuledOut(count, role, tuple(fluid.name for fluid in fluids), reason))

    def _report(self, count: int, done: int, total: int) -> None:
        if self.progress:
            least = min((abs(self.request.rank(one)) for one in self.found), default=None)
            self.progress(f"{count} stage{'s' if count > 1 else ''}", done, total, least)

    def _obstacle(self) -> str:
        """One sentence on why nothing was found."""
        if self.request.fluids is not None:
            return self.ruled_out[-1].text
        counts = self.request.counts
        stages = f"{counts[0]}" if len(counts) == 1 else f"{counts[0]} to {counts[-1]}"
        text = f"no cascade of {stages} stage{'s' if stages != '1' else ''} keeps every limit"
        cold = [one for one in self.ruled_out if one.role in ("coldest stage", "only stage")]
        others = [one for one in self.ruled_out if one.role == "cascade"]
        example = (others or cold)[-1:]
        hint = self._too_small() or (f"; for instance {example[0].text}" if example else "")
        more = " allow more stages," if counts[-1] < MOST_STAGES else ""
        more += " state a larger condenser," if self.cascade.condenser else ""
        return text + hint + f"; relax one of the limits,{more} or choose a warmer cold end"

    def _too_small(self) -> str:
        """What compressors would have to sweep where nothing but their displacements stands in the way; else nothing."""
        limits = self.request.cascade.limits
        if limits.displacements is None or self.request.greatest:
            return ""
        free = replace(self.request.cascade, limits=replace(limits, displacements=None))
        try:
            best = design_cascade(replace(self.request, cascade=free, kept=1, explained=False)).best
        except (UnreachableError, ConvergenceError):
            return ""
        if best is None:
            return ""
        needed = _listed([quantity_text(one, "volume") for one in best.displacements], "and")
        names = " + ".join(stage.fluid.name for stage in best.stages)
        return f"; {names} need {needed} per revolution, more than the displacements allowed"


def _with_reach(result: CascadeResult) -> CascadeResult:
    """With how cold its fluids reach."""
    fluids = [stage.fluid for stage in result.stages]
    return replace(result, lowest_temperature=chain_reach(result.cascade, fluids).temperature)


def _messages(by_count: dict[int, CascadeResult], request: CascadeRequest, interrupted: bool) -> list[str]:
    said = ["interrupted: these are the best cascades found until then"] if interrupted else []
    if request.stages is None and request.fluids is None and not interrupted:
        missing = [count for count in request.counts if count not in by_count]
        if missing:
            said.append(f"no fluids within the limits for {_listed(missing)} stage{'s' if missing != [1] else ''}")
    counts = sorted(by_count)
    if request.greatest:
        said += unused(min(by_count.values(), key=request.rank)) if by_count else []
        return said
    for fewer, more in pairwise(counts):
        change = 100.0 * (by_count[more].total_power / by_count[fewer].total_power - 1.0)
        word = "more" if change > 0.0 else "less"
        said.append(f"{more} stages draw {abs(change):.2g} % {word} power than {fewer}")
    return said


def _listed(parts: Sequence, word: str = "or") -> str:
    texts = [str(part) for part in parts]
    return texts[0] if len(texts) == 1 else f"{', '.join(texts[:-1])} {word} {texts[-1]}"
