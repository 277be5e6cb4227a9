"""From the table [throttle] of a case to a request."""

from __future__ import annotations

from mixjt.case.case import Case
from mixjt.case.read import read
from mixjt.errors import InputError
from mixjt.parts.throttle.capillary_cases import Exchange
from mixjt.studies.throttle_study import ThrottleRequest


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
    given = [values[key] is not None for key in ("heat_to_return", "return_effectiveness")]
    if all(given):
        raise InputError(f"{place.at('return_effectiveness')}: give either this or heat_to_return")
    exchange = read(Exchange, case, return_temperature=return_temperature) if any(given) else None
    return read(ThrottleRequest, case, exchange=exchange)
