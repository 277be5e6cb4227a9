"""Where a machine with a fixed compressor, throttle and charge settles for a given cold-end temperature.

Two conditions fix suction and discharge pressure: the compressor must move what the throttle passes,

    molar flow of the compressor (p_low, p_high) = molar flow of the throttle (p_low, p_high),

and the charge must fit into the circuit's volumes, which hold gas or two-phase fluid at these pressures,

    sum of V_i / v_i (p_low, p_high) = charge.

Without volumes the suction pressure is kept at that of the case, as if the charge were adjusted. The cooling
follows from the pinch of the recuperator as in `mixjt.circuit.pinch`. Where the cold end is still warmer than the
recuperator can make use of, the throttle's inlet has the aftercooler's temperature and q = h_low(T) - h_high(T_warm).

Assumptions: quasi-steady; the composition in circulation is that charged; liquid and vapour fill the exchanger at
equal speeds, so that more liquid is held up in truth (slip); temperatures along the recuperator evenly spaced
for its inventory, and the evaporator filled with what leaves it; pressure drops in proportion to pressure; the
compressor's displacement and efficiencies those of the circuit at every pressure.
Source: balances alone; the homogeneous hold-up is that of Carey, Liquid-Vapor Phase-Change Phenomena (1992),
chapter on two-phase flow (from memory).
"""

from __future__ import annotations

import contextlib
import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from mixjt.bounds import require_fields
from mixjt.circuit.machine import ThrottleCircuit
from mixjt.errors import InputError, UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.roots import root_between
from mixjt.fluid.states import State
from mixjt.keys import key
from mixjt.parts.compressor.compression import CompressionResult, compress
from mixjt.parts.throttle.capillary import Capillary, flow_of_length
from mixjt.parts.throttle.expansion import expansion_line

GRID = 48  # temperatures along the recuperator
LINE_POINTS = 24  # of the throttle's expansion
LOWEST_SUCTION, HIGHEST_DISCHARGE = 5e3, 80e5  # Pa, between which pressures are sought
SMALLEST_RATIO = 1.05
TOLERANCE = 1e-4  # of ln p
ACCEPTED = 1e-3  # of the logarithms of flows and of charge
BALANCED = 1e-2  # of the logarithm of flows after bracketing, where the compressor's flow falls steeply
MOST_TRIALS = 40


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
    """A compressor, a throttle and a charge.

    circuit gives temperatures, approaches, compressor and relative pressure drops; its pressures are those of
    the design, and the suction pressure is kept where volumes is None.
    """

    circuit: ThrottleCircuit
    tube: Capillary
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


@dataclass(frozen=True)
class Settled:
    """A machine settled at a cold-end temperature [K]; pressures [Pa], cooling_power [W], flow [mol/s].

    cooling_capacity [J/mol] may be negative: then this temperature cannot be held. stored is the inventory [mol].
    """

    cold_temperature: float
    suction_pressure: float
    discharge_pressure: float
    cooling_capacity: float
    cooling_power: float
    molar_flow: float
    compression: CompressionResult
    compressor_inlet: State
    throttle_inlet: State
    stored: float | None

    @property
    def pressure_ratio(self) -> float:
        """Discharge over suction pressure."""
        return self.discharge_pressure / self.suction_pressure


@dataclass(frozen=True)
class _AtPressures:
    """What a pair of pressures implies: surplus is ln(compressor flow / throttle flow)."""

    settled: Settled
    surplus: float


