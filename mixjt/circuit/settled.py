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
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from mixjt.circuit.held_recuperator import CooledMetal, HeldRecuperator, Pressures, hold_recuperator
from mixjt.circuit.inventory import Contained, Inventory, Volumes
from mixjt.circuit.machine import ThrottleCircuit
from mixjt.circuit.solve import solve_circuit
from mixjt.errors import ConvergenceError, InputError, UnreachableError
from mixjt.fluid.broyden import by_broyden
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.roots import root_between
from mixjt.fluid.states import State
from mixjt.parts.compressor.compression import CompressionResult, compress
from mixjt.parts.oil import Oil
from mixjt.parts.throttle.capillary import Capillary, flow_of_length
from mixjt.parts.throttle.expansion import expansion_line

LINE_POINTS = 24  # of the throttle's expansion
LOWEST_SUCTION, HIGHEST_DISCHARGE = 5e3, 80e5  # Pa, between which pressures are sought
SMALLEST_RATIO = 1.05
TOLERANCE = 1e-4  # of ln p
ACCEPTED = 1e-3  # of the logarithms of flows and of charge
BALANCED = 1e-2  # of the logarithm of flows after bracketing, where the compressor's flow falls steeply
LOG_PRESSURES = math.log(1e-6 * LOWEST_SUCTION), math.log(HIGHEST_DISCHARGE)  # of a gas, and of all of them
LEAST_SHARE = 1e-3  # of a gas charged, of which the blend to start from has less
MOST_ROUNDS, PART = 30, 0.7  # of compositions, and of what each is off that the next makes good
LONGEST_STEP = 0.25  # in ln p


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

    fluid is what circulates; inventory what the circuit holds, None where its charge is not known; steepness (1 + k, 1 + k)
    how the misses of the conditions change with the logarithms of discharge and partial pressures of k gases, for whoever
    settles nearby.
    """

    fluid: Fluid
    cold_temperature: float
    suction_pressure: float
    discharge_pressure: float
    recuperator: HeldRecuperator
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
class _Place:
    """Where a machine is settled: the cold end [K], the metal it cools, and the recuperators held so far."""

    cold: float
    metal: CooledMetal | None
    held: list[HeldRecuperator]


@dataclass(frozen=True)
class _AtPressures:
    """What a pair of pressures implies: surplus is ln(compressor flow / throttle flow)."""

    settled: Settled
    surplus: float


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
    at = _Place(cold_temperature, metal, [start.recuperator] if start else [])
    found = _settled_at_once(fluid, machine, at, start)
    if found:
        return found
    if machine.charge is None:
        return _at_suction(fluid, machine, at, machine.circuit.suction_pressure, start).settled
    return _settled_nested(starting_blend(start.fluid if start else fluid, machine.charge), machine, at, start)


def _settled_at_once(fluid, machine: FixedMachine, at: _Place, start: Settled | None) -> Settled | None:
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
        found = _trial(_of(fluid, present, parts) if parts.size else fluid, machine, at, low, float(high))
        if found.settled is None:
            raise UnreachableError("the compressor moves nothing")
        return found.settled, np.array([*[found.surplus][:free], *_misses(found.settled, machine)])

    guess = (start.fluid if start else fluid).z[present]
    if charge is not None:
        guess = starting_blend(start.fluid if start else fluid, charge).z[present]
    near = start or circuit
    logs = np.log([*[near.discharge_pressure][:free], *(near.suction_pressure * guess)])
    steepness = start.steepness if start and start.steepness is not None else _first_steepness(guess)[1 - free :, 1 - free :]
    with contextlib.suppress(UnreachableError):
        found = by_broyden(trial, logs, steepness, ACCEPTED, LONGEST_STEP)
        return found and replace(found[0], steepness=found[1])
    return None


def _of(fluid: Fluid, present: np.ndarray, amounts: np.ndarray) -> Fluid:
    """The blend in which the gases present have these amounts."""
    z = np.zeros(present.size)
    z[present] = amounts / amounts.sum()
    return fluid.of(z)


def _misses(settled: Settled, machine: FixedMachine) -> np.ndarray:
    """Logarithms of what is held over what was charged, of each gas present; none without a charge."""
    if machine.charge is None:
        return np.zeros(0)
    present = machine.charge > 0.0
    return np.log(settled.inventory.amounts[present] / machine.charge[present])


def starting_blend(fluid: Fluid, charge: np.ndarray) -> Fluid:
    """A blend to start from with all gases charged (c,) [mol] and no others."""
    charged = charge / charge.sum()
    return _of(fluid, charge > 0.0, np.maximum(fluid.z, LEAST_SHARE * charged)[charge > 0.0])


def _first_steepness(z: np.ndarray) -> np.ndarray:
    """Roughly: flow is in proportion to suction pressure and the throttle's to discharge pressure, contents to their own."""
    steepness = np.eye(1 + z.size)
    steepness[0] = [-1.3, *z]
    steepness[1:, 0] = 0.3
    return steepness


