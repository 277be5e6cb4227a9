"""From a case's tables [volumes], [charge] and its bottles to what is filled in, where and from what."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from mixjt.case.case import Case
from mixjt.case.cooldown_case import fixed_machine
from mixjt.case.read import read
from mixjt.case.standstill_case import standstill_request
from mixjt.circuit.result import CircuitResult
from mixjt.circuit.settled import FixedMachine
from mixjt.errors import InputError
from mixjt.fluid.fluid import Fluid
from mixjt.studies.at_rest import StandstillRequest
from mixjt.studies.charge.charge_request import ChargeRequest
from mixjt.studies.search.search_request import Bottle

NEEDED = (
    "what is to be filled in is not known: state all volumes and the charge in [volumes], or volume and charge in "
    "[standstill]"
)


def charge_request(case: Case) -> tuple[ChargeRequest, StandstillRequest]:
    """Bench, room and volume of a case, and what its charge at rest is held against.

    Raises
    ------
    InputError
        Where the case lacks volume or charge.
    """
    rest = standstill_request(case)
    if rest is None or rest.charge is None:
        raise InputError(f"{case.file}: {NEEDED}")
    bench = case.table("charge")["bench_temperature"] or case.circuit.ambient_temperature
    request = read(
        ChargeRequest, case, volume=rest.volume, atmosphere=case.table("ambient")["pressure"], bench_temperature=bench
    )
    return request, rest


def charged_amounts(case: Case, result: CircuitResult) -> np.ndarray:
    """Amounts (c,) [mol] of the result's gases that the circuit must hold: the stated charge of its blend."""
    rest = standstill_request(case)
    return rest.charge / result.fluid.molar_mass * result.composition


def bottles_to_buy(case: Case, bottles: Sequence[Bottle]) -> list[str]:
    """A sentence where some of these bottles are none of the case's own, which has others."""
    others = [bottle.ingredient.name for bottle in bottles if bottle not in case.bottles] if case.bottles else []
    return [f"no [[bottle]] of the case holds {', '.join(others)}: taken as bottles of the pure gas"] if others else []


def machine_to_settle(case: Case, fluid: Fluid) -> FixedMachine | None:
    """The fixed machine; None without [volumes] or a capillary's diameter and length."""
    throttle = case.tables["throttle"]
    if case.tables["volumes"] is None or throttle["diameter"] is None or throttle["length"] is None:
        return None
    return fixed_machine(case, fluid)
