"""The table [insulation]: a conductance, or the package that it follows from."""

from __future__ import annotations

from mixjt.case.read import CaseFile, read
from mixjt.errors import InputError
from mixjt.keys import keys_of
from mixjt.parts.insulation import Insulation
from mixjt.parts.insulation_package import InsulationPackage


def case_insulation(case: CaseFile) -> Insulation | None:
    """What insulates the cold parts; None without the table.

    Raises
    ------
    InputError
        Where the package is stated by half, or beside the conductance.
    """
    written = case.raw.get("insulation")
    if written is None:
        return None
    if "conductance" not in written:
        return read(Insulation, case, conductance=read(InsulationPackage, case).conductance)
    beside = next((one.name for one in keys_of(InsulationPackage) if one.name in written), None)
    if beside is not None:
        raise InputError(
            f"{case.place('insulation').at(beside)}: the conductance is stated already; state it or the package it follows from"
        )
    return read(Insulation, case)
