"""What a little more of each bottle does: the signs by which a run shows too little of a gas, and what topping up buys.

Where the volumes are known the machine settles anew with the added gas (`mixjt.circuit.settled`); else all that is charged is
taken to circulate, and the pressures of the circuit are held.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from mixjt.bounds import finite_or_none
from mixjt.circuit.fixed_machine import FixedMachine, Settled
from mixjt.circuit.machine import ThrottleCircuit
from mixjt.circuit.settled import settle_machine
from mixjt.errors import MixjtError
from mixjt.fluid.fluid import Fluid
from mixjt.interrupt import keeping
from mixjt.studies.batch import batch_cooling
from mixjt.studies.charge.charge_request import ChargeRequest
from mixjt.studies.charge.drawn import Portions
from mixjt.studies.charge.filling import Step, at_bench

ADDED = 0.01  # of the mass of the charge


@dataclass(frozen=True)
class TopUp:
    """Changes that an added mass [kg] of a bottle brings: pressures [Pa], cooling [W], throttle inlet [K].

    standing is the pressure at rest on the bench, cooling_less the change of cooling with as much less of the bottle.
    None where it is not known.
    """

    name: str
    mass: float
    standing: float
    cooling: float | None = None
    cooling_less: float | None = None
    suction: float | None = None
    discharge: float | None = None
    throttle_inlet: float | None = None


@dataclass(frozen=True)
class TopUps:
    """One a bottle; settled says whether the machine settles anew, else the circuit's pressures are held."""

    rows: tuple[TopUp, ...]
    settled: bool

    def cooling_error(self, step: Step) -> float | None:
        """What an error of its mass does to the cooling [W], the worse way."""
        row = next(one for one in self.rows if one.name == step.bottle.name)
        known = [abs(change) for change in (row.cooling, row.cooling_less) if change is not None]
        return max(known) / row.mass * step.error if known else None


def top_ups(
    fluid: Fluid,
    given: Portions,
    request: ChargeRequest,
    circuit: ThrottleCircuit,
    machine: FixedMachine | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> TopUps:
    """What one hundredth of the charge more does, bottle by bottle.

    Parameters
    ----------
    fluid : Fluid
        What circulates.
    given : Portions
        Of the charge.
    request : ChargeRequest
    circuit : ThrottleCircuit
    machine : FixedMachine, optional
    progress : function, optional
        Called with done and total.
    """
    model, charged = fluid.model, given.given
    mass = ADDED * float(charged @ model.molar_masses)
    more = np.array([charged + bottle.z * mass / (bottle.z @ model.molar_masses) for bottle in given.bottles])
    standing, _ = at_bench(model, charged, request)
    rows = [
        TopUp(bottle.name, mass, at_bench(model, amounts, request)[0] - standing)
        for bottle, amounts in zip(given.bottles, more, strict=True)
    ]
    if machine is None:
        fewer = np.maximum(2.0 * charged - more, 0.0)
        return TopUps(tuple(_with_pressures_held(fluid, more, fewer, circuit, rows)), False)
    return TopUps(tuple(_settled_anew(fluid, more, machine, rows, progress)), True)


def _with_pressures_held(fluid: Fluid, more, fewer, circuit: ThrottleCircuit, rows: Sequence[TopUp]):
    charges = np.vstack([more, fewer])
    try:
        blends = np.vstack([fluid.z, charges / charges.sum(axis=1, keepdims=True)])
        power = batch_cooling(fluid.model, blends, circuit).cooling_power
    except MixjtError:
        return rows
    changes = [finite_or_none(one) for one in power[1:] - power[0]]
    pairs = zip(changes[: len(rows)], changes[len(rows) :], strict=True)
    return [replace(row, cooling=up, cooling_less=down) for row, (up, down) in zip(rows, pairs, strict=True)]


def _settled_anew(fluid: Fluid, more, machine: FixedMachine, rows: Sequence[TopUp], progress):
    """Each settles from the machine as it is; a row whose machine does not settle keeps what is known without it."""
    cold, found = machine.circuit.cold_temperature, list(rows)
    with keeping():
        base = settled_or_none(fluid, machine, cold)
        for k, amounts in enumerate(more):
            if progress:
                progress(k, len(rows))
            new = base and settled_or_none(fluid, replace(machine, charge=amounts), cold, base)
            found[k] = _changed(rows[k], base, new) if new else rows[k]
    return found


def settled_or_none(fluid: Fluid, machine: FixedMachine, cold: float, start: Settled | None = None) -> Settled | None:
    """The settled machine; None where it settles nowhere."""
    try:
        return settle_machine(fluid, machine, cold, start)
    except MixjtError:
        return None


def _changed(row: TopUp, base: Settled, new: Settled) -> TopUp:
    return replace(
        row,
        cooling=new.cooling_power - base.cooling_power,
        suction=new.suction_pressure - base.suction_pressure,
        discharge=new.discharge_pressure - base.discharge_pressure,
        throttle_inlet=new.throttle_inlet.temperature - base.throttle_inlet.temperature,
    )
