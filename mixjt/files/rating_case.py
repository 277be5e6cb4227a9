"""From the tables [compressor] and [rating] of a case to a rated machine."""

from __future__ import annotations

from dataclasses import replace

from mixjt.components.compressor import KINDS, Compressor
from mixjt.components.polynomials import (
    CAPACITIES,
    MASS_FLOWS,
    POWERS,
    Polynomial,
    PolynomialCompressor,
)
from mixjt.components.rating import (
    Label,
    RatedCompressor,
    largest_current,
    largest_suction_pressure,
    rated_compressor,
)
from mixjt.components.rating_points import RatingPoint, rating_point
from mixjt.errors import InputError
from mixjt.files.case_tables import COMPRESSOR
from mixjt.files.schema import Place, located
from mixjt.studies.rating import RatingRequest

FIELDS = {
    "voltage": "supply_voltage", "power_factor": "power_factor", "supply_phases": "supply_phases",
    "isentropic_efficiency": "isentropic_efficiency", "motor_efficiency": "motor_efficiency",
    "shell_heat_loss": "shell_heat_loss", "largest_discharge_temperature": "largest_discharge_temperature",
    "largest_valve_temperature": "largest_valve_temperature", "largest_pressure_ratio": "largest_pressure_ratio",
}  # fmt: skip
AROUND_SUCTION, AROUND_DISCHARGE = (0.5, 0.75, 1.0, 1.5, 2.0), (0.8, 1.0, 1.2)  # times the circuit's pressures
MARKS = ("evaporating", "condensing", "return_gas", "liquid")


def states_rating(values: dict) -> bool:
    """Whether a table [rating] says anything about a machine."""
    return values["capacity"] is not None or values["power_coefficients"] is not None


def rated_machine(rating: dict, compressor: dict, place: Place) -> RatedCompressor | PolynomialCompressor:
    """The machine of a label or of polynomials.

    Parameters
    ----------
    rating, compressor : dict
        SI values of the tables.
    place : Place
        Of [rating], for messages.

    Raises
    ------
    InputError
        For what is missing, contradictory or impossible.
    UnreachableError
        As `rated_compressor`.
    """
    if not states_rating(rating):
        raise InputError(f"{place.at()}: give the capacity on the label, or power_coefficients and their kin")
    if rating["capacity"] is not None and rating["power_coefficients"] is not None:
        raise InputError(f"{place.at('power_coefficients')}: give either the capacity of a label or polynomials")
    if rating["refrigerant"] is None:
        raise InputError(f"{place.at()} lacks refrigerant, the refrigerant of the label")
    with located(place.at()):
        if rating["capacity"] is not None:
            return rated_compressor(_label(rating, compressor))
        return _polynomials(rating, compressor)


def rating_request(case) -> RatingRequest:
    """What a case asks about its rated compressor; parameters and errors as `rated_machine`.

    Where [rating] lists no pressures, those around the circuit's are taken.
    """
    rating, compressor, circuit = case.tables["rating"], case.tables["compressor"], case.circuit
    low, high = circuit.suction_pressure, circuit.discharge_pressure
    return RatingRequest(
        machine=rated_machine(rating, compressor, case.place("rating")),
        suction_temperature=rating["suction_temperature"] or circuit.ambient_temperature,
        suction_pressures=rating["suction_pressures"] or tuple(share * low for share in AROUND_SUCTION),
        discharge_pressures=rating["discharge_pressures"] or tuple(share * high for share in AROUND_DISCHARGE),
        circuit_pressures=(low, high),
        displacement=compressor["displacement"],
    )