def settle_machine(
    fluid: Fluid, machine: FixedMachine, cold_temperature: float, start: Settled | None = None
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
    if machine.volumes is None:
        low = machine.circuit.suction_pressure
        return _balanced(fluid, machine, cold_temperature, low, start).settled
    return _settled_by_charge(fluid, machine, cold_temperature, start)


def _settled_by_charge(fluid, machine: FixedMachine, cold: float, start: Settled | None) -> Settled:
    """Both conditions at once by Powell's hybrid method, or one inside the other where that does not converge."""
    from scipy.optimize import root

    guess = start or _guess(machine)
    trials: dict[tuple[float, float], _AtPressures] = {}

    def misses(logs) -> tuple[float, float]:
        low, high = np.exp(np.clip(logs, math.log(LOWEST_SUCTION), math.log(HIGHEST_DISCHARGE)))
        trial = trials[tuple(logs)] = _trial(fluid, machine, cold, low, max(high, machine.smallest_ratio * low))
        if trial.settled is None:
            raise UnreachableError("the compressor moves nothing")
        return trial.surplus, math.log(trial.settled.stored / machine.volumes.charge)

    with contextlib.suppress(UnreachableError):
        first = np.log([guess.suction_pressure, guess.discharge_pressure])
        found = root(misses, first, method="hybr", options={"eps": 1e-3, "xtol": TOLERANCE, "maxfev": MOST_TRIALS})
        if np.max(np.abs(misses(found.x))) < ACCEPTED:
            return trials[tuple(found.x)].settled
    return _settled_nested(fluid, machine, cold, start)


def _settled_nested(fluid, machine: FixedMachine, cold: float, start: Settled | None) -> Settled:
    """Suction pressure at which the charge fits, with the throttle balanced at every trial."""
    charge, found = machine.volumes.charge, {}

    def surplus_charge(log_low: float) -> float:
        trial = _balanced(fluid, machine, cold, math.exp(log_low), found.get("last", start))
        found["last"] = trial.settled
        return math.log(trial.settled.stored / charge)

    low, high = _bracket(surplus_charge, math.log((start or _guess(machine)).suction_pressure))
    at = root_between(surplus_charge, low, high, TOLERANCE, 1e-12)
    return _balanced(fluid, machine, cold, math.exp(at), found["last"]).settled


@dataclass(frozen=True)
class _Guess:
    suction_pressure: float
    discharge_pressure: float


def _guess(machine: FixedMachine) -> _Guess:
    return _Guess(machine.circuit.suction_pressure, machine.circuit.discharge_pressure)


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


def _balanced(fluid, machine: FixedMachine, cold: float, low: float, start) -> _AtPressures:
    """Discharge pressure at which the compressor moves what the throttle passes, at a suction pressure [Pa]."""
    trials = {}

    def surplus(log_high: float) -> float:
        trial = _trial(fluid, machine, cold, low, math.exp(log_high))
        trials[log_high] = trial
        return trial.surplus

    first = (start or _guess(machine)).discharge_pressure
    lowest, highest = math.log(machine.smallest_ratio * low), math.log(HIGHEST_DISCHARGE)
    a = min(max(math.log(first), lowest), highest)
    value, step = surplus(a), 0.1
    while True:  # more pressure lets the throttle pass more and the compressor move less
        b = min(max(a + math.copysign(step, value), lowest), highest)
        if b == a:
            raise UnreachableError(_stuck(low, value, cold))
        other = surplus(b)
        if other * value <= 0.0:
            break
        a, value, step = b, other, 2.0 * step
    at = root_between(surplus, min(a, b), max(a, b), TOLERANCE, 1e-12)
    found = trials.get(at) or _trial(fluid, machine, cold, low, math.exp(at))
    if found.settled is None or abs(found.surplus) > BALANCED:
        raise UnreachableError(  # the flows do not meet: beyond this pressure the compressor has no answer
            f"at a suction of {low / 1e5:.3g} bar and a cold end of {cold:.4g} K the compressor stops delivering at "
            f"{math.exp(at) / 1e5:.3g} bar, before the throttle passes as much as it moves; take a shorter or wider "
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


def _trial(fluid, machine: FixedMachine, cold: float, low: float, high: float) -> _AtPressures:
    """One pair of pressures: cooling by the pinch, both flows, inventory."""
    circuit = machine.circuit
    at_evaporator, at_throttle = machine.low_share * low, machine.high_share * high
    warm = circuit.warm_temperature
    coolest = min(cold + circuit.recuperator_approach, warm)
    temperatures = np.linspace(coolest, warm, GRID) if coolest < warm - 1e-6 else np.array([warm])
    lower = np.maximum(temperatures - circuit.recuperator_approach, cold)
    after_cooling = machine.warm_share * high
    high_side = fluid.sweep(temperatures, _linear(at_throttle, after_cooling, temperatures))
    low_side = fluid.sweep(lower, _linear(at_evaporator, low, lower))
    q = float(np.min(low_side.enthalpy - high_side.enthalpy))
    inlet = fluid.hp(float(low_side.enthalpy[0]) - q, at_throttle)
    suction = fluid.hp(float(high_side.enthalpy[-1]) + q, low)
    try:
        compression = compress(fluid, suction, high, circuit.compressor)
    except UnreachableError:
        return _AtPressures(None, -20.0)  # nothing is moved, or the gas would be far too hot: the pressure is too high
    line = expansion_line(fluid, inlet, at_evaporator, LINE_POINTS)
    passed = flow_of_length(line, machine.tube) / fluid.molar_mass
    settled = Settled(
        cold_temperature=cold,
        suction_pressure=low,
        discharge_pressure=high,
        cooling_capacity=q,
        cooling_power=q * compression.molar_flow,
        molar_flow=compression.molar_flow,
        compression=compression,
        compressor_inlet=suction,
        throttle_inlet=inlet,
        stored=_stored(fluid, machine, cold, low, high, low_side, high_side),
    )
    return _AtPressures(settled, math.log(compression.molar_flow / passed))


def _linear(cold_pressure: float, warm_pressure: float, temperatures: np.ndarray) -> np.ndarray:
    """Pressures along a side, even over its temperatures."""
    if temperatures.size == 1:
        return np.array([warm_pressure])
    share = (temperatures - temperatures[0]) / max(temperatures[-1] - temperatures[0], 1e-9)
    return cold_pressure + share * (warm_pressure - cold_pressure)


def _stored(fluid, machine: FixedMachine, cold, low, high, low_side, high_side) -> float | None:
    """Amount of blend in the circuit [mol]; None where its volumes are not known."""
    volumes = machine.volumes
    if volumes is None:
        return None
    warm, ambient = machine.circuit.warm_temperature, machine.circuit.ambient_temperature
    hot = fluid.tp(warm, high).molar_volume
    evaporator = fluid.tp(cold, machine.low_share * low).molar_volume
    buffer = fluid.tp(ambient, low).molar_volume
    return (
        volumes.hot / hot
        + volumes.high * float(np.mean(1.0 / high_side.molar_volume))
        + volumes.low * float(np.mean(1.0 / low_side.molar_volume))
        + volumes.evaporator / evaporator
        + volumes.buffer / buffer
    )
