"""From the table [recuperator_tubes] of a case to a request."""

from __future__ import annotations

from mixjt.case.case import Case
from mixjt.case.read import placed, read
from mixjt.case.schema import located
from mixjt.circuit.settled import Volumes
from mixjt.parts.cold_mass import ColdMass
from mixjt.parts.recuperator.tubes import ExchangerTubes, Tube
from mixjt.studies.recuperator_study import RecuperatorRequest

LEAST_APPROACH = 1e-3  # K; no tube reaches nought


def recuperator_request(case: Case) -> RecuperatorRequest:
    """What the case says of its recuperator.

    Raises
    ------
    InputError
        Where the case has no such table, or its tubes do not go together.
    """
    values, place = case.table("recuperator_tubes"), case.place("recuperator_tubes")
    with located(place.at()):
        small, large = (Tube(values[f"{size}_diameter"], values[f"{size}_wall"]) for size in ("small", "large"))
    approach = values["target_approach"] or max(case.circuit.recuperator_approach, LEAST_APPROACH)
    return read(RecuperatorRequest, case, small=small, large=large, approach=approach)


def tube_contents(tubes: ExchangerTubes, length: float) -> dict[tuple[str, str], float]:
    """What a length [m] of tubes holds [m3] and weighs in copper [kg], by table and key of the case that say it."""
    held = placed(Volumes, high=tubes.high.flow_area * length, low=tubes.low.flow_area * length)
    copper = {"recuperator_copper": tubes.mass * length} if tubes.material == "copper" else {}
    return held | placed(ColdMass, **copper)