def circuit_compressor(tables: dict, place: Place) -> Compressor:
    """The compressor of a case's circuit; what [compressor] lacks of displacement and speed comes from [rating].

    A derived displacement is what the machine moves at the pressures of [circuit], heating and leakage taken off.
    What the label limits holds for a stated displacement too.

    Raises
    ------
    InputError
        For a machine without displacement or speed, and without a rating.
    """
    compressor, rating, pressures = tables["compressor"], tables["rating"], tables["circuit"]
    here = place.table("[compressor]")
    missing = [key for key in ("displacement", "speed") if compressor[key] is None]
    if missing and not states_rating(rating):
        help_text = COMPRESSOR[missing[0]].help
        raise InputError(f"{here.at()} lacks {missing[0]}, {help_text}; give it, or add [rating] with what the label says")
    if "displacement" in missing:
        machine = rated_machine(rating, compressor, place.table("[rating]"))
        return machine.at(pressures["suction_pressure"], pressures["discharge_pressure"])
    stated = {FIELDS.get(key, key): value for key, value in compressor.items() if value is not None}
    stated["kind"], stated["speed"] = stated.pop("type"), shaft_speed(rating, compressor)
    if "isentropic_efficiency" not in stated:
        stated["isentropic_efficiency"] = _efficiency(rating, compressor, pressures, place)
    with located(place.table("[rating]").at()):
        limits = _label_limits(rating)
    with located(here.at()):
        return Compressor(**stated, **limits)


def _efficiency(rating: dict, compressor: dict, pressures: dict, place: Place) -> float:
    """Isentropic efficiency at the pressures of the circuit: of the label, or of the kind."""
    low, high = pressures["suction_pressure"], pressures["discharge_pressure"]
    if rating["capacity"] is not None:
        return rated_machine(rating, compressor, place.table("[rating]")).at(low, high).isentropic_efficiency
    return KINDS[compressor["type"]].isentropic_efficiency(high / low)


def shaft_speed(rating: dict, compressor: dict) -> float:
    """As [compressor] states it, or that of an induction motor [rev/s]."""
    if compressor["speed"] is not None:
        return compressor["speed"]
    return rating["frequency"] * 2.0 / rating["poles"] * (1.0 - rating["slip"])


def _label_limits(rating: dict) -> dict:
    """What the label allows, by field of `Compressor`; None where it does not say."""
    limits = {"largest_supply_current": largest_current(rating["rated_current"], rating["locked_rotor_current"])}
    if rating["capacity"] is not None and rating["refrigerant"] is not None:
        limits["largest_suction_pressure"] = largest_suction_pressure(rating["refrigerant"], _point(rating))
    return limits


def _further(compressor: dict) -> dict:
    return {field: compressor[key] for key, field in FIELDS.items() if compressor[key] is not None}


def _label(rating: dict, compressor: dict) -> Label:
    return Label(
        fluid=rating["refrigerant"],
        capacity=rating["capacity"],
        point=_point(rating),
        kind=compressor["type"],
        speed=shaft_speed(rating, compressor),
        power=rating["power"],
        rated_current=rating["rated_current"],
        locked_rotor_current=rating["locked_rotor_current"],
        clearance=compressor["clearance"],
        further=_further(compressor),
    )


def _point(rating: dict) -> RatingPoint:
    """The named rating point with what is stated otherwise; without a name all four temperatures are needed."""
    stated = {mark: rating[f"{mark}_temperature"] for mark in MARKS}
    if rating["point"] is not None:
        named = rating_point(rating["standard"], rating["point"])
        return replace(named, **{mark: value for mark, value in stated.items() if value is not None})
    missing = [f"{mark}_temperature" for mark, value in stated.items() if value is None]
    if missing:
        raise InputError(f"give the rating point, or all of its temperatures: {missing[0]} is missing")
    return RatingPoint(**stated)


def _polynomials(rating: dict, compressor: dict) -> PolynomialCompressor:
    def polynomial(name: str, unit: float = 1.0) -> Polynomial | None:
        coefficients = rating[f"{name}_coefficients"]
        return None if coefficients is None else Polynomial(coefficients, rating["coefficient_temperature"], unit)

    return PolynomialCompressor(
        fluid=rating["refrigerant"],
        kind=compressor["type"],
        speed=shaft_speed(rating, compressor),
        power=polynomial("power", POWERS[rating["power_unit"]]),
        mass_flow=polynomial("mass_flow", MASS_FLOWS[rating["mass_flow_unit"]]),
        capacity=polynomial("capacity", CAPACITIES[rating["capacity_unit"]]),
        current=polynomial("current"),
        return_gas=rating["return_gas_temperature"],
        superheat=rating["superheat"],
        subcooling=rating["subcooling"],
        evaporating_range=rating["evaporating_range"],
        condensing_range=rating["condensing_range"],
        further={key: value for key, value in _further(compressor).items() if key != "isentropic_efficiency"}
        | _label_limits(rating),
    )
