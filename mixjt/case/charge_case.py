"""From a case's tables [volumes], [bench] and its bottles to what is filled in, where and from what."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from mixjt.case.case import Case
from mixjt.case.cooldown_case import case_capillary
from mixjt.case.inventory_case import case_volumes
from mixjt.case.oil_case import case_oil
from mixjt.case.read import read
from mixjt.case.standstill_case import standstill_request
from mixjt.circuit.fixed_machine import FixedMachine
from mixjt.circuit.result import CircuitResult
from mixjt.errors import InputError
from mixjt.studies.at_rest import StandstillRequest
from mixjt.studies.charge.charge_request import ChargeRequest
from mixjt.studies.search.search_request import Bottle

NEEDED = "what is to be filled in is not known: state all volumes in [volumes], or volume and charge in [standstill]"


def charge_request(case: Case) -> tuple[ChargeRequest, StandstillRequest]:
    """Bench, room and volume of a case, and what its charge at rest is held against.

    Raises
    ------
    InputError
        Where the case lacks volumes.
    """
    rest = standstill_request(case)
    if rest is None or (rest.volumes is None and rest.charge is None):
        raise InputError(f"{case.file}: {NEEDED}")
    bench = case.table("bench")["bench_temperature"] or case.circuit.ambient_temperature
    request = read(
        ChargeRequest, case, volume=rest.volume, atmosphere=case.table("ambient")["pressure"], bench_temperature=bench
    )
    return request, rest


def bottles_to_buy(case: Case, bottles: Sequence[Bottle]) -> list[str]:
    """A sentence where some of these bottles are none of the case's own, which has others."""
    others = [bottle.ingredient.name for bottle in bottles if bottle not in case.bottles] if case.bottles else []
    return [f"no [[bottle]] of the case holds {', '.join(others)}: taken as bottles of the pure gas"] if others else []


def machine_to_settle(case: Case, result: CircuitResult, charge: np.ndarray) -> FixedMachine | None:
    """The machine of a solved circuit with a charge (c,) [mol], its throttle adjusted where the case cuts no capillary.

    None without [volumes].
    """
    volumes = case_volumes(case)
    if volumes is None:
        return None
    circuit, conductance = case.circuit.as_sized(result), result.recuperator_conductance
    return FixedMachine(circuit, case_capillary(case), conductance, volumes, case_oil(case), charge)
