"""From a case's tables [throttle], [volumes] and [cold_mass] to a fixed machine and what it has to cool."""

from __future__ import annotations

from dataclasses import fields

from mixjt.case.case import Case
from mixjt.case.inventory_case import case_volumes, charged_amounts
from mixjt.case.oil_case import case_oil
from mixjt.case.read import read
from mixjt.case.schema import located
from mixjt.circuit.fixed_machine import FixedMachine, held_conductance
from mixjt.circuit.inventory import contained
from mixjt.circuit.solve import solve_circuit
from mixjt.errors import InputError, UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.parts.cold_mass import ColdMass
from mixjt.parts.throttle.capillary import Capillary
from mixjt.studies.cooldown import CooldownRequest

BELOW_TARGET = 20.0  # K, that the load line goes on below the cold end where the case states no end of it
LOWEST = 60.0  # K
SIZES = "diameter", "length"


def fixed_machine(case: Case, fluid: Fluid, charged: bool = False) -> FixedMachine:
    """The machine of the case as stated, with its capillary; errors as `stated_machine`, and where its capillary is missing."""
    if case_capillary(case) is None:
        values, place = case.table("throttle"), case.place("throttle")
        missing = next(name for name in SIZES if values[name] is None)
        raise InputError(f"{place.at()}: a fixed throttle needs {missing}; `mixjt throttle` finds it")
    return stated_machine(case, fluid, charged)


def stated_machine(case: Case, fluid: Fluid, charged: bool = False) -> FixedMachine:
    """The case's circuit with its recuperator, its capillary where it is cut and, where [volumes] is given, its charge.

    That is, charged, what [charge] says, of gases that are the fluid's; else what the circuit holds while the blend runs as designed. Tubes of stated length have
    become the UA and the pressure drops that they have at the circuit's own pressures.

    Raises
    ------
    UnreachableError
        Where the recuperator's size, or the charge, cannot be told.
    """
    tube, circuit, volumes, oil = case_capillary(case), case.circuit, case_volumes(case), case_oil(case)
    charge = charged_amounts(case, fluid.gases) if charged else None
    if circuit.coil is None and (volumes is None or charge is not None):
        return FixedMachine(circuit, tube, held_conductance(fluid, circuit), volumes, oil, charge)
    try:
        designed = solve_circuit(fluid, circuit)
    except UnreachableError as error:
        raise UnreachableError(
            f"recuperator and charge do not follow from the design: {error}; or state [recuperator] conductance and [charge]"
        ) from error
    if volumes is not None and charge is None:
        charge = contained(designed).inventory(volumes, oil).amounts
    return FixedMachine(circuit.as_sized(designed), tube, designed.recuperator_conductance, volumes, oil, charge)


def case_capillary(case: Case) -> Capillary | None:
    """The capillary as cut; None where its diameter or length is not stated."""
    values = case.tables["throttle"]
    if any(values[name] is None for name in SIZES):
        return None
    with located(case.place("throttle").at()):
        return Capillary(**{field.name: values[field.name] for field in fields(Capillary)})


def cooldown_request(case: Case) -> CooldownRequest:
    """What is cooled, what warms it, and down to which temperatures.

    Raises
    ------
    InputError
        Where the case names no mass.
    """
    target = case.circuit.cold_temperature
    coldest = case.tables["cold_mass"]["coldest"] or max(target - BELOW_TARGET, LOWEST)
    mass = read(ColdMass, case)
    return read(CooldownRequest, case, mass=mass, load=case.load or 0.0, target=target, coldest=coldest)
