"""The machine on a stretch of its run: where it settles with what was imposed on it, and what its gauges then show.

Unknown are the discharge pressure (where there is a capillary), the partial pressures in the suction (where the charge is
known) and the cold end's temperature; conditions that the throttle passes what the compressor moves, that the circuit holds
what was charged (both as in `mixjt.circuit.settled`), and the balance of the cold end

    cooling = heater - C dT/dt,

C being the heat capacity of the cold end, and dT/dt what the log shows; the recuperator's own copper gives its heat to the
recuperator. Balances alone.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from mixjt.circuit.fixed_machine import FixedMachine, HeldAt, Settled, at_pressures, composed, starting_blend
from mixjt.circuit.held_recuperator import CooledMetal
from mixjt.errors import ConvergenceError, UnreachableError
from mixjt.fluid.broyden import by_broyden
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.standstill import standstill_pressure
from mixjt.parts.oil import dissolved
from mixjt.studies.trial.built import COOLING, HELD_BACK, THROTTLE, BuiltMachine, Departure, changed

REST_ROUNDS, SAME_REST, BELOW_DEW = 80, 1e-3, 0.95  # of the gas over the oil
ACCEPTED = 1e-3  # of the logarithms of flow and charge, and of the balance over BALANCED
BALANCED = 20.0  # W
KELVINS = 50.0  # of the cold end, counted as one logarithm
LONGEST_STEP = 0.25
MOST_TRIALS = 60
PRESSURES = math.log(5e3), math.log(80e5)  # between which they are sought
COLDEST = 60.0  # K
LOGS = "suction", "discharge", "current", "power"  # read as logarithms, whose errors are relative


@dataclass(frozen=True)
class Imposed:
    """What a stretch imposes: ambient [K], heater [W], how fast the cold end warms [K/s], from which temperature on [K].

    voltage [V] is that of the supply where it was read. at_rest: the compressor stands and all is at ambient. cold, suction and discharge are what was measured of them, to start
    from, and to hold where the model does not give them; metal is what cools on the way, None where it stays or is not known.
    """

    ambient: float
    heater: float = 0.0
    rate: float = 0.0
    cold: float = 150.0
    suction: float | None = None
    discharge: float | None = None
    voltage: float | None = None
    at_rest: bool = False
    metal: CooledMetal | None = None


@dataclass(frozen=True, eq=False)
class Run:
    """A stretch of the machine: shown by place (pressures, power and current as logarithms, temperatures [K]).

    unknowns (u,), None at rest, say where it has settled, with which departures theta (k,); steepness (u, u) of the conditions
    there and how unknowns follow the departures (u, k), as far as it is known, serve whoever settles nearby.
    """

    shown: Mapping[str, float]
    theta: np.ndarray
    unknowns: np.ndarray | None = None
    steepness: np.ndarray | None = None
    follows: np.ndarray | None = None


@dataclass(frozen=True, eq=False)
class Stood:
    """A machine at a set of unknowns: settled there, with its surplus of flow."""

    settled: Settled
    surplus: float


@dataclass(frozen=True, eq=False)
class Stretched:
    """A machine with departures theta (k,) on one stretch."""

    built: BuiltMachine
    known: tuple[Departure, ...]
    theta: np.ndarray
    imposed: Imposed

    def __post_init__(self):
        machine = changed(self.built, self.known, self.theta)
        circuit = replace(machine.machine.circuit, ambient_temperature=self.imposed.ambient)
        if self.imposed.voltage and circuit.compressor.supply_voltage:
            circuit = replace(circuit, compressor=replace(circuit.compressor, supply_voltage=self.imposed.voltage))
        object.__setattr__(self, "there", replace(machine, machine=replace(machine.machine, circuit=circuit)))

    @property
    def balanced(self) -> bool:
        """Whether the cold end's temperature follows from its balance."""
        return self.imposed.rate == 0.0 or self.built.mass is not None

    def departure(self, name: str) -> float:
        """0 where it is none of this machine."""
        return next((float(x) for one, x in zip(self.known, self.theta, strict=True) if one.name == name), 0.0)

    def charge(self) -> np.ndarray:
        """(c,) [mol] with its departures."""
        charge = np.array(self.built.machine.charge)
        for one, x in zip(self.known, self.theta, strict=True):
            if one.gas is not None:
                charge[one.gas] *= math.exp(x)
        return charge

    def standing(self, unknowns: np.ndarray, near: Stood | None = None) -> Stood:
        """What the parts do there, near what they do elsewhere; UnreachableError where the compressor moves nothing."""
        machine, fluid = self.there.machine, self.there.fluid
        rest = list(unknowns)
        high = self.imposed.discharge or machine.circuit.discharge_pressure
        if machine.tube:
            high = math.exp(min(max(rest.pop(0), PRESSURES[0]), PRESSURES[1]))
        cold = rest.pop() * KELVINS if self.balanced else self.imposed.cold
        low = self.imposed.suction or machine.circuit.suction_pressure
        if rest:
            parts = np.exp(np.clip(rest, PRESSURES[0] - 14.0, PRESSURES[1]))
            fluid, low = composed(fluid, machine.charge > 0.0, parts), float(parts.sum())
        cold = min(max(cold, COLDEST), machine.circuit.warm_temperature)
        high = max(high, machine.smallest_ratio * low)
        at = HeldAt(cold, self.imposed.metal, [near.settled] if near else [])
        found = at_pressures(fluid, machine, at, low, high)
        if found.settled is None:
            raise UnreachableError("the compressor moves nothing")
        return Stood(found.settled, found.surplus)

    def misses(self, stood: Stood) -> np.ndarray:
        """Of the conditions, one for each unknown."""
        machine, settled, found = self.built.machine, stood.settled, []
        if machine.tube:
            found.append(stood.surplus - self.departure(THROTTLE))
        if machine.charge is not None:
            present, share = machine.charge > 0.0, self.departure(HELD_BACK)
            volumes = machine.volumes
            other = settled.contained.inventory(replace(volumes, slip=self.built.other_slip), machine.oil)
            one, two = np.log(settled.inventory.amounts[present]), np.log(other.amounts[present])
            found += list((1.0 - share) * one + share * two - np.log(self.charge()[present]))
        if self.balanced:
            capacity = self.built.mass.end_capacity(settled.cold_temperature) if self.imposed.rate else 0.0
            cooling = settled.cooling_power * math.exp(self.departure(COOLING))
            found.append((cooling - self.imposed.heater + float(capacity) * self.imposed.rate) / BALANCED)
        return np.array(found)

    def start(self) -> np.ndarray:
        """Unknowns from what was measured."""
        machine, imposed, found = self.there.machine, self.imposed, []
        circuit = machine.circuit
        if machine.tube:
            found.append(math.log(imposed.discharge or circuit.discharge_pressure))
        if machine.charge is not None:
            z = starting_blend(self.there.fluid, machine.charge).z[machine.charge > 0.0]
            found += list(np.log((imposed.suction or circuit.suction_pressure) * z))
        return np.array([*found, imposed.cold / KELVINS][: len(found) + self.balanced])


