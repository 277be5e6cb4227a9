"""From a case's table [trial] to how the log of a run is read."""

from __future__ import annotations

from mixjt.case.case import Case
from mixjt.case.read import read, stated
from mixjt.errors import InputError
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


def checked_unit(unit: str, name: str, where: str) -> str:
    """A unit of a place's readings, refused where it is none or a pressure's zero is not told."""
    kind = BY_NAME[name].kind
    if kind == "pressure" and not says_its_zero(unit):
        unit_scale(f"{unit} abs", kind, where)  # where it is no pressure at all, that is said
        raise InputError(f'{where}: "{unit}" may be gauge or absolute; say "{unit} g" or "{unit} abs"')
    unit_scale(unit, kind, where)
    return unit
