"""From a case's tables [throttle], [volumes] and [cold_mass] to a fixed machine and what it has to cool."""

from __future__ import annotations

from mixjt.components.capillary import Capillary
from mixjt.components.cold_mass import ColdMass
from mixjt.cycles.settled import FixedMachine, Volumes
from mixjt.errors import InputError
from mixjt.files.case import Case
from mixjt.files.schema import located
from mixjt.studies.cooldown import CooldownRequest

BELOW_TARGET = 20.0  # K, that the load line goes on below the cold end where the case states no end of it
LOWEST = 60.0  # K


def fixed_machine(case: Case, molar_mass: float) -> FixedMachine:
    """The case's circuit with its capillary and, where [volumes] is given, its charge.

    Parameters
    ----------
    case : Case
    molar_mass : float
        Of the blend [kg/mol].

    Raises
    ------
    InputError
        Where the capillary's diameter or length is missing.
    """
    values, place = case.table("throttle"), case.place("throttle")
    for key in ("diameter", "length"):
        if values[key] is None:
            raise InputError(f"{place.at()}: a fixed throttle needs {key}; `mixjt throttle` finds it")
    with located(place.at()):
        tube = Capillary(
            diameter=values["diameter"],
            length=values["length"],
            parallel=values["parallel"],
            roughness=values["roughness"],
            entrance_loss=values["entrance_loss"],
        )
    return FixedMachine(case.circuit, tube, _volumes(case, molar_mass))


def _volumes(case: Case, molar_mass: float) -> Volumes | None:
    values = case.tables["volumes"]
    if values is None:
        return None
    with located(case.place("volumes").at()):
        return Volumes(
            hot=values["hot"],
            high=values["recuperator_high"],
            low=values["recuperator_low"],
            evaporator=values["evaporator"],
            buffer=values["buffer"],
            charge=values["charge"] / molar_mass,
        )


def cooldown_request(case: Case) -> CooldownRequest:
    """What is cooled, what warms it, and down to which temperatures.

    Raises
    ------
    InputError
        Where the case names no mass.
    """
    values, place = case.tables["cold_mass"], case.place("cold_mass")
    target = case.circuit.cold_temperature
    with located(place.at()):
        mass = ColdMass(
            values["copper"], values["stainless_steel"], values["aluminium"], values["recuperator_copper"]
        )
        return CooldownRequest(
            mass=mass,
            leak=values["heat_leak"],
            load=case.load or 0.0,
            target=target,
            coldest=values["coldest"] or max(target - BELOW_TARGET, LOWEST),
        )
