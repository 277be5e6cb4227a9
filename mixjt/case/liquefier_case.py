"""What a case file asks of a liquefier."""

from __future__ import annotations

from mixjt.case.case import Case
from mixjt.case.read import read
from mixjt.case.schema import located
from mixjt.circuit.liquefier_result import FeedPassage
from mixjt.errors import InputError
from mixjt.fluid.feed import nitrogen_feed
from mixjt.fluid.models import require_model
from mixjt.studies.liquefier_study import LiquefierRequest
from mixjt.units import apart


def liquefier_request(case: Case, model: str) -> LiquefierRequest:
    """The machine with its feed; [cold_end] load counts as other load.

    Parameters
    ----------
    case : Case
    model : str
        Property model of a feed that is not pure.

    Raises
    ------
    InputError
        Where the case has no [liquefier], or one that contradicts itself.
    """
    require_model(model)
    values, place = case.table("liquefier"), case.place("liquefier")
    passage = read(
        FeedPassage, case, where=place.at("feed_pressure"), supply_pressure=case.table("ambient")["pressure"],
        temperature=values["feed_temperature"] or case.circuit.ambient_temperature,
    )  # fmt: skip
    with located(place.at("oxygen")):
        gas = nitrogen_feed(values["oxygen"], values["argon"], model)
    largest = values["largest_feed_pressure"]
    if largest is not None and largest < passage.pressure:
        greatest, stated = apart(largest, passage.pressure, "pressure")
        raise InputError(
            f"{place.at('largest_feed_pressure')}: {greatest} is below the feed pressure of {stated} (both absolute)"
        )
    return read(LiquefierRequest, case, circuit=case.circuit, gas=gas, passage=passage, load=case.load or 0.0)
