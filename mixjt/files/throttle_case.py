"""From the table [throttle] of a case to a request."""

from __future__ import annotations

from mixjt.components.capillary_cases import Exchange
from mixjt.errors import InputError
from mixjt.files.case import Case
from mixjt.files.schema import located
from mixjt.studies.throttle import USUAL_BORES, ThrottleRequest


def throttle_request(case: Case, return_temperature: float) -> ThrottleRequest:
    """What the case says about its throttle.

    Parameters
    ----------
    case : Case
    return_temperature : float
        Of the return line where the capillary would be soldered to it [K].

    Raises
    ------
    InputError
        For contradictory keys, or where neither diameter nor length is given.
    """
    values, place = case.table("throttle"), case.place("throttle")
    if values["diameter"] is None and values["length"] is None:
        raise InputError(f"{place.at()}: give the diameter of the capillary, its length, or both")
    if values["heat_to_return"] is not None and values["return_effectiveness"] is not None:
        raise InputError(f"{place.at('return_effectiveness')}: give either this or heat_to_return")
    with located(place.at()):
        return ThrottleRequest(
            diameter=values["diameter"],
            length=values["length"],
            parallel=values["parallel"],
            roughness=values["roughness"],
            entrance_loss=values["entrance_loss"],
            tolerance=values["tolerance"],
            debris=values["debris"],
            viscosity=values["two_phase_viscosity"],
            exchange=_exchange(values, return_temperature),
            bores=values["bores"] or USUAL_BORES,
            kv=values["valve_kv"],
        )


def _exchange(values: dict, return_temperature: float) -> Exchange | None:
    heat, share = values["heat_to_return"], values["return_effectiveness"]
    if heat is None and share is None:
        return None
    return Exchange(heat_per_length=heat, effectiveness=share, return_temperature=return_temperature)
