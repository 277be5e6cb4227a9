"""A machine whose compressor, throttle, recuperator and charge are fixed, and what it does at a pair of pressures.

Which pressures these are is settled by `mixjt.circuit.settled`. Assumptions: quasi-steady; those of the inventory; pressure
drops in proportion to pressure. Balances alone.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from mixjt.circuit.held_recuperator import CooledMetal, HeldRecuperator, Pressures, hold_recuperator
from mixjt.circuit.inventory import Contained, Inventory, Volumes
from mixjt.circuit.machine import ThrottleCircuit
from mixjt.circuit.solve import solve_circuit
from mixjt.errors import ConvergenceError, InputError, UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.states import State
from mixjt.parts.aftercooler import aftercooler_outlet
from mixjt.parts.compressor.compression import CompressionResult, compress
from mixjt.parts.oil import Oil
from mixjt.parts.throttle.capillary import Capillary, flow_of_length
from mixjt.parts.throttle.expansion import ExpansionLine, expansion_line

LINE_POINTS = 16  # of the throttle's expansion
SMALLEST_RATIO = 1.05
WARM_ROUNDS, SAME_WARM = 12, 2e-3  # K, of the aftercooler's outlet between two of them; each leaves a tenth of the error
LEAST_SHARE = 1e-3  # of a gas charged, of which the blend to start from has less


@dataclass(frozen=True, eq=False)
class FixedMachine:
    """A compressor, a recuperator of a conductance [W/K], a throttle, and a charge (c,) [mol] in volumes.

    circuit gives temperatures at the warm end, compressor, insulation and relative pressure drops; its pressures are
    those of the design: the suction pressure is kept where there is no charge, the discharge pressure where there is no tube,
    as if a needle valve were adjusted.

    Raises
    ------
    InputError
        For a charge without volumes or of no gas.
    """

    circuit: ThrottleCircuit
    tube: Capillary | None
    conductance: float
    volumes: Volumes | None = None
    oil: Oil | None = None
    charge: np.ndarray | None = None

    def __post_init__(self):
        if self.charge is None:
            return
        charge = np.array(self.charge, dtype=float)
        if self.volumes is None or charge.ndim != 1 or not (np.all(charge >= 0.0) and 0.0 < charge.sum() < math.inf):
            raise InputError("a charge is some amount of gases, at least 0 of each, in volumes that are stated")
        charge.setflags(write=False)
        object.__setattr__(self, "charge", charge)

    @cached_property
    def high_share(self) -> float:
        """Throttle inlet over discharge pressure."""
        return self.circuit.throttle_pressure / self.circuit.discharge_pressure

    @cached_property
    def warm_share(self) -> float:
        """Aftercooler outlet over discharge pressure."""
        return self.circuit.aftercooler_pressure / self.circuit.discharge_pressure

    @cached_property
    def low_share(self) -> float:
        """Evaporator over suction pressure."""
        return self.circuit.evaporator_pressure / self.circuit.suction_pressure

    @property
    def smallest_ratio(self) -> float:
        """Of discharge over suction pressure, which still leaves some to the throttle."""
        return SMALLEST_RATIO * self.low_share / self.high_share


def held_conductance(fluid: Fluid, circuit: ThrottleCircuit) -> float:
    """Of the recuperator that a machine has [W/K]: that stated, or the one that the circuit takes for its approach.

    Raises
    ------
    UnreachableError
        Where an approach is stated at which the circuit does not cool.
    """
    if circuit.recuperator_conductance is not None:
        return circuit.recuperator_conductance
    try:
        return solve_circuit(fluid, circuit).recuperator_conductance
    except UnreachableError as error:
        raise UnreachableError(
            f"how large the recuperator is does not follow from its approach: {error}; or state [recuperator] conductance"
        ) from error


@dataclass(frozen=True, eq=False)
class Settled:
    """A machine settled at a cold-end temperature [K]; pressures [Pa].

    fluid is what circulates, contained what fills the parts; line is the expansion through the throttle, None where no tube
    is known; inventory what the circuit holds, None where its charge is not
    known; steepness (1 + k, 1 + k) how the misses of the conditions change with the logarithms of discharge and partial
    pressures of k gases, for whoever settles nearby.
    """

    fluid: Fluid
    cold_temperature: float
    suction_pressure: float
    discharge_pressure: float
    recuperator: HeldRecuperator
    contained: Contained
    line: ExpansionLine | None
    inventory: Inventory | None
    steepness: np.ndarray | None = None

    @property
    def cooling_capacity(self) -> float:
        """What the evaporator takes up [J/mol]; may be negative: then this temperature cannot be held."""
        return self.recuperator.cooling

    @property
    def cooling_power(self) -> float:
        """[W]"""
        return self.cooling_capacity * self.molar_flow

    @property
    def from_recuperator_metal(self) -> float:
        """Heat that the recuperator's metal gives off [W]."""
        return self.recuperator.from_metal * self.molar_flow

    @property
    def molar_flow(self) -> float:
        """[mol/s]"""
        return self.recuperator.flow

    @property
    def compression(self) -> CompressionResult:
        """What the compressor does."""
        return self.recuperator.compression

    @property
    def compressor_inlet(self) -> State:
        """Behind the recuperator's low side."""
        return self.recuperator.compressor_inlet

    @property
    def throttle_inlet(self) -> State:
        """Behind the recuperator's high side."""
        return self.recuperator.throttle_inlet

    @property
    def pressure_ratio(self) -> float:
        """Discharge over suction pressure."""
        return self.discharge_pressure / self.suction_pressure


