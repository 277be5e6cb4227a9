"""Where along a circuit's cold path a gas freezes first, and by how many kelvin it does not.

Two property models are asked at the same temperatures and pressures, that of the circuit and a second one
(`mixjt.properties.models.second_model`); the smaller margin counts.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from mixjt.components.recuperator import Side
from mixjt.cycles import records
from mixjt.errors import ConvergenceError, MixjtError
from mixjt.properties.freezing import FreezingResult, freezing_on_leg
from mixjt.properties.models import second_model
from mixjt.properties.records import PropertyModel, State
from mixjt.properties.saturation_index import solids_of

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
    may be worse could not be solved; warnings says so. They are those of the model that finds less margin;
    own_margin and check_margin [K] are those of the circuit's model and of the second one, None likewise.
    """

    points: tuple[FreezingPoint, ...]
    gas: str | None
    margin: float | None
    place: str | None
    warnings: tuple[str, ...]
    own_margin: float | None = None
    check_margin: float | None = None


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
    try:
        second = second_model(model)
        if second is None:
            return own
        check = _by_one_model(second, legs)
    except MixjtError as error:
        return replace(own, warnings=(*own.warnings, f"freezing is not checked by a second model: {error}"))
    return _worse(own, check, (model.name, second.name))


def _by_one_model(model: PropertyModel, legs) -> FreezingReport:
    solids_of(model)
    found = tuple(_leg(model, z, points, name, cold, warm) for name, z, points, cold, warm in legs)
    known = [point for point in found if point.margin is not None]
    worst = min(known, key=lambda point: point.margin, default=None)
    least = math.inf if worst is None else worst.margin
    doubtful = [point for point in found if point.problem and point.temperature - point.searched_to < least]
    doubts = tuple(f"{model.name} model: {_doubt(point)}" for point in doubtful)
    if worst is None or (doubtful and least > 0.0):
        return FreezingReport(found, None, None, None, doubts)
    return FreezingReport(found, worst.gas, worst.margin, worst.place, (*_warnings(worst), *doubts), worst.margin)


def _worse(own: FreezingReport, check: FreezingReport, names: tuple[str, str]) -> FreezingReport:
    """The report with less margin, both margins, and a warning where only one model finds a solid.

    A model that could not tell (it warns, but gives no margin) leaves the word to the other one.
    """
    reports = (own, check)
    worse = min(reports, key=lambda one: math.inf if one.margin is None else one.margin)
    other = check if worse is own else own
    warnings = list(worse.warnings)
    if other.margin is None:
        warnings += other.warnings
    told = [one.margin is not None or not one.warnings for one in reports]
    freezes = [one.margin is not None and one.margin < 0.0 for one in reports]
    if all(told) and freezes[0] != freezes[1]:
        says = [f"{_kelvins(one)} by the {name} model" for one, name in zip(reports, names, strict=True)]
        warnings.append(f"the two models disagree on whether {worse.gas} freezes: margin {' and '.join(says)}; plan for the smaller")
    return replace(worse, warnings=tuple(warnings), own_margin=own.margin, check_margin=check.margin)


def _kelvins(report: FreezingReport) -> str:
    return "without end" if report.margin is None else f"{report.margin:+.1f} K"


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
