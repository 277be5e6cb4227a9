"""Where along a circuit's cold path a gas freezes first, and by how many kelvin it does not.

Where the circuit's own model finds least margin, if a solid is near there, plausible sets of pair parameters are
asked too (`mixjt.fluid.models.plausible_models`); the smallest margin counts.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from mixjt.circuit import result as records
from mixjt.errors import ConvergenceError
from mixjt.fluid.freezing_points import FreezingResult, freezing_on_leg
from mixjt.fluid.models import plausible_models
from mixjt.fluid.saturation_index import solids_of
from mixjt.fluid.states import PropertyModel, State
from mixjt.parts.recuperator.side import Side

ASKED_WITHIN = 25.0  # K of the own margin, within which other sets are asked
SMALL_MARGIN = 3.0  # K; what the freezing temperatures are good for at best, see docs/solids.md
SAME_POINT = 1e-6  # K
# Leg, the place at its cold end, the place at its warm end.
LEGS = (
    ("recuperator_high_side", records.THROTTLE_INLET, records.AFTERCOOLER_OUTLET),
    ("evaporator", records.THROTTLE_OUTLET, records.EVAPORATOR_OUTLET),
    ("recuperator_low_side", records.EVAPORATOR_OUTLET, records.COMPRESSOR_INLET),
)


@dataclass(frozen=True)
class FreezingPoint:
    """The point of one leg that is nearest to a solid, or deepest in it.

    place is a state point, or the leg where the point lies between two; temperature [K] and pressure [Pa];
    gas, margin [K] and freezing_temperature [K] are None where nothing freezes down to searched_to [K].
    problem says what could not be solved.
    """

    place: str
    temperature: float
    pressure: float
    gas: str | None
    margin: float | None
    freezing_temperature: float | None
    searched_to: float
    problem: str | None = None


@dataclass(frozen=True)
class FreezingReport:
    """Freezing along the cold path: one point for each leg, and the worst of them.

    gas, margin [K] and place are None where nothing freezes within the model's span, or where a leg that
    may be worse could not be solved; warnings says so. They are those of the set of pair parameters that finds least
    margin; own_margin [K] is that of the circuit's model, None likewise.
    """

    points: tuple[FreezingPoint, ...]
    gas: str | None
    margin: float | None
    place: str | None
    warnings: tuple[str, ...]
    own_margin: float | None = None


def circuit_freezing(model: PropertyModel, z, points: dict[str, State]) -> FreezingReport:
    """Check the high side, the evaporator and the low side of a circuit for solids.

    Parameters
    ----------
    model : PropertyModel
    z : array (c,)
    points : dict
        The state points of a solved circuit by place.

    Returns
    -------
    FreezingReport

    Raises
    ------
    MissingDataError
        For a gas whose solid is not described.
    """
    z = np.asarray(z, dtype=float)
    return path_freezing(model, [(name, z, points, cold, warm) for name, cold, warm in LEGS])


def path_freezing(model: PropertyModel, legs) -> FreezingReport:
    """Check legs with blends of their own for solids.

    Parameters
    ----------
    model : PropertyModel
    legs : sequence of (name, mole fractions (c,), states by place, place of the cold end, of the warm end)
    """
    own = _by_one_model(model, legs)
    if own.margin is None or own.margin > ASKED_WITHIN:
        return own
    place = next(point for point in own.points if point.place == own.place)
    worst, name = place, model.name
    z = next(leg[1] for leg, point in zip(legs, own.points, strict=True) if point is place)
    for one, other in plausible_models(model, z):
        at = _at_place(other, z, place)
        if at is not None and at.margin < worst.margin:
            worst, name = at, one.name
    if worst is place:
        return own
    doubts = own.warnings[len(_warnings(place)) :]
    warnings = (*_warnings(worst), *_spread(own.margin, worst, name), *doubts)
    return replace(own, gas=worst.gas, margin=worst.margin, place=worst.place, warnings=warnings)


def _by_one_model(model: PropertyModel, legs) -> FreezingReport:
    solids_of(model)
    found = tuple(_leg(model, z, points, name, cold, warm) for name, z, points, cold, warm in legs)
    known = [point for point in found if point.margin is not None]
    worst = min(known, key=lambda point: point.margin, default=None)
    least = math.inf if worst is None else worst.margin
    doubtful = [point for point in found if point.problem and point.temperature - point.searched_to < least]
    doubts = tuple(_doubt(point) for point in doubtful)
    if worst is None or (doubtful and least > 0.0):
        return FreezingReport(found, None, None, None, doubts)
    return FreezingReport(found, worst.gas, worst.margin, worst.place, (*_warnings(worst), *doubts), worst.margin)


def _at_place(model: PropertyModel, z, place: FreezingPoint) -> FreezingPoint | None:
    """What another set of pair parameters says where the circuit's own finds least margin; None where nothing."""
    try:
        found = freezing_on_leg(model, z, place.temperature, place.temperature, lambda t: place.pressure)
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
            f"whether {worst.gas} freezes hangs on what is not known well: margin {own:+.1f} K by this model, "
            f"{worst.margin:+.1f} K with the plausible pair parameters {name}; plan for the smaller"
        ]
    return []


def _leg(model, z, points: dict[str, State], name: str, cold_place: str, warm_place: str) -> FreezingPoint:
    cold, warm = points[cold_place], points[warm_place]
    side = Side(cold.temperature, warm.temperature, cold.pressure, warm.pressure)
    try:
        result = freezing_on_leg(model, z, cold.temperature, warm.temperature, side.pressure)
    except ConvergenceError as error:
        here = (cold_place, cold.temperature, cold.pressure)
        return FreezingPoint(*here, None, None, None, cold.temperature, str(error))
    return _point(model, result, name, cold_place, cold, side)


def _point(model, result: FreezingResult, name, cold_place, cold: State, side: Side) -> FreezingPoint:
    temperature = cold.temperature
    if result.margin is not None:
        temperature = result.freezing_temperature + result.margin
    at_end = abs(temperature - cold.temperature) < SAME_POINT
    problem = None
    if result.gas is None and result.searched_to > solids_of(model).floor + SAME_POINT:
        problem = "the property model has no state below"
    return FreezingPoint(
        place=cold_place if at_end else name,
        temperature=temperature,
        pressure=cold.pressure if at_end else float(side.pressure(temperature)),
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
