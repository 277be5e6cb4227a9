"""Which kind of circuit a case describes: plain, precooled or with a phase separator."""

from __future__ import annotations

from mixjt.case.air_coil_case import case_condenser
from mixjt.case.case import Case
from mixjt.case.read import read, stated
from mixjt.case.schema import located, nearest
from mixjt.circuit.layouts.separator import SeparatorCircuit
from mixjt.circuit.machine import ThrottleCircuit
from mixjt.circuit.solve import CIRCUIT_KINDS, PRECOOLED, SEPARATOR, with_precooler, with_separator
from mixjt.errors import InputError
from mixjt.parts.compressor.compression import Compressor
from mixjt.parts.precooler import Precooler
from mixjt.studies.precooling import PrecoolingRequest
from mixjt.units import apart


def case_circuit(case: Case, kind: str) -> ThrottleCircuit:
    """The circuit of that kind with all its temperatures, as a search and the rating of tubes need it.

    Raises
    ------
    InputError
        For an unknown kind, contradictions in the file, and a precooler without temperature.
    """
    if kind not in CIRCUIT_KINDS:
        close = nearest(kind, CIRCUIT_KINDS)
        hint = f"; did you mean {close}?" if close else ""
        raise InputError(f'there is no circuit "{kind}"; choose one of {", ".join(CIRCUIT_KINDS)}{hint}')
    if kind == PRECOOLED:
        request = precooling_request(case)
        if not request.stated:
            raise InputError(
                f"{case.place('precooler').at()}: this needs a precooling temperature; state temperature (mixjt "
                "cycle with --circuit precooled finds the best one for a blend)"
            )
        return request.circuit
    return separator_circuit(case) if kind == SEPARATOR else case.circuit


def precooling_request(case: Case) -> PrecoolingRequest:
    """The precooled circuit of a case."""
    values, place = case.tables["precooler"], case.place("precooler")
    chosen = values["temperature"] is not None
    coldest, warmest = case.circuit.span
    between = min(max(values["temperature_range"][1], 0.5 * (coldest + warmest)), warmest)  # any that it can have
    compressor = _compressor(case)
    where = place.at("temperature") if chosen else place.at()
    precooler = read(
        Precooler, case, where=where, compressor=compressor, limited_by_compressor=values["displacement"] is not None,
        temperature=values["temperature"] if chosen else between, condenser=case_condenser(case, "precooler"),
    )  # fmt: skip
    with located(where):
        circuit = with_precooler(case.circuit, precooler, warm_section=values["suction"] is not False)
    return read(PrecoolingRequest, case, circuit=circuit, stated=chosen)


def separator_circuit(case: Case) -> SeparatorCircuit:
    """The circuit of a case with a phase separator."""
    values, place = case.tables["separator"], case.place("separator")
    temperature, between = values["temperature"], values["intermediate_temperature"]
    ambient = case.circuit.ambient_temperature
    if temperature is not None and temperature < ambient:
        stated, air = apart(temperature, ambient, "temperature", 5)
        raise InputError(
            f"{place.at('temperature')}: {stated} is below the ambient {air}, and nothing in this circuit would cool the "
            "separator so far"
        )
    with located(place.at("intermediate_temperature") if between is not None else place.at()):
        return with_separator(case.circuit, temperature, between)


def _compressor(case: Case) -> Compressor:
    values, place = case.tables["precooler"], case.place("precooler")
    displacement, speed = values["displacement"], values["speed"]
    if (displacement is None) != (speed is None):
        missing, given = ("speed", "displacement") if speed is None else ("displacement", "speed")
        raise InputError(f"{place.at(given)}: give {missing} with it")
    size = {"displacement": displacement or 1.0, "speed": speed or 1.0}
    with located(place.at()):
        return Compressor(**(stated(Compressor, case, "precooler") | size))
