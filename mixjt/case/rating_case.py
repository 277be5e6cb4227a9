"""From the tables [compressor] and [rating] of a case to a rated machine."""

from __future__ import annotations

from dataclasses import replace

from mixjt.case.read import CaseFile, read, stated
from mixjt.case.schema import located
from mixjt.case.tables import TABLES
from mixjt.errors import InputError
from mixjt.parts.compressor.compression import Compressor
from mixjt.parts.compressor.label import (
    Label,
    RatedCompressor,
    largest_current,
    largest_suction_pressure,
    rated_compressor,
)
from mixjt.parts.compressor.nominal import (
    GUESSES,
    HORSEPOWER,
    USUAL_POINT,
    USUAL_REFRIGERANT,
    WIDE,
    guessed_capacity,
)
from mixjt.parts.compressor.polynomials import Polynomial, PolynomialCompressor
from mixjt.parts.compressor.rating_points import RatingPoint, rating_point
from mixjt.parts.compressor.sizing import MeasuredPoint
from mixjt.studies.label_study import RatingRequest

SIZE = {"kind", "displacement", "speed"}  # fields that a label or polynomials have of their own, or find
AROUND_SUCTION, AROUND_DISCHARGE = (0.5, 0.75, 1.0, 1.5, 2.0), (0.8, 1.0, 1.2)  # times the circuit's pressures


def states_rating(values: dict) -> bool:
    """Whether a table [rating] says anything about a machine."""
    return values["capacity"] is not None or values["power_coefficients"] is not None


def with_guess(case: CaseFile) -> CaseFile:
    """A case whose [rating] says as much as its nominal motor size lets guess; others as they are.

    Raises
    ------
    InputError
        Where the case also has what says more than the motor's size.
    """
    rating, place = case.tables["rating"], case.place("rating")
    size, kind = rating["nominal_power"], case.tables["compressor"]["type"]
    if size is None:
        return case
    for told in ("capacity", "power_coefficients"):
        if rating[told] is not None:
            raise InputError(f"{place.at('nominal_power')}: leave it out, {told} says more of the machine")
    point = rating["point"] or USUAL_POINT[kind]
    guessed = {
        "capacity": guessed_capacity(size, point),
        "point": point,
        "refrigerant": rating["refrigerant"] or USUAL_REFRIGERANT[point],
    }
    return replace(case, tables=case.tables | {"rating": rating | guessed})


def guess_warnings(case: CaseFile) -> list[str]:
    """A sentence where the machine is but a guess from its motor's size."""
    rating = case.tables["rating"]
    if rating["nominal_power"] is None:
        return []
    stated_size = case.tables["compressor"]["displacement"] is not None
    what = "the limits of the compressor are" if stated_size else "the compressor is"
    text = (
        f"{what} a wide guess from a nominal {rating['nominal_power'] / HORSEPOWER:.2g} hp, taken as "
        f"{rating['capacity']:.3g} W of {rating['refrigerant']} at the {rating['point']} point: {1.0 / WIDE:.2f} to {WIDE:g} "
        "times that is usual, and flow, cooling and power go with it; measure the displacement, or find the capacity"
    )
    return [text]


def guessed_machines(case: CaseFile) -> dict[str, RatedCompressor]:
    """The low, middle and high guess where only the motor's size is known; empty otherwise."""
    rating = case.tables["rating"]
    if rating["nominal_power"] is None:
        return {}
    tables = {
        name: case.tables | {"rating": rating | {"capacity": share * rating["capacity"]}} for name, share in GUESSES.items()
    }
    return {name: rated_machine(replace(case, tables=one)) for name, one in tables.items()}


def rated_machine(case: CaseFile) -> RatedCompressor | PolynomialCompressor:
    """The machine of a label or of polynomials.

    Raises
    ------
    InputError
        For what is missing, contradictory or impossible.
    UnreachableError
        As `rated_compressor`.
    """
    rating, place = case.tables["rating"], case.place("rating")
    if not states_rating(rating):
        raise InputError(f"{place.at()}: give the capacity on the label, or power_coefficients and their kin")
    if rating["capacity"] is not None and rating["power_coefficients"] is not None:
        raise InputError(f"{place.at('power_coefficients')}: give either the capacity of a label or polynomials")
    if rating["refrigerant"] is None:
        raise InputError(f"{place.at()} lacks refrigerant, the refrigerant of the label")
    with located(place.at()):
        return rated_compressor(_label(case)) if rating["capacity"] is not None else _polynomials(case)


