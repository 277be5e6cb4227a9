"""The table [aftercooler]: an approach, or the size that it follows from."""

from __future__ import annotations

from mixjt.case.read import CaseFile, read
from mixjt.errors import InputError
from mixjt.keys import keys_of
from mixjt.parts.aftercooler import Aftercooler


def case_aftercooler(case: CaseFile) -> Aftercooler | None:
    """The aftercooler's size; None where the case states an approach or leaves it to its default.

    Raises
    ------
    InputError
        Where it states both.
    """
    written = case.raw.get("aftercooler", {})
    size = next((one.name for one in keys_of(Aftercooler) if one.name in written), None)
    if size is None:
        return None
    if "approach" in written:
        raise InputError(
            f"{case.place('aftercooler').at(size)}: the approach follows from the aftercooler's size; state one of them"
        )
    return read(Aftercooler, case, air_pressure=case.tables["ambient"]["pressure"])
