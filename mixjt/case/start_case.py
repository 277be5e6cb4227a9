"""What a case file says of the first start."""

from __future__ import annotations

from dataclasses import fields

from mixjt.case.case import Case
from mixjt.case.read import read
from mixjt.circuit.settled import Volumes
from mixjt.fluid.fluid import Fluid
from mixjt.parts.throttle.capillary import Capillary
from mixjt.studies.first_start import StartRequest


def start_request(case: Case, fluid: Fluid) -> StartRequest | None:
    """The machine that starts with a charge of a blend; None without [volumes] or a capillary's diameter and length."""
    throttle, volumes, rating = (case.tables[name] for name in ("throttle", "volumes", "rating"))
    if volumes is None or throttle["diameter"] is None or throttle["length"] is None:
        return None
    return StartRequest(
        compressor=case.circuit.compressor,
        ambient=case.circuit.ambient_temperature,
        volumes=read(Volumes, case, charge=volumes["charge"] / fluid.molar_mass),
        tube=Capillary(**{field.name: throttle[field.name] for field in fields(Capillary)}),
        discharge_pressure=case.circuit.discharge_pressure,
        refrigerant=rating["refrigerant"],
        locked_rotor_current=rating["locked_rotor_current"],
    )
