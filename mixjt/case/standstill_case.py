"""What a case file says of the circuit at rest."""

from __future__ import annotations

from mixjt.case.case import Case
from mixjt.case.inventory_case import case_volumes
from mixjt.case.oil_case import case_oil
from mixjt.case.read import read
from mixjt.errors import InputError
from mixjt.studies.at_rest import StandstillRequest


def standstill_request(case: Case) -> StandstillRequest | None:
    """The circuit's volumes, or else volume and charge of [standstill]; None where neither states the volume.

    Raises
    ------
    InputError
        Where both tables state them, or a charge stands without a volume.
    """
    values, volumes, circuit = case.tables["standstill"], case_volumes(case), case.circuit
    place = case.place("standstill")
    for key in ("volume", "charge"):
        if volumes is not None and values[key] is not None:
            raise InputError(f"{place.at(key)}: [volumes] says it already; leave it out of one of the two")
    filled = {}
    if volumes is not None:
        filled = {"volume": volumes.total, "charge": None, "volumes": volumes, "oil": case_oil(case)}
    elif values["volume"] is None:
        if values["charge"] is not None:
            raise InputError(f"{place.at('charge')}: a charge at rest needs the volume of the circuit beside it")
        return None
    return read(
        StandstillRequest, case, ambient_temperature=circuit.ambient_temperature,
        suction_pressure=circuit.suction_pressure, **filled,
    )  # fmt: skip
