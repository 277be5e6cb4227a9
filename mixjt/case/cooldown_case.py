"""From a case's tables [throttle], [volumes] and [cold_mass] to a fixed machine and what it has to cool."""

from __future__ import annotations

from dataclasses import fields

from mixjt.case.case import Case
from mixjt.case.read import read
from mixjt.case.schema import located
from mixjt.circuit.settled import FixedMachine, Volumes, held_conductance
from mixjt.circuit.solve import solve_circuit
from mixjt.errors import InputError
from mixjt.fluid.fluid import Fluid
from mixjt.parts.cold_mass import ColdMass
from mixjt.parts.throttle.capillary import Capillary
from mixjt.studies.cooldown import CooldownRequest

BELOW_TARGET = 20.0  # K, that the load line goes on below the cold end where the case states no end of it
LOWEST = 60.0  # K


def fixed_machine(case: Case, fluid: Fluid) -> FixedMachine:
    """The case's circuit with its recuperator, its capillary and, where [volumes] is given, its charge of a blend.

    Tubes of stated length have become the UA and the pressure drops that they have at the circuit's own pressures.

    Raises
    ------
    InputError
        Where the capillary's diameter or length is missing.
    UnreachableError
        Where the recuperator's size cannot be told.
    """
    values, place = case.table("throttle"), case.place("throttle")
    for key in ("diameter", "length"):
        if values[key] is None:
            raise InputError(f"{place.at()}: a fixed throttle needs {key}; `mixjt throttle` finds it")
    with located(place.at()):
        tube = Capillary(**{field.name: values[field.name] for field in fields(Capillary)})
    circuit = case.circuit
    if circuit.coil is not None:
        circuit = circuit.as_sized(solve_circuit(fluid, circuit))
    return FixedMachine(circuit, tube, held_conductance(fluid, circuit), _volumes(case, fluid.molar_mass))


def _volumes(case: Case, molar_mass: float) -> Volumes | None:
    values = case.tables["volumes"]
    return None if values is None else read(Volumes, case, charge=values["charge"] / molar_mass)


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
