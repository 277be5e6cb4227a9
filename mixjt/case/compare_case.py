"""What a case file asks of a comparison of roads."""

from __future__ import annotations

from dataclasses import replace

from mixjt.blend import pure_ingredient
from mixjt.case.cascade_case import cascade_request
from mixjt.case.case import Case, case_search
from mixjt.case.circuit_case import precooling_request, separator_circuit
from mixjt.case.read import read
from mixjt.case.standstill_case import standstill_request
from mixjt.circuit.layouts.precooled import PrecooledCircuit
from mixjt.circuit.solve import PRECOOLED, SEPARATOR
from mixjt.errors import InputError
from mixjt.fluid.model_names import DEFAULT
from mixjt.parts.precooler import Precooler
from mixjt.studies.compare.compare_request import CompareRequest
from mixjt.studies.compare.roads import BLENDS
from mixjt.studies.search.search_request import COP, Bottle, SearchRequest

TABLE = "compare"
RANGES = ("suction_pressure_range", "discharge_pressure_range")


def compare_request(case: Case, model_name: str = DEFAULT) -> CompareRequest:
    """All roads of a case to its load, in the hottest of its ambient temperatures.

    Parameters
    ----------
    case : Case
    model_name : str
        Property model of cascade stages whose fluid is a blend.

    Raises
    ------
    InputError
        Naming the place in the file.
    """
    case = _in_hottest_air(case)
    values = case.tables[TABLE]
    if not case.load:
        raise InputError(f"{case.place('cold_end').at()} lacks a load above 0, which every road is to carry")
    roads = tuple(dict.fromkeys(values["roads"]))
    stated = case.circuit.recuperator_conductance
    case = replace(case, circuit=replace(case.circuit, recuperator_conductance=None, coil=None, insulation=None))
    search = _search(case, values) if any(road in BLENDS for road in roads) else None
    precooled, temperatures, capacity = (), (0.0, 0.0), float("inf")
    if search is not None and PRECOOLED in roads:
        precooled, temperatures, capacity = _precooling(case)
    separator = separator_circuit(case) if search is not None and SEPARATOR in roads else None
    return read(
        CompareRequest,
        case,
        load=case.load,
        conductance=stated,
        search=search,
        precooled=precooled,
        precooling_temperatures=temperatures,
        precooler_capacity=capacity,
        precooler_speed=case.tables["precooler"]["speed"],
        separator=separator,
        cascade=replace(cascade_request(case, model_name), greatest=False),
        standstill=standstill_request(case),
        roads=roads,
    )


def _in_hottest_air(case: Case) -> Case:
    ambient = case.tables["ambient"]
    if ambient["temperature_range"] is None:
        return case
    hottest = ambient["temperature_range"][1]
    tables = case.tables | {"ambient": ambient | {"temperature": hottest}}
    return replace(case, tables=tables, circuit=replace(case.circuit, ambient_temperature=hottest))


def _search(case: Case, values: dict) -> SearchRequest | None:
    """The case's search for the least power; without bottles, blends of the gases of [blend]."""
    ranges = {name: values[name] for name in RANGES if values[name] is not None}
    bottles = case.bottles
    if not bottles and case.blend is not None:
        bottles = tuple(Bottle(pure_ingredient(gas)) for gas in case.blend.without_absent().gases)
    return case_search(case, case.circuit, bottles, case.place(TABLE).at(), objective=COP, **ranges) if bottles else None


def _precooling(case: Case) -> tuple[tuple[PrecooledCircuit, ...], tuple[float, float], float]:
    """Precooled circuits to try, without their limit, temperatures to try [K], and the limit [W]."""
    request = precooling_request(case)
    precooler = request.circuit.precooler
    limit = precooler.capacity_at(precooler.temperature, request.circuit.ambient_temperature)
    unlimited: Precooler = replace(precooler, capacity=None, limited_by_compressor=False)
    temperatures = (precooler.temperature,) * 2 if request.stated else request.temperatures
    stated = case.tables["precooler"]["suction"] is not None
    ways = (request.circuit.warm_section,) if stated else (True, False)
    circuits = tuple(replace(request.circuit, precooler=unlimited, warm_section=way) for way in ways)
    return circuits, temperatures, limit
