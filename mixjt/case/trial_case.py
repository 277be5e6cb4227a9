"""From a case to how the log of a run is read ([trial]), and to the machine that it is held against."""

from __future__ import annotations

from mixjt.case.case import Case
from mixjt.case.cooldown_case import stated_machine
from mixjt.case.read import read, stated
from mixjt.circuit.solve import solve_circuit
from mixjt.errors import InputError, MixjtError
from mixjt.fluid.fluid import Fluid
from mixjt.parts.cold_mass import ColdMass
from mixjt.studies.band import Band, cooling_band
from mixjt.studies.trial.built import COOLING_SPREAD, BuiltMachine
from mixjt.studies.trial.log import BY_NAME, IN_A_CASE, LogRequest
from mixjt.studies.trial.stretches import SteadyLimits
from mixjt.units import says_its_zero, unit_scale


def log_request(case: Case) -> LogRequest:
    """How the log is to be read.

    Raises
    ------
    InputError
        For a unit that is none of its place, a pressure that does not say its zero, and a column named twice.
    """
    by_place = {
        name: {IN_A_CASE[written].name: value for written, value in values.items()}
        for name, values in stated(LogRequest, case).items()
        if name in ("columns", "units", "errors")
    }
    place, atmosphere = case.place("trial"), case.table("ambient")["pressure"]
    for name, unit in by_place.get("units", {}).items():
        checked_unit(unit, name, f"{place.at('units')} {name}")
    headers = list(by_place.get("columns", {}).values())
    twice = next((header for header in headers if headers.count(header) > 1), None)
    if twice is not None:
        raise InputError(f'{place.at("columns")}: the column "{twice}" cannot be read at two places')
    return read(LogRequest, case, atmosphere=atmosphere, **by_place)


def steady_limits(case: Case) -> SteadyLimits:
    """How still a steady stretch must be."""
    return read(SteadyLimits, case)


def built_machine(case: Case, fluid: Fluid, charged: bool) -> tuple[BuiltMachine, Band | None]:
    """The machine that the case says was built, and how well its cooling figure is known.

    Without [cold_mass] nothing tells how fast it cools; where the circuit has no answer, its figure is as good as usual.

    Parameters
    ----------
    case : Case
    fluid : Fluid
        What circulates, or, charged, a blend of the gases of [charge] to start from.
    charged : bool
    """
    mass = read(ColdMass, case) if "cold_mass" in case.raw else None
    machine = stated_machine(case, fluid, charged)
    try:
        band = cooling_band(solve_circuit(fluid, case.circuit), case.circuit)
    except MixjtError:
        band = None
    return BuiltMachine(fluid, machine, mass, band.fraction if band else COOLING_SPREAD), band


def checked_unit(unit: str, name: str, where: str) -> str:
    """A unit of a place's readings, refused where it is none or a pressure's zero is not told."""
    kind = BY_NAME[name].kind
    if kind == "pressure" and not says_its_zero(unit):
        unit_scale(f"{unit} abs", kind, where)  # where it is no pressure at all, that is said
        raise InputError(f'{where}: "{unit}" may be gauge or absolute; say "{unit} g" or "{unit} abs"')
    unit_scale(unit, kind, where)
    return unit
