"""Where a machine with a fixed compressor, throttle and charge settles for a given cold-end temperature.

Two conditions fix suction and discharge pressure: the compressor must move what the throttle passes,

    molar flow of the compressor (p_low, p_high) = molar flow of the throttle (p_low, p_high),

and of each gas the circuit must hold what was charged (`mixjt.circuit.inventory`). Cold parts and oil keep back heavy gases,
so the composition in circulation is a result too: with c gases there are c conditions more and as many unknowns, which are
the gases' partial pressures in the suction.

Without volumes the suction pressure is kept at that of the case, as if the charge were adjusted, and the blend circulates as
stated. The cooling follows from the conductance of the recuperator, which is one and the same at every temperature and
pressure (`mixjt.circuit.held_recuperator`). Where the cold end is still warm it exchanges little, and the throttle's inlet
is hardly colder than the aftercooler's outlet.

Assumptions: quasi-steady; those of the inventory; pressure drops in proportion to pressure. Balances alone.
"""

from __future__ import annotations

import contextlib
import math
from dataclasses import replace

import numpy as np

from mixjt.circuit.fixed_machine import (
    AtPressures,
    FixedMachine,
    HeldAt,
    Settled,
    at_pressures,
    composed,
    misses,
    starting_blend,
)
from mixjt.circuit.held_recuperator import CooledMetal
from mixjt.errors import ConvergenceError, InputError, UnreachableError
from mixjt.fluid.broyden import MOST_TRIALS, by_broyden
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.roots import root_between

LOWEST_SUCTION, HIGHEST_DISCHARGE = 5e3, 80e5  # Pa, between which pressures are sought
TOLERANCE = 1e-4  # of ln p
ACCEPTED = 1e-3  # of the logarithms of flows and of charge
BALANCED = 1e-2  # of the logarithm of flows after bracketing, where the compressor's flow falls steeply
LOG_PRESSURES = math.log(1e-6 * LOWEST_SUCTION), math.log(HIGHEST_DISCHARGE)  # of a gas, and of all of them
MOST_ROUNDS, PART = 30, 0.7  # of compositions, and of what each is off that the next makes good
LONGEST_STEP = 0.25  # in ln p
ALONE = 10  # trials of a discharge pressure alone, which can be bracketed


def settle_machine(
    fluid: Fluid,
    machine: FixedMachine,
    cold_temperature: float,
    start: Settled | None = None,
    metal: CooledMetal | None = None,
) -> Settled:
    """Pressures, flow and cooling of a machine whose evaporator outlet has a temperature [K].

    Parameters
    ----------
    fluid : Fluid
        The blend that circulates, or with a charge one that may, to start from.
    machine : FixedMachine
    cold_temperature : float
        [K], at most that of the aftercooler's outlet.
    start : Settled, optional
        A solution nearby, which saves most of the work.
    metal : CooledMetal, optional
        That is being cooled; none where the cold end stays at its temperature.

    Raises
    ------
    InputError
    UnreachableError
        Where no pressures up to 80 bar satisfy all conditions.
    ConvergenceError
    """
    if not 0.0 < cold_temperature <= machine.circuit.warm_temperature:
        raise InputError(
            f"the cold end must be at most as warm as the aftercooler's outlet, "
            f"{machine.circuit.warm_temperature:.5g} K; got {cold_temperature:.5g} K"
        )
    at = HeldAt(cold_temperature, metal, [start] if start else [])
    found = _settled_at_once(fluid, machine, at, start)
    if found:
        return found
    if machine.charge is None:
        return _at_suction(fluid, machine, at, machine.circuit.suction_pressure, start).settled
    return _settled_nested(starting_blend(start.fluid if start else fluid, machine.charge), machine, at, start)


def _settled_at_once(fluid, machine: FixedMachine, at: HeldAt, start: Settled | None) -> Settled | None:
    """All conditions together by Broyden's method; None where that does not converge.

    Unknowns are logarithms: of the discharge pressure where there is a tube, then of the partial pressures in the suction
    where there is a charge.
    """
    free, charge, circuit = int(machine.tube is not None), machine.charge, machine.circuit
    present = np.zeros(fluid.z.size, dtype=bool) if charge is None else charge > 0.0

    def trial(logs: np.ndarray) -> tuple[Settled, np.ndarray]:
        pressures = np.exp(np.clip(logs, *LOG_PRESSURES))
        parts = pressures[free:]
        low = float(parts.sum()) if parts.size else circuit.suction_pressure
        high = max(pressures[0], machine.smallest_ratio * low) if free else circuit.discharge_pressure
        found = at_pressures(composed(fluid, present, parts) if parts.size else fluid, machine, at, low, float(high))
        if found.settled is None:
            raise UnreachableError("the compressor moves nothing")
        return found.settled, np.array([*[found.surplus][:free], *misses(found.settled, machine)])

    guess = (start.fluid if start else fluid).z[present]
    if charge is not None:
        guess = starting_blend(start.fluid if start else fluid, charge).z[present]
    near = start or circuit
    parts = charge is not None
    logs = np.log([*[near.discharge_pressure][:free], *(near.suction_pressure * guess)])
    steepness = start.steepness if start and start.steepness is not None else _first_steepness(guess)[1 - free :, 1 - free :]
    with contextlib.suppress(UnreachableError):
        found = by_broyden(trial, logs, steepness, ACCEPTED, LONGEST_STEP, MOST_TRIALS if parts else ALONE)
        return found and replace(found[0], steepness=found[1])
    return None


