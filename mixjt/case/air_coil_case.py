"""Air-cooled coils in a case: an approach, or the size that it follows from."""

from __future__ import annotations

from mixjt.case.read import CaseFile
from mixjt.case.schema import located
from mixjt.case.tables import CONDENSER
from mixjt.errors import InputError
from mixjt.keys import keys_of
from mixjt.parts.air_coil import AirCoil


def case_aftercooler(case: CaseFile) -> AirCoil | None:
    """The aftercooler's size; None where the case states an approach or leaves it to its default.

    Raises
    ------
    InputError
        Where it states both.
    """
    return _case_coil(case, "aftercooler", "")


def case_condenser(case: CaseFile, table: str) -> AirCoil | None:
    """The size of the condenser of a stage that a table describes; as the aftercooler's."""
    return _case_coil(case, table, CONDENSER)


def _case_coil(case: CaseFile, table: str, prefix: str) -> AirCoil | None:
    """By keys whose names begin with a prefix."""
    written, place = case.raw.get(table, {}), case.place(table)
    names = {one.field.name: f"{prefix}{one.name}" for one in keys_of(AirCoil)}
    size = next((name for name in names.values() if name in written), None)
    if size is None:
        return None
    if f"{prefix}approach" in written:
        of = "condenser" if prefix else "aftercooler"
        raise InputError(f"{place.at(size)}: the approach follows from the {of}'s size; state one of them")
    values = {field: case.tables[table][name] for field, name in names.items()}
    with located(place.at(size)):
        return AirCoil(**values, air_pressure=case.tables["ambient"]["pressure"])
