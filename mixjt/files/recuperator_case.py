"""From the table [recuperator_tubes] of a case to a request."""

from __future__ import annotations

from mixjt.components.tubes import Tube
from mixjt.files.case import Case
from mixjt.files.schema import located
from mixjt.studies.recuperator import RecuperatorRequest

LEAST_APPROACH = 1e-3  # K; no tube reaches nought


def recuperator_request(case: Case) -> RecuperatorRequest:
    """What the case says of its recuperator.

    Raises
    ------
    InputError
        Where the case has no such table, or its tubes do not go together.
    """
    values, place = case.table("recuperator_tubes"), case.place("recuperator_tubes")
    approach = values["target_approach"]
    if approach is None:
        approach = max(case.circuit.recuperator_approach, LEAST_APPROACH)
    with located(place.at()):
        return RecuperatorRequest(
            kind=values["kind"],
            small=Tube(values["small_diameter"], values["small_wall"]),
            large=Tube(values["large_diameter"], values["large_wall"]),
            count=values["number"],
            material=values["material"],
            high_in_small=values["high_pressure_in"] == "small",
            joint_width=values["joint_width"],
            length=values["length"],
            approach=approach,
            heat_leak=values["heat_leak"],
            cells=values["cells"],
            norm=values["tube_norm"],
        )