def _first_steepness(z: np.ndarray) -> np.ndarray:
    """Roughly: flow is in proportion to suction pressure and the throttle's to discharge pressure, contents to their own."""
    steepness = np.eye(1 + z.size)
    steepness[0] = [-1.3, *z]
    steepness[1:, 0] = 0.3
    return steepness


def _settled_nested(fluid, machine: FixedMachine, at: HeldAt, start: Settled | None) -> Settled:
    """The composition from round to round, each with the pressures at which all of the charge fits."""
    present, z = machine.charge > 0.0, fluid.z[machine.charge > 0.0]
    for _ in range(MOST_ROUNDS):
        found = _settled_total(composed(fluid, present, z), machine, at, start)
        off = misses(found, machine)
        if np.max(np.abs(off)) < ACCEPTED:
            return found
        z, start = z * np.exp(-PART * off), found
    raise ConvergenceError(
        "the composition in circulation", "try a slightly different cold end or charge", temperature=at.cold
    )


def _settled_total(fluid, machine: FixedMachine, at: HeldAt, start: Settled | None) -> Settled:
    """Suction pressure at which the charge fits as a whole, with the throttle balanced at every trial."""
    charge, found = machine.charge.sum(), {}

    def surplus_charge(log_low: float) -> float:
        trial = _at_suction(fluid, machine, at, math.exp(log_low), found.get("last", start))
        found["last"] = trial.settled
        return math.log(trial.settled.inventory.amounts.sum() / charge)

    low, high = _bracket(surplus_charge, math.log((start or machine.circuit).suction_pressure))
    fitting = root_between(surplus_charge, low, high, TOLERANCE, 1e-12)
    return _at_suction(fluid, machine, at, math.exp(fitting), found["last"]).settled


def _bracket(function, start: float) -> tuple[float, float]:
    """Two suction pressures (logarithms) between which more charge than there is turns into less."""
    step, at = 0.15, start
    value = function(at)
    direction = -1.0 if value > 0.0 else 1.0
    for _ in range(24):
        other = at + direction * step
        if other < math.log(LOWEST_SUCTION):
            raise UnreachableError(
                "the charge does not fit: even at a suction of 0.05 bar the circuit holds more than it; "
                "check charge and volumes"
            )
        changed = function(other)
        if changed * value <= 0.0:
            return min(at, other), max(at, other)
        at, value, step = other, changed, 1.6 * step
    raise UnreachableError("no suction pressure fits the charge; check charge and volumes")


def _at_suction(fluid, machine: FixedMachine, at: HeldAt, low: float, start: Settled | None) -> AtPressures:
    """The machine at a suction pressure [Pa]; its discharge pressure that of the case where no tube says otherwise."""
    if machine.tube is not None:
        return _balanced(fluid, machine, at, low, start)
    found = at_pressures(fluid, machine, at, low, machine.circuit.discharge_pressure)
    if found.settled is None:
        raise UnreachableError(f"at a suction of {low / 1e5:.3g} bar the compressor moves nothing")
    return found


def _balanced(fluid, machine: FixedMachine, at: HeldAt, low: float, start) -> AtPressures:
    """Discharge pressure at which the compressor moves what the throttle passes, at a suction pressure [Pa]."""
    trials = {}

    def surplus(log_high: float) -> float:
        trial = at_pressures(fluid, machine, at, low, math.exp(log_high))
        trials[log_high] = trial
        return trial.surplus

    first = (start or machine.circuit).discharge_pressure
    lowest, highest = math.log(machine.smallest_ratio * low), math.log(HIGHEST_DISCHARGE)
    a = min(max(math.log(first), lowest), highest)
    value, step = surplus(a), 0.1
    while True:  # more pressure lets the throttle pass more and the compressor move less
        b = min(max(a + math.copysign(step, value), lowest), highest)
        if b == a:
            raise UnreachableError(_stuck(low, value, at.cold))
        other = surplus(b)
        if other * value <= 0.0:
            break
        a, value, step = b, other, 2.0 * step
    log_high = root_between(surplus, min(a, b), max(a, b), TOLERANCE, 1e-12)
    found = trials[log_high]
    if found.settled is None or abs(found.surplus) > BALANCED:
        raise UnreachableError(  # the flows do not meet: beyond this pressure the compressor has no answer
            f"at a suction of {low / 1e5:.3g} bar and a cold end of {at.cold:.4g} K the compressor stops delivering at "
            f"{math.exp(log_high) / 1e5:.3g} bar, before the throttle passes as much as it moves; take a shorter or wider "
            "capillary"
        )
    return found


def _stuck(low: float, surplus: float, cold: float) -> str:
    place = f"at a suction of {low / 1e5:.3g} bar and a cold end of {cold:.4g} K"
    if surplus > 0.0:
        return (
            f"{place} the throttle is too tight: the compressor would push the discharge beyond "
            f"{HIGHEST_DISCHARGE / 1e5:.0f} bar; take a shorter or wider capillary, or a smaller charge"
        )
    return f"{place} the throttle is too wide to build up any pressure; take a longer or narrower capillary"
