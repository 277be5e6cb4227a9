"""The case file: one TOML file describes one machine and serves every command."""

from __future__ import annotations

from dataclasses import dataclass

from mixjt.blend import Blend
from mixjt.case.air_coil_case import case_aftercooler
from mixjt.case.bottles import case_blend, case_bottles, case_charge
from mixjt.case.insulation_case import case_insulation
from mixjt.case.inventory_case import case_volumes
from mixjt.case.oil_case import case_oil
from mixjt.case.rating_case import circuit_compressor, with_guess
from mixjt.case.read import CaseFile, read, read_case_file
from mixjt.case.recuperator_case import case_coil
from mixjt.case.schema import FilePlace
from mixjt.case.tables import BOTTLE_TABLE
from mixjt.circuit.machine import ThrottleCircuit
from mixjt.errors import InputError
from mixjt.studies.search.charge_limit import ChargeConstraint
from mixjt.studies.search.freezing_limit import FreezingConstraint
from mixjt.studies.search.search_request import Bottle, SearchRequest
from mixjt.units import apart


@dataclass(frozen=True, kw_only=True)
class Case(CaseFile):
    """A machine and what is asked of it, in SI units.

    blend, charge (gas -> mol) and load are None where the case states none, search where it has no bottles.
    """

    title: str
    notes: str
    circuit: ThrottleCircuit
    load: float | None
    blend: Blend | None
    charge: dict[str, float] | None
    bottles: tuple[Bottle, ...]
    search: SearchRequest | None


def read_case(path) -> Case:
    """The case described by a TOML file.

    Parameters
    ----------
    path : str or Path

    Raises
    ------
    InputError
        For a file that cannot be read, and for every unknown, missing, mistyped or contradictory entry.
    """
    return case_of(read_case_file(path))


def case_of(written: CaseFile) -> Case:
    """The case that a file's tables describe; errors as `read_case`."""
    written = with_guess(written)
    place, tables = FilePlace(written.file, written.text), written.tables
    _check_order(written)
    parts = {
        "compressor": circuit_compressor(written),
        "aftercooler": case_aftercooler(written),
        "insulation": case_insulation(written),
        "coil": case_coil(written),
    }
    circuit = read(ThrottleCircuit, written, where=place.at(), **parts)
    bottles = case_bottles(written.raw.get(BOTTLE_TABLE, []), place)
    blend = case_blend(written.raw, bottles, place)
    return Case(
        **vars(written),
        title=tables["title"],
        notes=tables["notes"],
        circuit=circuit,
        load=tables["cold_end"]["load"],
        blend=blend,
        charge=case_charge(written.raw, bottles, place),
        bottles=bottles,
        search=case_search(written, circuit, bottles) if bottles else None,
    )


def case_search(case: CaseFile, circuit: ThrottleCircuit, bottles, where: str | None = None, **changes) -> SearchRequest:
    """What the search is asked for by the table [search], with changes."""
    margin = case.tables["search"]["smallest_freezing_margin"]
    constraints = () if margin is None else (FreezingConstraint(circuit, margin),)
    constraints += _charge_limits(case, circuit)
    return read(
        SearchRequest, case, where=where, circuit=circuit, bottles=bottles, constraints=constraints,
        load=case.tables["cold_end"]["load"], ambient_range=case.tables["ambient"]["temperature_range"], **changes,
    )


def _charge_limits(case: CaseFile, circuit: ThrottleCircuit) -> tuple[ChargeConstraint, ...]:
    """What the search must keep of the charge; nothing where the case limits neither its pressure nor its mass."""
    limits = case.tables["search"]["largest_standing_pressure"], case.tables["search"]["largest_charge"]
    if limits == (None, None):
        return ()
    volumes = case_volumes(case, circuit)
    if volumes is None:
        place = case.place("search").at()
        raise InputError(f"{place}: a limit of the charge needs the volumes of the circuit: state them in [volumes]")
    hottest = case.tables["standstill"]["hottest_temperature"]
    about = {"volumes": volumes, "oil": case_oil(case, circuit.compressor), "hottest_temperature": hottest}
    names = "largest_pressure", "largest_charge"
    stated = [{name: limit} for name, limit in zip(names, limits, strict=True) if limit is not None]
    return tuple(ChargeConstraint(circuit, **limit, **about) for limit in stated)


def _check_order(case: CaseFile) -> None:
    """Refuse swapped pressures and swapped temperatures at their own line of the file."""
    tables = case.tables
    suction, discharge = tables["circuit"]["suction_pressure"], tables["circuit"]["discharge_pressure"]
    if discharge <= suction:
        high, low = apart(discharge, suction, "pressure")
        raise InputError(
            f"{case.place('circuit').at('discharge_pressure')}: {high} is not above the suction pressure of {low} "
            "(both absolute)"
        )
    cold_end, ambient = tables["cold_end"]["temperature"], tables["ambient"]["temperature"]
    if cold_end >= ambient:
        cold, warm = apart(cold_end, ambient, "temperature", 5)
        raise InputError(
            f"{case.place('cold_end').at('temperature')}: {cold} is not below the ambient temperature of {warm}"
        )
