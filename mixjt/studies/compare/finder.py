"""All that a comparison looks for, as methods of one object that further processes can hold."""

from __future__ import annotations

from collections.abc import Sequence

from mixjt.cascade.warming import Warming
from mixjt.fluid.states import PropertyModel
from mixjt.parts.stage_fluid import StageFluid
from mixjt.studies.compare.blend_roads import BlendRoads
from mixjt.studies.compare.cascade_roads import CascadeRoads
from mixjt.studies.compare.compare_request import CompareRequest
from mixjt.studies.compare.comparison import Carried
from mixjt.studies.search.landscape import Place


class Finder:
    """Answers depend on what is given alone; blends is None where there is nothing to blend."""

    def __init__(self, model: PropertyModel | None, request: CompareRequest):
        self.blends = None if model is None or request.search is None else BlendRoads(model, request)
        self.cascades = CascadeRoads(request)

    @property
    def stopped(self) -> bool:
        """Whether an interruption cut something short here."""
        return self.cascades.stopped or bool(self.blends and self.blends.stopped)

    def first_blend(self, road: str, starts: Sequence[Place], allowance: float) -> Carried:
        """See `BlendRoads.at_cold_end`."""
        return self.blends.at_cold_end(road, starts, allowance)

    def blend(self, road: str, temperature: float, starts: Sequence[Place], allowance: float) -> Carried:
        """See `BlendRoads.near`."""
        return self.blends.near(road, temperature, starts, allowance)

    def fluids(self, road: str, temperature: float) -> Carried:
        """See `CascadeRoads.choose`."""
        return self.cascades.choose(road, temperature)

    def cascade(self, road: str, temperature: float, chosen: Sequence[tuple[StageFluid, ...]]) -> Carried:
        """See `CascadeRoads.near`."""
        return self.cascades.near(road, temperature, chosen)

    def warmings(self, road: str, found: Carried | None, obstacle: str) -> tuple[Warming, ...]:
        """See `CascadeRoads.warmings`."""
        return self.cascades.warmings(road, found, obstacle)
