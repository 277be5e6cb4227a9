"""From the table [recuperator_tubes] of a case to a request, and to the coil of its circuit."""

from __future__ import annotations

from mixjt.case.read import CaseFile, placed, read
from mixjt.case.schema import located
from mixjt.circuit.inventory import Volumes
from mixjt.errors import InputError
from mixjt.parts.cold_mass import ColdMass
from mixjt.parts.recuperator.tubes import Coil, ExchangerTubes, Tube
from mixjt.studies.recuperator_study import RecuperatorRequest

TABLE = "recuperator_tubes"
DROPS = ("pressure_drop_high", "pressure_drop_low")


def recuperator_request(case: CaseFile) -> RecuperatorRequest:
    """What the case says of its recuperator.

    Raises
    ------
    InputError
        Where the case has no such table, or its tubes do not go together.
    """
    values, place = case.table(TABLE), case.place(TABLE)
    with located(place.at()):
        small, large = (Tube(values[f"{size}_diameter"], values[f"{size}_wall"]) for size in ("small", "large"))
    return read(RecuperatorRequest, case, small=small, large=large)


def case_coil(case: CaseFile) -> Coil | None:
    """The tubes of the recuperator; None where the case has none.

    Raises
    ------
    InputError
        As `recuperator_request`, and for a recuperator that is stated twice.
    """
    stated = case.raw.get("recuperator", {})
    place = case.place("recuperator")
    if {"approach", "conductance"} <= stated.keys():
        raise InputError(f"{place.at('conductance')}: the approach follows from the conductance; state one of them")
    if TABLE not in case.raw:
        return None
    coil = recuperator_request(case).coil
    for key in DROPS if coil.length is None else (*DROPS, "approach", "conductance"):
        if key in stated:
            whence = "tubes" if key in DROPS else "tubes and their length"
            raise InputError(f"{place.at(key)}: this follows from the {whence} in [{TABLE}]; state one of them")
    return coil


def tube_contents(tubes: ExchangerTubes, length: float) -> dict[tuple[str, str], float]:
    """What a length [m] of tubes holds [m3] and weighs in copper [kg], by table and key of the case that say it."""
    held = placed(Volumes, high=tubes.high.flow_area * length, low=tubes.low.flow_area * length)
    copper = {"recuperator_copper": tubes.mass * length} if tubes.material == "copper" else {}
    return held | placed(ColdMass, **copper)