def _settled_nested(fluid, machine: FixedMachine, at: _Place, start: Settled | None) -> Settled:
    """The composition from round to round, each with the pressures at which all of the charge fits."""
    present, z = machine.charge > 0.0, fluid.z[machine.charge > 0.0]
    for _ in range(MOST_ROUNDS):
        found = _settled_total(_of(fluid, present, z), machine, at, start)
        misses = _misses(found, machine)
        if np.max(np.abs(misses)) < ACCEPTED:
            return found
        z, start = z * np.exp(-PART * misses), found
    raise ConvergenceError(
        "the composition in circulation", "try a slightly different cold end or charge", temperature=at.cold
    )


def _settled_total(fluid, machine: FixedMachine, at: _Place, start: Settled | None) -> Settled:
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


def _at_suction(fluid, machine: FixedMachine, at: _Place, low: float, start: Settled | None) -> _AtPressures:
    """The machine at a suction pressure [Pa]; its discharge pressure that of the case where no tube says otherwise."""
    if machine.tube is not None:
        return _balanced(fluid, machine, at, low, start)
    found = _trial(fluid, machine, at, low, machine.circuit.discharge_pressure)
    if found.settled is None:
        raise UnreachableError(f"at a suction of {low / 1e5:.3g} bar the compressor moves nothing")
    return found


def _balanced(fluid, machine: FixedMachine, at: _Place, low: float, start) -> _AtPressures:
    """Discharge pressure at which the compressor moves what the throttle passes, at a suction pressure [Pa]."""
    trials = {}

    def surplus(log_high: float) -> float:
        trial = _trial(fluid, machine, at, low, math.exp(log_high))
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


def _trial(fluid, machine: FixedMachine, at: _Place, low: float, high: float) -> _AtPressures:
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

    try:
        held = hold_recuperator(
            fluid, circuit, pressures, at.cold, machine.conductance, compressed, at.metal, at.held[-1] if at.held else None
        )
    except UnreachableError:
        return _AtPressures(None, -20.0)  # nothing is moved, or the gas would be far too hot: the pressure is too high
    at.held.append(held)
    surplus = 0.0
    if machine.tube is not None:
        line = expansion_line(fluid, held.throttle_inlet, pressures.evaporator, LINE_POINTS)
        surplus = math.log(held.flow * fluid.molar_mass / flow_of_length(line, machine.tube))
    settled = Settled(fluid, at.cold, low, high, held, _inventory(fluid, machine, at.cold, pressures, held))
    return _AtPressures(settled, surplus)


def _inventory(fluid, machine: FixedMachine, cold: float, pressures: Pressures, held: HeldRecuperator) -> Inventory | None:
    """What the circuit holds; None where its charge is not known."""
    if machine.charge is None:
        return None
    circuit, compression = machine.circuit, held.compression
    high, low = held.sides
    filled = Contained(
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
    return filled.inventory(machine.volumes, machine.oil)
