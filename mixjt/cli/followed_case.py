"""From a case to its fixed machine, followed from warm start to cold."""

from __future__ import annotations

from dataclasses import dataclass

from mixjt.case.case import Case
from mixjt.case.cooldown_case import cooldown_request, fixed_machine
from mixjt.case.first_start_case import start_request
from mixjt.circuit.fixed_machine import FixedMachine
from mixjt.circuit.inventory import Charge
from mixjt.cli.progress import step_progress
from mixjt.fluid.fluid import Fluid
from mixjt.studies.cooldown import Cooldown, cool_down
from mixjt.studies.first_start import StartLook, look_at_start


@dataclass(frozen=True)
class Followed:
    """A machine with its charge (None where that is not known), its cool-down and its first start."""

    machine: FixedMachine
    charge: Charge | None
    found: Cooldown
    start: StartLook


def followed_case(case: Case, fluid: Fluid, charged: bool) -> Followed:
    """Start a case's machine and let it cool down, with the charge of [charge] where it is charged with that.

    Raises
    ------
    InputError
        Where the case lacks throttle or cold mass.
    UnreachableError
        Where the machine settles nowhere or does not cool.
    """
    request = cooldown_request(case)
    machine = fixed_machine(case, fluid, charged)
    with step_progress("settling") as progress:
        found = cool_down(fluid, machine, request, progress)
    charge = None if machine.charge is None else Charge(fluid.model, machine.charge)
    start = look_at_start(start_request(case, charge), [state.compression for state in found.seen])
    return Followed(machine, charge, found, start)
