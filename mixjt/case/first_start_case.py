"""What a case file says of the first start."""

from __future__ import annotations

from mixjt.case.case import Case
from mixjt.case.cooldown_case import case_capillary
from mixjt.case.inventory_case import case_volumes
from mixjt.circuit.inventory import Charge
from mixjt.studies.first_start import StartRequest


def start_request(case: Case, charge: Charge | None) -> StartRequest | None:
    """The machine that starts with a charge; None where that, or the capillary, is not known."""
    volumes, tube, rating = case_volumes(case), case_capillary(case), case.tables["rating"]
    if charge is None or volumes is None or tube is None:
        return None
    return StartRequest(
        fluid=charge.fluid,
        charge=charge.total,
        compressor=case.circuit.compressor,
        ambient=case.circuit.ambient_temperature,
        volumes=volumes,
        tube=tube,
        discharge_pressure=case.circuit.discharge_pressure,
        refrigerant=rating["refrigerant"],
        locked_rotor_current=rating["locked_rotor_current"],
    )
