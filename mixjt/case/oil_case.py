"""The table [oil]: what oil the compressor has, and how much."""

from __future__ import annotations

from mixjt.case.read import CaseFile, read
from mixjt.errors import InputError
from mixjt.parts.compressor.compression import Compressor
from mixjt.parts.oil import Oil, oil_mass, usual_oil


def case_oil(case: CaseFile, compressor: Compressor | None = None) -> Oil:
    """The oil of a compressor, by default the case's; what it does not state is usual for type, displacement and the label's refrigerant.

    Raises
    ------
    InputError
        Where both mass and volume are stated.
    """
    values = case.tables["oil"]
    if values["mass"] is not None and values["volume"] is not None:
        raise InputError(f"{case.place('oil').at('volume')}: give either the mass of the oil or its volume")
    labelled = "refrigerant" in case.raw.get("rating", {})  # and not guessed
    usual = usual_oil(compressor or case.circuit.compressor, case.tables["rating"]["refrigerant"] if labelled else None)
    kind = values["kind"] or usual.kind
    volume = usual.volume if values["volume"] is None else values["volume"]
    mass = oil_mass(kind, volume) if values["mass"] is None else values["mass"]
    return read(Oil, case, kind=kind, mass=mass)
