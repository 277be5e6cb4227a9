"""The table [oil]: what oil the compressor has, and how much."""

from __future__ import annotations

from mixjt.case.case import Case
from mixjt.case.read import read
from mixjt.errors import InputError
from mixjt.parts.oil import Oil, oil_mass, usual_oil


def case_oil(case: Case) -> Oil:
    """The oil of a case's compressor; what it does not state is usual for type, displacement and the label's refrigerant.

    Raises
    ------
    InputError
        Where both mass and volume are stated.
    """
    values = case.tables["oil"]
    if values["mass"] is not None and values["volume"] is not None:
        raise InputError(f"{case.place('oil').at('volume')}: give either the mass of the oil or its volume")
    labelled = "refrigerant" in case.raw.get("rating", {})  # and not guessed
    usual = usual_oil(case.circuit.compressor, case.tables["rating"]["refrigerant"] if labelled else None)
    kind = values["kind"] or usual.kind
    volume = usual.volume if values["volume"] is None else values["volume"]
    mass = oil_mass(kind, volume) if values["mass"] is None else values["mass"]
    return read(Oil, case, kind=kind, mass=mass)
