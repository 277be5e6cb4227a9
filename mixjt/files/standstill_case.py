"""What a case file says of the circuit at rest."""

from __future__ import annotations

from mixjt.files.case import Case
from mixjt.studies.standstill import StandstillRequest


def standstill_request(case: Case) -> StandstillRequest | None:
    """The circuit's volume and charge; None where the case has no [standstill]."""
    values = case.tables["standstill"]
    if values is None:
        return None
    return StandstillRequest(ambient_temperature=case.circuit.ambient_temperature, **values)