def rating_request(case) -> RatingRequest:
    """What a case asks about its rated compressor; errors as `rated_machine`.

    Where [rating] lists no pressures, those around the circuit's are taken.
    """
    rating, circuit = case.tables["rating"], case.circuit
    low, high = circuit.suction_pressure, circuit.discharge_pressure
    usual = {
        "suction_temperature": circuit.ambient_temperature,
        "suction_pressures": tuple(share * low for share in AROUND_SUCTION),
        "discharge_pressures": tuple(share * high for share in AROUND_DISCHARGE),
    }
    return read(
        RatingRequest,
        case,
        machine=rated_machine(case),
        guesses=guessed_machines(case),
        remarks=tuple(guess_warnings(case)),
        ambient=circuit.ambient_temperature,
        circuit_pressures=(low, high),
        displacement=case.tables["compressor"]["displacement"],
        **{name: value for name, value in usual.items() if rating[name] is None},
    )


def circuit_compressor(case: CaseFile) -> Compressor:
    """The compressor of a case's circuit; what [compressor] lacks of displacement and speed comes from [rating].

    What the label limits where [compressor] does not, and the efficiency that its input tells, hold for a stated displacement too. What was measured
    on it ([compressor_test]) corrects the machine in the end.

    Raises
    ------
    InputError
        For a machine without displacement or speed, and without a rating.
    """
    compressor, rating, pressures = (case.tables[name] for name in ("compressor", "rating", "circuit"))
    missing = [key for key in ("displacement", "speed") if compressor[key] is None]
    if missing and not states_rating(rating):
        raise InputError(
            f"{case.place('compressor').at()} lacks {missing[0]}, {TABLES['compressor'].keys[missing[0]].help}; give "
            "it, or add [rating] with what the label says"
        )
    if "displacement" in missing:
        return _measured(case, rated_machine(case).at(pressures["suction_pressure"], pressures["discharge_pressure"]))
    changes = {"speed": shaft_speed(case)}
    if rating["capacity"] is not None and compressor["isentropic_efficiency"] is None:
        changes["isentropic_efficiency"] = rated_machine(case).machine.isentropic_efficiency
    with located(case.place("rating").at()):
        changes |= {field: value for field, value in _label_limits(case).items() if field not in stated(Compressor, case)}
    return _measured(case, read(Compressor, case, **changes))


def _measured(case: CaseFile, compressor: Compressor) -> Compressor:
    if case.tables["compressor_test"] is None:
        return compressor
    with located(case.place("compressor_test").at()):
        return read(MeasuredPoint, case).corrected(compressor)


def shaft_speed(case: CaseFile) -> float:
    """As [compressor] states it, or that of an induction motor [rev/s]."""
    stated_speed, rating = case.tables["compressor"]["speed"], case.tables["rating"]
    if stated_speed is not None:
        return stated_speed
    return rating["frequency"] * 2.0 / rating["poles"] * (1.0 - rating["slip"])


def _label_limits(case: CaseFile) -> dict:
    """What the label allows, by field of `Compressor`; None where it does not say."""
    rating = case.tables["rating"]
    limits = {"largest_supply_current": largest_current(rating["rated_current"], rating["locked_rotor_current"])}
    if rating["capacity"] is not None and rating["refrigerant"] is not None:
        limits["largest_suction_pressure"] = largest_suction_pressure(rating["refrigerant"], _point(case))
    return limits


def _further(case: CaseFile) -> dict:
    return {name: value for name, value in stated(Compressor, case).items() if name not in SIZE}


def _label(case: CaseFile) -> Label:
    compressor = case.tables["compressor"]
    return Label(
        point=_point(case),
        kind=compressor["type"],
        speed=shaft_speed(case),
        further=_further(case),
        **stated(Label, case),
    )


def _point(case: CaseFile) -> RatingPoint:
    """The named rating point with what is stated otherwise; without a name all four temperatures are needed."""
    rating, temperatures = case.tables["rating"], stated(RatingPoint, case)
    missing = [field for field, value in temperatures.items() if value is None]
    if rating["point"] is not None:
        named = rating_point(rating["standard"], rating["point"])
        return replace(named, **{field: value for field, value in temperatures.items() if value is not None})
    if missing:
        raise InputError(f"give the rating point, or all of its temperatures: {missing[0]}_temperature is missing")
    return RatingPoint(**temperatures)


def _polynomials(case: CaseFile) -> PolynomialCompressor:
    rating, compressor = case.tables["rating"], case.tables["compressor"]

    def polynomial(name: str) -> Polynomial | None:
        coefficients, unit = rating[f"{name}_coefficients"], rating.get(f"{name}_unit", 1.0)
        return None if coefficients is None else Polynomial(coefficients, rating["coefficient_temperature"], unit)

    return PolynomialCompressor(
        fluid=rating["refrigerant"],
        kind=compressor["type"],
        speed=shaft_speed(case),
        **{name: polynomial(name) for name in ("power", "mass_flow", "capacity", "current")},
        return_gas=rating["return_gas_temperature"],
        further=_label_limits(case)
        | {key: value for key, value in _further(case).items() if key != "isentropic_efficiency"},
        **stated(PolynomialCompressor, case),
    )
