"""What a case file asks of a cascade."""

from __future__ import annotations

from collections.abc import Sequence

from mixjt.cascade.cascade_records import MOST_STAGES, Cascade, CascadeLimits
from mixjt.cascade.design import CascadeRequest
from mixjt.cascade.stage_standstill import StageInventory
from mixjt.case.air_coil_case import case_condenser
from mixjt.case.case import Case
from mixjt.case.read import read, stated
from mixjt.case.schema import FilePlace, located
from mixjt.case.tables import TABLES
from mixjt.errors import InputError
from mixjt.fluid.model_names import DEFAULT
from mixjt.fluid.models import load_model, require_model
from mixjt.fluid.pure import resolve_fluid
from mixjt.parts.air_coil import AirCoil
from mixjt.parts.stage_fluid import StageFluid, pure_fluid

TABLE = "cascade"
A_LOAD = 1.0  # W, where the load is a result
NOT_PER_STAGE = ("fluids", "intermediate_temperatures", "available")


def cascade_request(case: Case, model_name: str = DEFAULT) -> CascadeRequest:
    """The cascade of a case that carries its load, or the greatest that stated compressors carry.

    Parameters
    ----------
    case : Case
    model_name : str
        Property model of stages whose fluid is a blend.

    Raises
    ------
    InputError
        Naming the place in the file.
    """
    require_model(model_name)
    values, place = case.tables[TABLE], case.place(TABLE)
    given = values["displacement"]
    if case.load is None and given is None:
        raise InputError(
            f"{case.place('cold_end').at()} lacks load, which the cascade is to carry; or state [cascade] displacement"
        )
    if given is not None and values["largest_displacement"] is not None:
        raise InputError(f"{place.at('displacement')}: give either displacement or largest_displacement")
    names = values["fluids"]
    if names is not None and len(names) > MOST_STAGES:
        raise InputError(f"{place.at('fluids')}: a cascade has at most {MOST_STAGES} stages, got {len(names)} fluids")
    fluids = None if names is None else _fluids(case, names, place, model_name)
    stages = values["stages"]
    if stages is None and fluids is None and given is not None and len(given) > 1:
        stages = len(given)
    _check_counts(values, len(fluids) if fluids else stages, place)
    between = _intermediates(values, place)
    inventories = _inventories(values, place)
    available = {} if values["available"] is None else {"available": _available(values["available"], place)}
    condenser = case_condenser(case, TABLE)
    with located(place.at()):
        cascade = _cascade(case, values, inventories, condenser)
    return read(
        CascadeRequest, case, cascade=cascade, fluids=fluids, intermediates=between, stages=stages,
        greatest=given is not None, **available,
    )  # fmt: skip


def _cascade(case: Case, values: dict, inventories: tuple[StageInventory, ...], condenser: AirCoil | None) -> Cascade:
    circuit, ambient = case.circuit, case.tables["ambient"]
    decided = {"suction_temperature": min(values["suction_temperature"], ambient["temperature"])}
    if not values["suction_drop"]:
        decided["suction_loss"] = circuit.low_side_drop / circuit.evaporator_pressure
    if not values["discharge_drop"]:
        decided["discharge_loss"] = circuit.discharge_pressure / circuit.throttle_pressure - 1.0
    if not values["desuperheater"]:
        decided["desuperheater_approach"] = None
    return Cascade(
        ambient_temperature=ambient["temperature"],
        cold_temperature=circuit.cold_temperature,
        load=case.load if values["displacement"] is None else A_LOAD,
        compressor=circuit.compressor,
        limits=_limits(case, values),
        inventories=inventories,
        condenser=condenser,
        atmosphere=ambient["pressure"],
        **(stated(Cascade, case) | decided),
    )


def _limits(case: Case, values: dict) -> CascadeLimits:
    compressor = case.circuit.compressor
    own = {
        "pressure_ratio": compressor.largest_pressure_ratio,
        "discharge_temperature": compressor.largest_discharge_temperature,
        "valve_temperature": compressor.largest_valve_temperature,
        "suction_pressure": case.tables["ambient"]["pressure"] if values["suction_above_atmospheric"] else None,
    }
    if values["displacement"] is not None:
        own["displacements"] = values["displacement"]
    return CascadeLimits(**(own | stated(CascadeLimits, case)))


def _check_counts(values: dict, stages: int | None, place: FilePlace) -> None:
    """Refuse lists that have neither one value nor one a stage, where the number of stages is stated."""
    for key, entry in TABLES[TABLE].keys.items():
        given = values[key]
        if stages and entry.many and key not in NOT_PER_STAGE and given is not None and len(given) not in (1, stages):
            raise InputError(
                f"{place.at(key)}: {len(given)} values for {stages} stage{'s' if stages > 1 else ''}; give one for all, "
                "or one a stage from the coldest"
            )


def _inventories(values: dict, place: FilePlace) -> tuple[StageInventory, ...]:
    volumes, liquids, charges = values["system_volume"], values["liquid_volume"], values["charge"]
    if volumes is None:
        for key in ("liquid_volume", "charge"):
            if values[key] is not None:
                raise InputError(f"{place.at(key)}: the standstill needs system_volume too")
        return ()
    if (liquids is None) == (charges is None):
        raise InputError(f"{place.at('system_volume')}: give either liquid_volume or charge with it")
    count = max(len(volumes), len(liquids or ()), len(charges or ()))
    columns = [_spread(one, count, place) for one in (volumes, charges, liquids)]
    with located(place.at("system_volume")):
        return tuple(StageInventory(*one) for one in zip(*columns, strict=True))


def _spread(values: tuple | None, count: int, place: FilePlace) -> tuple:
    if values is None or len(values) == 1:
        return (None if values is None else values[0],) * count
    if len(values) != count:
        raise InputError(f"{place.at('system_volume')}: give as many volumes as charges or liquid volumes")
    return values


def _available(names: Sequence[str], place: FilePlace) -> tuple[str, ...]:
    with located(place.at("available")):
        return tuple(resolve_fluid(name) for name in names)


def _fluids(case: Case, names: Sequence[str], place: FilePlace, model_name: str) -> tuple[StageFluid, ...]:
    """Pure fluids, and bottles of mixtures by their names."""
    bottles = {bottle.ingredient.name: bottle.ingredient for bottle in case.bottles}
    with located(place.at("fluids")):
        return tuple(_fluid(name, bottles.get(name), model_name) for name in names)


def _fluid(name: str, bottle, model_name: str) -> StageFluid:
    if bottle is None or len(bottle.gases) == 1:
        return pure_fluid(resolve_fluid(name))
    return StageFluid(load_model(model_name, bottle.gases), bottle.fractions, name)


def _intermediates(values: dict, place: FilePlace) -> tuple[float, ...] | None:
    between, fluids = values["intermediate_temperatures"], values["fluids"]
    if between is None:
        return None
    where = place.at("intermediate_temperatures")
    if fluids is None:
        raise InputError(f"{where}: stated temperatures need fluids too")
    if len(between) != len(fluids) - 1:
        raise InputError(f"{where}: {len(fluids)} stages need {len(fluids) - 1} of them; got {len(between)}")
    return between
