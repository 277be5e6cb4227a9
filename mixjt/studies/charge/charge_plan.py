"""What is done at the bench to bring amounts of gases into a circuit, and what the whole charge then stands at."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from mixjt.circuit.inventory import Inventory
from mixjt.errors import UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.states import PropertyModel
from mixjt.studies.at_rest import AtRest, StandstillRequest, charge_at_rest
from mixjt.studies.charge.charge_request import ChargeRequest
from mixjt.studies.charge.drawn import Portions, drawn_from, filling_order, portions
from mixjt.studies.charge.filling import Step, fill, filling_warnings
from mixjt.studies.charge.leaked import LeakedCharge, leak_warnings, leaked
from mixjt.studies.search.search_request import Bottle


@dataclass(frozen=True, eq=False)
class ChargePlan:
    """Portions in filling order, a step each; the charge at rest, and leaked into the room; warnings, hazards first.

    inventory is what the circuit holds while it runs, None where its volumes are not known one by one.
    """

    model: PropertyModel
    request: ChargeRequest
    portions: Portions
    steps: tuple[Step, ...]
    rest: AtRest
    inventory: Inventory | None
    leak: LeakedCharge
    warnings: tuple[str, ...]

    @property
    def mass(self) -> float:
        """Of the charge [kg]."""
        return sum(step.mass for step in self.steps)

    @property
    def composition(self) -> np.ndarray:
        """Mole fractions (c,) of the charge."""
        given = self.portions.given
        return given / given.sum()


def plan_charge(
    running: AtRest,
    fluid: Fluid,
    bottles: Sequence[Bottle],
    request: ChargeRequest,
    standstill: StandstillRequest,
) -> ChargePlan:
    """Portions, order, gauge pressures and errors for what a circuit must hold.

    Parameters
    ----------
    running : AtRest
        With the inventory of the circuit in which the blend circulates; without one its stated charge of the blend counts.
    fluid : Fluid
        The blend.
    bottles : sequence of Bottle
        All of whose gases the fluid's model knows.
    request : ChargeRequest
    standstill : StandstillRequest
        What the charge at rest is held against.

    Raises
    ------
    UnreachableError
        Where what the circuit holds is not known, with the reason.
    """
    model, inventory = fluid.model, running.inventory
    if inventory is None and standstill.charge is None:
        raise UnreachableError(running.warnings[0])
    wanted = standstill.charge / fluid.molar_mass * fluid.z if inventory is None else inventory.amounts
    drawn = [drawn_from(model, bottle, request.bench_temperature) for bottle in bottles]
    given = filling_order(model, portions(drawn, wanted), request.bench_temperature)
    steps = fill(model, given, request)
    charged = given.given
    mass = float(charged @ model.molar_masses)
    rest = charge_at_rest(Fluid(model, charged / charged.sum()), replace(standstill, charge=mass))
    leak = leaked(model.gases, charged, request)
    misfit = given.sentence(model.gases)
    told = filling_warnings(model, steps, request)
    warnings = (*rest.warnings, *leak_warnings(leak), *([misfit] if misfit else []), *told)
    return ChargePlan(model, request, given, steps, rest, inventory, leak, warnings)
