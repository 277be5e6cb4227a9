"""From a case and its table [sensitivity] to what the studies need."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from mixjt.blend import Ingredient, pure_ingredient
from mixjt.case.bottles import amounts_from_text
from mixjt.case.case import Case
from mixjt.case.inventory_case import case_volumes
from mixjt.case.oil_case import case_oil
from mixjt.case.read import read
from mixjt.case.schema import read_composition
from mixjt.case.standstill_case import standstill_request
from mixjt.circuit.machine import ThrottleCircuit
from mixjt.errors import InputError, MixjtError
from mixjt.fluid.fluid import Fluid
from mixjt.studies.circulation import ChargeResponse, charge_response
from mixjt.studies.recipe import Recipe, recipe_of
from mixjt.studies.robust import Bounds, default_bounds
from mixjt.studies.sensitivity import SensitivityRequest
from mixjt.studies.weighing import WeighingRequest


def case_recipe(case: Case, blend_text: str | None, gases: Sequence[str]) -> Recipe:
    """The blend of the option, or else of the case, bottle by bottle, for a model with these gases."""
    items, amounts = _entries(case, blend_text)
    return recipe_of(items, amounts, gases)


def sensitivity_request(case: Case) -> SensitivityRequest:
    """By how much the inputs are changed."""
    load = case.table("sensitivity")["load"]
    return read(SensitivityRequest, case, load=case.load if load is None else load)


def weighing_request(case: Case, blend_text: str | None, held: float | None) -> WeighingRequest | None:
    """Charge and weighing errors; None where no charge is known.

    Parameters
    ----------
    held : float or None
        Charge [kg] that the circuit holds, where its volumes are known.

    Raises
    ------
    InputError
        Where the errors are neither one nor one for each entry of the blend, or a charge is stated besides volumes.
    """
    values, place = case.table("sensitivity"), case.place("sensitivity")
    if values["charge"] is not None and held is not None:
        raise InputError(f"{place.at('charge')}: it follows from [volumes] already; leave it out of one of the two")
    at_rest = standstill_request(case)
    charge = values["charge"] or held or (at_rest and at_rest.charge)
    _, amounts = _entries(case, blend_text)
    errors = values["weighing_errors"]
    if len(errors) == 1:
        errors *= len(amounts)
    if len(errors) != len(amounts):
        raise InputError(
            f"{place.at('weighing_errors')}: the blend has {len(amounts)} entries, but {len(errors)} errors are "
            "given; give one for all, or one for each in turn"
        )
    if charge is None:
        return None
    present = tuple(error for error, x in zip(errors, amounts, strict=True) if x > 0.0)
    return read(WeighingRequest, case, charge=charge, errors=present)


def worst_case_step(case: Case) -> float:
    """What each bottle may be off [mol/mol]."""
    return case.table("sensitivity")["worst_case_step"]


def case_response(case: Case) -> Callable[[Fluid, ThrottleCircuit], ChargeResponse | None] | None:
    """How what circulates follows the charge, from a blend and its circuit; None without [volumes].

    What it gives is None where that does not come about.
    """
    volumes, oil = case_volumes(case), case_oil(case)
    if volumes is None:
        return None

    def respond(fluid: Fluid, circuit: ThrottleCircuit) -> ChargeResponse | None:
        try:
            return charge_response(fluid, circuit, volumes, oil)
        except MixjtError:
            return None

    return respond


def robust_bounds(case: Case, recipe: Recipe, step: float) -> Bounds:
    """What a robust blend must keep: the bounds of the bottles and [search], where the case has bottles."""
    plain = default_bounds(recipe, step)
    if case.search is None:
        return plain
    known = {bottle.ingredient.name: bottle for bottle in case.bottles}
    least, most = plain.least.copy(), plain.most.copy()
    for k, name in enumerate(recipe.names):
        if name in known:
            wanted = max(known[name].least, case.search.smallest_fraction, least[k])
            least[k] = min(wanted, recipe.amounts[k])
            most[k] = max(known[name].most, recipe.amounts[k])
    return Bounds(least, np.minimum(most, 1.0), case.search.suction_superheat, case.search.constraints)


def _entries(case: Case, blend_text: str | None) -> tuple[list[Ingredient], list[float]]:
    """Ingredients and mole fractions as written; the blend itself has been read and checked before."""
    if blend_text is None:
        amounts = read_composition(case.raw.get("blend", {}), case.place("blend").at())
    else:
        amounts = amounts_from_text(blend_text)
    known = {bottle.ingredient.name: bottle.ingredient for bottle in case.bottles}
    return [known.get(name) or pure_ingredient(name) for name in amounts], list(amounts.values())