def run_on(stretch: Stretched, near: Run | None = None, same: bool = True) -> Run:
    """Where the machine settles on a stretch, near a run of it, or of another that is not the same stretch.

    Raises
    ------
    UnreachableError, ConvergenceError
        Where it settles nowhere.
    """
    if stretch.imposed.at_rest:
        return Run(_standing_still(stretch), stretch.theta)

    last = {}

    def trial(unknowns):
        stood = last["stood"] = stretch.standing(unknowns, last.get("stood"))
        last["unknowns"] = np.array(unknowns)
        return stood, stretch.misses(stood)

    start, steepness = stretch.start(), near.steepness if near else None
    if near and same:
        start = near.unknowns if near.follows is None else near.unknowns + near.follows @ (stretch.theta - near.theta)
    found = by_broyden(trial, start, steepness, ACCEPTED, LONGEST_STEP, MOST_TRIALS) if start.size else (trial(start)[0], None)
    if found is None:
        raise ConvergenceError(
            "the machine on a stretch of the log", "give a log without that stretch, or check what the case says of the machine",
            temperature=stretch.imposed.cold,
        )  # fmt: skip
    follows = near.follows if near and same else None
    return Run(shown(found[0].settled), stretch.theta, last["unknowns"], found[1], follows)


def shown(settled: Settled) -> dict[str, float]:
    """What the gauges of a running machine show, by place."""
    compression = settled.compression
    throttled = settled.fluid.hp(settled.throttle_inlet.enthalpy, settled.contained.evaporated.pressure)
    found = {
        "suction": math.log(settled.suction_pressure),
        "discharge": math.log(settled.discharge_pressure),
        "discharge line": compression.discharge_temperature,
        "shell": compression.shell_temperature,
        "aftercooler outlet": settled.contained.cooled.temperature,
        "throttle inlet": settled.throttle_inlet.temperature,
        "throttle outlet": throttled.temperature,
        "evaporator": settled.cold_temperature,
        "suction line": settled.compressor_inlet.temperature,
        "power": math.log(compression.electrical_power),
    }
    return found if compression.supply_current is None else found | {"current": math.log(compression.supply_current)}


