"""Cascades that carry the load at one temperature with the least power."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from mixjt.cascade.cascade_reach import why_not
from mixjt.cascade.cascade_records import CascadeResult
from mixjt.cascade.design import CascadeRequest, design_cascade
from mixjt.cascade.warming import Warming, warmings
from mixjt.errors import MixjtError, UnreachableError
from mixjt.interrupt import Interrupted
from mixjt.parts.stage_fluid import StageFluid
from mixjt.studies.compare.compare_request import CompareRequest
from mixjt.studies.compare.comparison import Carried
from mixjt.studies.compare.figures import cascade_capacity
from mixjt.studies.compare.roads import CASCADES
from mixjt.units import kelvin_text

PER_STAGE = ("exchanger_effectiveness", "suction_drops", "discharge_drops", "heat_leaks", "inventories")


class CascadeRoads:
    """Designs cascades for one request; stopped tells whether an interruption cut a design short."""

    def __init__(self, request: CompareRequest):
        self.request = request
        self.stopped = False

    def choose(self, road: str, temperature: float) -> Carried:
        """Fluids and temperatures of the least power at a temperature [K].

        Raises
        ------
        MixjtError
            Where no fluids get there within the limits.
        """
        design = design_cascade(self._wanted(road, temperature))
        self.stopped = self.stopped or design.interrupted
        if design.best is None:
            raise Interrupted
        return self._carried(temperature, design.best)

    def near(self, road: str, temperature: float, chosen: Sequence[tuple[StageFluid, ...]]) -> Carried:
        """The best of fluids chosen for other temperatures, with temperatures of the least power.

        Raises
        ------
        UnreachableError
            Where none of them gets there.
        """
        best, why = None, "no fluids are chosen yet"
        for fluids in chosen:
            try:
                wanted = self._wanted(road, temperature)
                design = design_cascade(replace(wanted, fluids=fluids))
            except MixjtError as error:
                why = str(error)
                continue
            self.stopped = self.stopped or design.interrupted
            if design.best is None:
                raise Interrupted
            if best is None or design.best.total_power < best.total_power:
                best = design.best
        if best is None:
            raise UnreachableError(why)
        return self._carried(temperature, best)

    def warmings(self, road: str, found: Carried | None, obstacle: str) -> tuple[Warming, ...]:
        """What the load of the case costs by what warms cold suction gas; found, or the obstacle, is what it costs as stated."""
        wanted = self._wanted(road, self.request.cold_temperature)
        known = Warming(wanted.cascade.suction_warming, found and found.result, None if found else obstacle)
        return warmings(wanted, CASCADES[road], known)

    def shortfall(self, carried: Carried) -> str:
        """What stops the fluids of a cascade that carries a warmer load from getting to the case's."""
        cascade = replace(carried.result.cascade, cold_temperature=self.request.cold_temperature)
        return why_not(cascade, [stage.fluid for stage in carried.result.stages])

    def _wanted(self, road: str, temperature: float) -> CascadeRequest:
        stages, given = CASCADES[road], self.request.cascade
        lists = {name: spread(getattr(given.cascade, name), stages) for name in PER_STAGE}
        limits = given.cascade.limits
        if limits.displacements is not None:
            limits = replace(limits, displacements=spread(limits.displacements, stages))
        cascade = replace(given.cascade, cold_temperature=temperature, limits=limits, **lists)
        fluids = given.fluids if given.fluids is not None and len(given.fluids) == stages else None
        return replace(given, cascade=cascade, fluids=fluids, intermediates=None, stages=stages, kept=1, explained=False)

    def _carried(self, temperature: float, result: CascadeResult) -> Carried:
        between = ", ".join(kelvin_text(one) for one in result.intermediate_temperatures)
        return Carried(
            temperature=temperature,
            power=result.total_power,
            cop=result.cop,
            own_capacity=cascade_capacity(result, result.cascade.compressor.displacement),
            contents=" + ".join(result.fluids) + (f"; warmer stages at {between}" if between else ""),
            result=result,
            fluids=result.fluids,
        )


def spread(values: tuple, stages: int) -> tuple:
    """Values given for single stages, coldest first, for another number of stages: the last one goes on."""
    return values if len(values) < 2 else (*values, *[values[-1]] * stages)[:stages]
