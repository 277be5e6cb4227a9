"""Where a machine with a fixed compressor, throttle and charge settles for a given cold-end temperature.

Two conditions fix suction and discharge pressure: the compressor must move what the throttle passes,

    molar flow of the compressor (p_low, p_high) = molar flow of the throttle (p_low, p_high),

and the charge must fit into the circuit's volumes, which hold gas or two-phase fluid at these pressures,

    sum of V_i / v_i (p_low, p_high) = charge.

Without volumes the suction pressure is kept at that of the case, as if the charge were adjusted. The cooling
follows from the conductance of the recuperator, which is one and the same at every temperature and pressure
(`mixjt.circuit.held_recuperator`). Where the cold end is still warm it exchanges little, and the throttle's inlet is
hardly colder than the aftercooler's outlet.

Assumptions: quasi-steady; the composition in circulation is that charged; liquid and vapour fill the exchanger at
equal speeds, so that more liquid is held up in truth (slip); conductance even over the recuperator's length, on which
its inventory rests; the evaporator filled with what leaves it; pressure drops in proportion to pressure.
Source: balances alone; the homogeneous hold-up is that of Carey, Liquid-Vapor Phase-Change Phenomena (1992),
chapter on two-phase flow (from memory).
"""

from __future__ import annotations

import contextlib
import math
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from mixjt.bounds import require_fields
from mixjt.circuit.held_recuperator import CooledMetal, HeldRecuperator, Pressures, hold_recuperator
from mixjt.circuit.machine import ThrottleCircuit
from mixjt.circuit.solve import solve_circuit
from mixjt.errors import InputError, UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.roots import root_between
from mixjt.fluid.states import State
from mixjt.keys import key
from mixjt.parts.compressor.compression import CompressionResult, compress
from mixjt.parts.throttle.capillary import Capillary, flow_of_length
from mixjt.parts.throttle.expansion import expansion_line

LINE_POINTS = 24  # of the throttle's expansion
LOWEST_SUCTION, HIGHEST_DISCHARGE = 5e3, 80e5  # Pa, between which pressures are sought
SMALLEST_RATIO = 1.05
TOLERANCE = 1e-4  # of ln p
ACCEPTED = 1e-3  # of the logarithms of flows and of charge
BALANCED = 1e-2  # of the logarithm of flows after bracketing, where the compressor's flow falls steeply
MOST_TRIALS = 40
PROBE = 3e-3  # in ln p, by which steepness is found
LONGEST_STEP = 0.25  # in ln p


@dataclass(frozen=True)
class Volumes:
    """Volumes of a circuit [m3] and its charge [mol].

    hot: compressor outlet, aftercooler and its lines; high and low: the recuperator's sides; evaporator; buffer:
    at ambient, on the suction side, suction line and the compressor's shell included where gas enters there.
    """

    hot: float = key("volume", "from the compressor's outlet through the aftercooler", within="(0, 1]")
    high: float = key("volume", "the recuperator's high side", at="recuperator_high", within="(0, 1]")
    low: float = key("volume", "the recuperator's low side", at="recuperator_low", within="(0, 1]")
    evaporator: float = key("volume", "behind the throttle, down to the recuperator", within="(0, 1]")
    buffer: float = key(
        "volume", "at ambient on the suction side: buffer, suction line, the shell of a rotary compressor not",
        within="(0, 1]",
    )
    charge: float

    def __post_init__(self):
        require_fields(self, "volumes:", ("hot", "high", "low", "evaporator", "buffer", "charge"), least=0.0)
        if not (self.total > 0.0 and self.charge > 0.0):
            raise InputError("a circuit needs volumes and a charge above 0")

    @property
    def total(self) -> float:
        """[m3]"""
        return self.hot + self.high + self.low + self.evaporator + self.buffer


@dataclass(frozen=True)
class FixedMachine:
    """A compressor, a recuperator of a conductance [W/K], a throttle and a charge.

    circuit gives temperatures at the warm end, compressor, insulation and relative pressure drops; its pressures are
    those of the design, and the suction pressure is kept where volumes is None.
    """

    circuit: ThrottleCircuit
    tube: Capillary
    conductance: float
    volumes: Volumes | None = None

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

    stored is the inventory [mol]; steepness (2, 2) how the misses of both conditions change with the logarithms of the
    pressures, for whoever settles nearby.
    """

    cold_temperature: float
    suction_pressure: float
    discharge_pressure: float
    recuperator: HeldRecuperator
    stored: float | None
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
        Where no pressures up to 80 bar satisfy both conditions.
    ConvergenceError
    """
    if not 0.0 < cold_temperature <= machine.circuit.warm_temperature:
        raise InputError(
            f"the cold end must be at most as warm as the aftercooler's outlet, "
            f"{machine.circuit.warm_temperature:.5g} K; got {cold_temperature:.5g} K"
        )
    at = _Place(cold_temperature, metal, [start.recuperator] if start else [])
    if machine.volumes is None:
        return _balanced(fluid, machine, at, machine.circuit.suction_pressure, start).settled
    return _settled_by_charge(fluid, machine, at, start)