def _standing_still(stretch: Stretched) -> dict[str, float]:
    """Both gauges of a charge that stands warm; nothing where the charge is not known."""
    machine = stretch.built.machine
    if machine.charge is None:
        return {}
    charge = stretch.charge()
    fluid, volume = stretch.there.fluid.of(charge / charge.sum()), machine.volumes.total / charge.sum()
    pressure = math.log(standstill_pressure(fluid, stretch.imposed.ambient, volume))
    pressure = 0.5 * (pressure + math.log(_over_oil(machine, fluid, charge, stretch.imposed.ambient)))
    return {"suction": pressure, "discharge": pressure}


def rest_doubt(built: BuiltMachine, ambient: float) -> float:
    """By how much the logarithm of the pressure at rest may be off, up or down, for what the oil has taken up by then."""
    machine = built.machine
    if machine.charge is None or machine.oil is None:
        return 0.0
    fluid = built.fluid.of(machine.charge / machine.charge.sum())
    dry = standstill_pressure(fluid, ambient, machine.volumes.total / machine.charge.sum())
    return 0.5 * math.log(dry / _over_oil(machine, fluid, machine.charge, ambient))


def _below_dew(over: Fluid, ambient: float, pressure: float) -> float:
    """The pressure [Pa], at most a little below the dew point: above it the oil would take up without end what it takes out of the gas."""
    if not over.tp(ambient, pressure / BELOW_DEW).liquids:
        return pressure
    dew = over.dew_pressure(ambient)
    return pressure if math.isnan(dew) else min(pressure, BELOW_DEW * dew)


def _over_oil(machine: FixedMachine, fluid: Fluid, charge: np.ndarray, ambient: float) -> float:
    """Pressure [Pa] of a charge (c,) [mol] at rest with oil that has taken up all it can, which takes hours."""
    gas, present = charge.copy(), charge > 0.0
    for _ in range(REST_ROUNDS):
        over = fluid.of(gas / gas.sum())
        pressure = standstill_pressure(over, ambient, machine.volumes.total / gas.sum())
        if machine.oil is None or machine.oil.mass == 0.0:
            return pressure
        held = dissolved(machine.oil, over, ambient, _below_dew(over, ambient, pressure))
        left = charge.copy()
        left[present] *= gas[present] / (gas[present] + held[present])
        if np.max(np.abs(left - gas)[present] / gas[present]) < SAME_REST:
            return pressure
        gas = np.sqrt(gas * left)  # half of the way in logarithms: the oil takes up more than in proportion
    raise ConvergenceError("gas in the oil at rest", "leave the oil out of the case", temperature=ambient)