@dataclass(frozen=True, eq=False)
class HeldAt:
    """Where a machine is settled: the cold end [K], the metal it cools, and what it did at pressures tried so far."""

    cold: float
    metal: CooledMetal | None
    tried: list[Settled]


@dataclass(frozen=True)
class AtPressures:
    """What a pair of pressures implies: surplus is ln(compressor flow / throttle flow)."""

    settled: Settled
    surplus: float


def composed(fluid: Fluid, present: np.ndarray, amounts: np.ndarray) -> Fluid:
    """The blend in which the gases present have these amounts."""
    z = np.zeros(present.size)
    z[present] = amounts / amounts.sum()
    return fluid.of(z)


def misses(settled: Settled, machine: FixedMachine) -> np.ndarray:
    """Logarithms of what is held over what was charged, of each gas present; none without a charge."""
    if machine.charge is None:
        return np.zeros(0)
    present = machine.charge > 0.0
    return np.log(settled.inventory.amounts[present] / machine.charge[present])


def starting_blend(fluid: Fluid, charge: np.ndarray) -> Fluid:
    """A blend to start from with all gases charged (c,) [mol] and no others."""
    charged = charge / charge.sum()
    return composed(fluid, charge > 0.0, np.maximum(fluid.z, LEAST_SHARE * charged)[charge > 0.0])


def at_pressures(fluid, machine: FixedMachine, at: HeldAt, low: float, high: float) -> AtPressures:
    """One pair of pressures: cooling by the recuperator, both flows, inventory."""
    circuit = machine.circuit
    if high <= low:
        raise UnreachableError(
            f"the suction would have to stand at {low / 1e5:.3g} bar, which is not below the discharge of {high / 1e5:.3g} bar: "
            "less charge, or larger volumes"
        )
    pressures = Pressures(machine.high_share * high, machine.warm_share * high, machine.low_share * low, low)

    def compressed(suction: State) -> CompressionResult:
        return compress(fluid, suction, high, circuit.compressor, circuit.ambient_temperature)

    near = at.tried[-1] if at.tried else None
    held = near and near.recuperator
    if held is not None:
        circuit = _aftercooled(fluid, circuit, pressures, held)
    for _ in range(WARM_ROUNDS):
        try:
            held = hold_recuperator(fluid, circuit, pressures, at.cold, machine.conductance, compressed, at.metal, held)
        except UnreachableError:
            return AtPressures(None, -20.0)  # nothing is moved, or the gas would be far too hot: the pressure is too high
        before, circuit = circuit, _aftercooled(fluid, circuit, pressures, held)
        if abs(circuit.aftercooler_approach - before.aftercooler_approach) < SAME_WARM:
            break
    else:
        raise ConvergenceError("the aftercooler of a settled machine", "try a slightly different cold end", temperature=at.cold)
    line, surplus = None, 0.0
    if machine.tube is not None:
        line = expansion_line(fluid, held.throttle_inlet, pressures.evaporator, LINE_POINTS, near=near and near.line)
        surplus = math.log(held.flow * fluid.molar_mass / flow_of_length(line, machine.tube))
    filled = _contained(fluid, circuit, at.cold, pressures, held)
    inventory = None if machine.charge is None else filled.inventory(machine.volumes, machine.oil)
    settled = Settled(fluid, at.cold, low, high, held, filled, line, inventory)
    at.tried.append(settled)
    return AtPressures(settled, surplus)


def _aftercooled(fluid, circuit: ThrottleCircuit, pressures: Pressures, held: HeldRecuperator) -> ThrottleCircuit:
    """The circuit with the approach that its aftercooler's size leaves to what the compressor sends it; that stated without a size."""
    if circuit.aftercooler is None:
        return circuit
    ambient, moved = circuit.ambient_temperature, held.compression
    outlet = aftercooler_outlet(fluid, moved.discharge, pressures.cooled, moved.molar_flow, circuit.aftercooler, ambient)
    return replace(circuit, aftercooler_approach=outlet - ambient)


def _contained(fluid, circuit: ThrottleCircuit, cold: float, pressures: Pressures, held: HeldRecuperator) -> Contained:
    """What fills the parts."""
    compression = held.compression
    high, low = held.sides
    return Contained(
        fluid=fluid,
        ambient=circuit.ambient_temperature,
        compressor=circuit.compressor,
        shell_temperature=compression.shell_temperature,
        mass_flow=compression.mass_flow,
        suction_pressure=pressures.suction,
        discharge=compression.discharge,
        cooled=fluid.tp(circuit.warm_temperature, pressures.cooled),
        throttle_outlet=fluid.hp(held.throttle_inlet.enthalpy, pressures.evaporator),
        evaporated=fluid.tp(cold, pressures.evaporator),
        high=high,
        low=low,
    )
