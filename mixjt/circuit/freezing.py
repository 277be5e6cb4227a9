"""Where along a circuit's cold path a gas freezes first, and by how many kelvin it does not.

Where the circuit's own model finds least margin, if a solid is near there, plausible sets of pair parameters are
asked too (`mixjt.fluid.models.plausible_models`); the smallest margin counts.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from mixjt.circuit.layout import EVAPORATOR, THROTTLE, Layout, Solution
from mixjt.circuit.result import FreezingPoint, FreezingReport
from mixjt.circuit.section import Leg
from mixjt.errors import ConvergenceError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.freezing_points import freezing_on_leg
from mixjt.fluid.models import plausible_models
from mixjt.fluid.saturation_index import solids_of
from mixjt.fluid.states import PropertyModel, State
from mixjt.parts.recuperator.side import Ends

ASKED_WITHIN = 25.0  # K of the own margin, within which other sets are asked
SMALL_MARGIN = 3.0  # K; what the freezing temperatures are good for at best, see docs/solids.md
SAME_POINT = 1e-6  # K


@dataclass(frozen=True, eq=False)
class ColdLeg:
    """A stretch of one fluid between two states that may hold a solid; cold_place is the name of the colder one."""

    name: str
    fluid: Fluid
    cold: State
    warm: State
    cold_place: str


def legs_that_may_freeze(layout: Layout, solution: Solution) -> tuple[ColdLeg, ...]:
    """The legs of a solved circuit behind its aftercooler where the blend may freeze, throttles by their outlets."""
    legs, states = layout.legs(solution), solution.points
    own = [leg for leg in legs if leg.start and leg.end and leg.stream.fluid.model is layout.fluid.model]
    cold = [leg for leg in own if leg.side or leg.part == EVAPORATOR]
    begun = {leg.start for leg in cold}
    cold += [leg for leg in own if THROTTLE in leg.part and leg.end not in begun]
    found = [_cold_leg(leg, states) for leg in cold]
    names = [leg.name for leg in found]  # streams side by side are told apart by where they come from
    return tuple(
        replace(one, name=f"{one.name}_from_{leg.start}") if names.count(one.name) > 1 else one
        for one, leg in zip(found, cold, strict=True)
    )


def _cold_leg(leg: Leg, states) -> ColdLeg:
    start = leg.end if THROTTLE in leg.part else leg.start
    cold, warm = sorted((start, leg.end), key=lambda place: states[place].temperature)
    name = f"{leg.part} {leg.side}".strip().replace(" ", "_")
    return ColdLeg(name, leg.stream.fluid, states[cold], states[warm], cold)


def path_freezing(model: PropertyModel, legs: Sequence[ColdLeg]) -> FreezingReport:
    """Check legs for solids.

    Parameters
    ----------
    model : PropertyModel
        Of the legs' fluids.
    legs : sequence of ColdLeg

    Raises
    ------
    MissingDataError
        For a gas whose solid is not described.
    """
    own = _by_one_model(model, legs)
    if own.margin is None or own.margin > ASKED_WITHIN:
        return own
    place = min((point for point in own.points if point.margin is not None), key=lambda point: point.margin)
    worst, name = place, model.name
    fluid = next(leg.fluid for leg, point in zip(legs, own.points, strict=True) if point is place)
    for one, other in plausible_models(model, fluid.z):
        at = _at_place(Fluid(other, fluid.z), place)
        if at is not None and at.margin < worst.margin:
            worst, name = at, one.name
    if worst is place:
        return own
    doubts = own.warnings[len(_warnings(place)) :]
    warnings = (*_warnings(worst), *_spread(own.margin, worst, name), *doubts)
    return replace(own, gas=worst.gas, margin=worst.margin, place=worst.place, warnings=warnings)


def _by_one_model(model: PropertyModel, legs: Sequence[ColdLeg]) -> FreezingReport:
    solids_of(model)
    found = tuple(_point_on(leg) for leg in legs)
    known = [point for point in found if point.margin is not None]
    worst = min(known, key=lambda point: point.margin, default=None)
    least = math.inf if worst is None else worst.margin
    doubtful = [point for point in found if point.problem and point.temperature - point.searched_to < least]
    doubts = tuple(_doubt(point) for point in doubtful)
    if worst is None or (doubtful and least > 0.0):
        return FreezingReport(found, None, None, None, doubts)
    return FreezingReport(found, worst.gas, worst.margin, worst.place, (*_warnings(worst), *doubts), worst.margin)


def _at_place(fluid: Fluid, place: FreezingPoint) -> FreezingPoint | None:
    """What another set of pair parameters says where the circuit's own finds least margin; None where nothing."""
    try:
        found = freezing_on_leg(fluid, place.temperature, place.temperature, lambda t: place.pressure)
    except ConvergenceError:
        return None
    if found.margin is None:
        return None
    return replace(
        place, gas=found.gas, margin=found.margin, freezing_temperature=found.freezing_temperature, searched_to=found.searched_to
    )


