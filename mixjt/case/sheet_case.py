"""What a case does not say of the machine that its sheet for the bench would tell, and what finds it."""

from __future__ import annotations

from mixjt.case.case import Case
from mixjt.case.cooldown_case import case_capillary
from mixjt.case.standstill_case import standstill_request


def charge_lacks(case: Case) -> list[str]:
    """Sentences where the charge cannot be told."""
    rest = standstill_request(case)
    if rest is not None and (rest.volumes is not None or rest.charge is not None):
        return []
    return [
        "charge, gauge pressures while filling and pressure at rest: measure what holds gas and state it in [volumes]"
    ]


def throttle_lacks(case: Case) -> list[str]:
    """Sentences where nothing is stated of a capillary."""
    values = case.tables["throttle"]
    if values["diameter"] is not None or values["length"] is not None:
        return []
    return [
        "capillary: state a diameter in [throttle]; `mixjt throttle` finds the length, and compares other bores"
    ]


def cooldown_lacks(case: Case) -> list[str]:
    """Sentences where start and cool-down cannot be followed."""
    found = []
    if case_capillary(case) is None:
        found.append(
            "start and cool-down: state the capillary as cut, diameter and length, in [throttle]; with one of them "
            "`mixjt throttle CASE.toml --save NEW.toml` finds the other"
        )
    if "cold_mass" not in case.raw:
        found.append(
            "start and cool-down: state the metal that is cooled in [cold_mass]; `mixjt cooldown` follows it"
        )
    return found


def other_lacks(case: Case) -> list[str]:
    """Sentences on what else a sheet would tell."""
    found = []
    if case.circuit.coil is None:
        found.append(
            "tube lengths: state the recuperator's tubes in [recuperator_tubes]; `mixjt recuperator` finds their length"
        )
    if case.tables["standstill"]["largest_pressure"] is None:
        found.append(
            "rating of the low side: state largest_pressure, the lowest rating of a part, in [standstill]"
        )
    return found