def _settled_by_charge(fluid, machine: FixedMachine, at: _Place, start: Settled | None) -> Settled:
    """Both conditions at once by Broyden's method, or one inside the other where that does not converge."""

    def trial(logs: np.ndarray) -> tuple[Settled, np.ndarray]:
        low, high = np.exp(np.clip(logs, math.log(LOWEST_SUCTION), math.log(HIGHEST_DISCHARGE)))
        found = _trial(fluid, machine, at, low, max(high, machine.smallest_ratio * low))
        if found.settled is None:
            raise UnreachableError("the compressor moves nothing")
        return found.settled, np.array([found.surplus, math.log(found.settled.stored / machine.volumes.charge)])

    guess = start or machine.circuit
    with contextlib.suppress(UnreachableError, np.linalg.LinAlgError):
        found = _by_broyden(trial, np.log([guess.suction_pressure, guess.discharge_pressure]), start and start.steepness)
        if found:
            return found
    return _settled_nested(fluid, machine, at, start)


def _by_broyden(trial, logs: np.ndarray, steepness: np.ndarray | None) -> Settled | None:
    """Where both misses vanish; None where that does not come about.

    Source: Broyden, Mathematics of Computation 19 (1965) 577, the first of his updates.
    """
    settled, misses = trial(logs)
    for _ in range(MOST_TRIALS):
        if np.max(np.abs(misses)) < ACCEPTED:
            return replace(settled, steepness=steepness)
        fresh = steepness is None
        if fresh:
            columns = [(trial(logs + PROBE * unit)[1] - misses) / PROBE for unit in np.eye(2)]
            steepness = np.stack(columns, axis=1)
        step = np.linalg.solve(steepness, -misses)
        step *= min(1.0, LONGEST_STEP / np.max(np.abs(step)))
        settled, new = trial(logs + step)
        logs, change = logs + step, new - misses
        worse = np.max(np.abs(new)) > 0.5 * np.max(np.abs(misses))
        steepness = steepness + np.outer(change - steepness @ step, step) / (step @ step)
        misses = new
        if worse and not fresh:
            steepness = None
    return None


def _settled_nested(fluid, machine: FixedMachine, at: _Place, start: Settled | None) -> Settled:
    """Suction pressure at which the charge fits, with the throttle balanced at every trial."""
    charge, found = machine.volumes.charge, {}

    def surplus_charge(log_low: float) -> float:
        trial = _balanced(fluid, machine, at, math.exp(log_low), found.get("last", start))
        found["last"] = trial.settled
        return math.log(trial.settled.stored / charge)

    low, high = _bracket(surplus_charge, math.log((start or machine.circuit).suction_pressure))
    fitting = root_between(surplus_charge, low, high, TOLERANCE, 1e-12)
    return _balanced(fluid, machine, at, math.exp(fitting), found["last"]).settled


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
    line = expansion_line(fluid, held.throttle_inlet, pressures.evaporator, LINE_POINTS)
    passed = flow_of_length(line, machine.tube) / fluid.molar_mass
    settled = Settled(at.cold, low, high, held, _stored(fluid, machine, at.cold, low, high, held))
    return _AtPressures(settled, math.log(held.flow / passed))


def _stored(fluid, machine: FixedMachine, cold: float, low: float, high: float, held: HeldRecuperator) -> float | None:
    """Amount of blend in the circuit [mol]; None where its volumes are not known."""
    volumes = machine.volumes
    if volumes is None:
        return None
    warm, ambient = machine.circuit.warm_temperature, machine.circuit.ambient_temperature
    hot = fluid.tp(warm, high).molar_volume
    evaporator = fluid.tp(cold, machine.low_share * low).molar_volume
    buffer = fluid.tp(ambient, low).molar_volume
    in_high, in_low = held.mean_densities
    return (
        volumes.hot / hot + volumes.high * in_high + volumes.low * in_low
        + volumes.evaporator / evaporator + volumes.buffer / buffer
    )  # fmt: skip