def _spread(own: float, worst: FreezingPoint, name: str) -> list[str]:
    """A warning where only a plausible set of pair parameters finds a solid."""
    if worst.margin < 0.0 <= own:
        return [
            (f"whether {worst.gas} freezes hangs on what is not known well: margin {own:+.1f} K by this model, "
            f"{worst.margin:+.1f} K with the plausible pair parameters {name}; plan for the smaller")
        ]
    return []


def _point_on(leg: ColdLeg) -> FreezingPoint:
    cold, warm = leg.cold, leg.warm
    ends = Ends(cold.temperature, warm.temperature, cold.pressure, warm.pressure)
    try:
        result = freezing_on_leg(leg.fluid, cold.temperature, warm.temperature, ends.pressure)
    except ConvergenceError as error:
        here = (leg.cold_place, cold.temperature, cold.pressure)
        return FreezingPoint(*here, None, None, None, cold.temperature, str(error))
    temperature = cold.temperature
    if result.margin is not None:
        temperature = result.freezing_temperature + result.margin
    at_end = abs(temperature - cold.temperature) < SAME_POINT
    problem = None
    if result.gas is None and result.searched_to > solids_of(leg.fluid.model).floor + SAME_POINT:
        problem = "the property model has no state below"
    return FreezingPoint(
        place=leg.cold_place if at_end else leg.name,
        temperature=temperature,
        pressure=cold.pressure if at_end else float(ends.pressure(temperature)),
        gas=result.gas,
        margin=result.margin,
        freezing_temperature=result.freezing_temperature,
        searched_to=result.searched_to,
        problem=problem,
    )


def _warnings(worst: FreezingPoint) -> list[str]:
    place, bar = worst.place.replace("_", " "), f"{1e-5 * worst.pressure:.3g} bar"
    if worst.margin < 0.0:
        text = (
            f"{worst.gas} freezes out: the {place} is at {worst.temperature:.1f} K and {bar}, but the liquid "
            f"keeps all of it dissolved only above {worst.freezing_temperature:.1f} K. It blocks "
            "the throttle. Use less of it, or a warmer cold end"
        )
    elif worst.margin < SMALL_MARGIN:
        text = (
            f"{worst.gas} freezes at {worst.freezing_temperature:.1f} K, only {worst.margin:.1f} K below the "
            f"{place} ({worst.temperature:.1f} K, {bar}); freezing temperatures are uncertain by "
            f"{SMALL_MARGIN:g} K at the least. Use less of it, or a warmer cold end"
        )
    else:
        return []
    return [text]


def _doubt(point: FreezingPoint) -> str:
    place = point.place.replace("_", " ")
    return (
        f"freezing at the {place} ({point.temperature:.1f} K) could not be checked below "
        f"{point.searched_to:.1f} K: {point.problem}"
    )
