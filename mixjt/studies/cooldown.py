"""Load line and cool-down of a fixed machine: cooling and settled pressures from warm to cold, and the time it takes.

The load line is steady: what the cold end takes up where it stays at a temperature. On the way down two masses give heat
off, the cold end's at T and the recuperator's copper at its mean temperature T_m, and the pressures have settled to that
(`mixjt.circuit.held_recuperator` tells how the two share what is drawn):

    C_end dT/dt = -(cooling - load),    C_copper dT_m/dt = -(heat from the copper).

Both together are drawn at the rate N, so that dt = -(C_end dT + C_copper dT_m) / N. The copper starts at what the
streams give it with the cold end at ambient. The lowest temperature is where the load takes all the cooling. Energy
balances alone; the leak is that of the circuit's insulation, and cooling what is left of it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np

from mixjt.circuit.fixed_machine import FixedMachine, Settled
from mixjt.circuit.held_recuperator import CooledMetal
from mixjt.circuit.settled import settle_machine
from mixjt.errors import ConvergenceError, InputError, UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.standstill import standstill_pressure
from mixjt.interrupt import keeping
from mixjt.keys import key
from mixjt.parts.cold_mass import ColdMass
from mixjt.parts.compressor.limits import known_limits, unknown_current
from mixjt.units import apart

STEPS = 14  # cold-end temperatures settled from ambient to the target
NARROWED = 5  # settled once more between the last one that gains and the first one that loses
FINE = 400  # points of the time integral
SAME_TEMPERATURE = 1e-6  # K
LEAST_END = 1e-3  # of the copper's heat capacity, where a case states none at the cold end
NEAR_END = 0.02  # of the cooling at the start, below which the approach to the lowest temperature has no end

Report = Callable[[int, int], None]


@dataclass(frozen=True, kw_only=True)
class CooldownRequest:
    """What is cooled: mass; load [W]; target [K], down to which times are wanted; coldest [K], down to which the load
    line is followed.
    """

    mass: ColdMass
    load: float = 0.0
    target: float
    coldest: float = key(
        "temperature", "down to which the load line is followed", within="[60, 300]",
        otherwise="20 K below the cold end",
    )

    def __post_init__(self):
        if self.load < 0.0:
            raise InputError(f"the load must be at least 0, got {self.load:.4g} W")
        if not self.coldest <= self.target:
            lowest, target = apart(self.coldest, self.target, "temperature", 5)
            raise InputError(f"coldest, {lowest}, must not be above the target of {target}: the load line leads there")


@dataclass(frozen=True)
class Moment:
    """A machine on its way down: settled, with the recuperator's copper [K] and what all metal gives off [W]."""

    settled: Settled
    copper_temperature: float
    drawn: float


@dataclass(frozen=True)
class Way:
    """Moments on the way down and when they come [s]; between them times [s], cold_temperatures and copper_temperatures
    [K], (m,).
    """

    moments: tuple[Moment, ...] = ()
    moment_times: np.ndarray = field(default_factory=lambda: np.zeros(0))
    times: np.ndarray = field(default_factory=lambda: np.zeros(0))
    cold_temperatures: np.ndarray = field(default_factory=lambda: np.zeros(0))
    copper_temperatures: np.ndarray = field(default_factory=lambda: np.zeros(0))

    def time_at(self, target: float) -> float | None:
        """When the cold end passes a temperature; None where it has not within the times known."""
        if self.times.size == 0 or self.cold_temperatures[-1] > target + 1e-6:
            return None
        return float(np.interp(-target, -self.cold_temperatures, self.times))


@dataclass(frozen=True)
class Cooldown:
    """Settled states from warm to cold, and the cool-down past them.

    net_power [W] belongs to states; lowest_temperature [K] is None where the machine still gains at the coldest
    state, time_to_target [s] where it is not reached. standstill_pressure [Pa] is that before the start, None where the
    volumes are not known; lost holds a line for every temperature that could not be settled.
    """

    states: tuple[Settled, ...]
    net_power: np.ndarray
    lowest_temperature: float | None
    time_to_target: float | None
    way: Way
    standstill_pressure: float | None
    warnings: tuple[str, ...]
    lost: tuple[str, ...] = field(default=())
    interrupted: bool = False

    @property
    def seen(self) -> tuple[Settled, ...]:
        """All settled states, of the load line and on the way down."""
        return (*self.states, *(moment.settled for moment in self.way.moments))


def cool_down(
    fluid: Fluid, machine: FixedMachine, request: CooldownRequest, report: Report | None = None
) -> Cooldown:
    """Follow a machine from ambient to its lowest temperature; its charge, if any, decides what circulates of it.

    An interruption (Ctrl-C) ends it early and keeps the states settled until then.

    Raises
    ------
    UnreachableError
        Where the machine does not settle or does not cool at ambient temperature.
    """
    states, lost, moments = [], [], []
    with keeping() as cut:
        _follow(fluid, machine, request, states, lost, report)
    if not states and not cut:
        raise UnreachableError(f"the machine settles nowhere: {lost[0]}")
    net = np.array([state.cooling_power - request.load for state in states])
    if net.size and net[0] <= 0.0:
        raise UnreachableError(
            f"the machine does not start to cool: with the cold end at {states[0].cold_temperature:.4g} K {-net[0]:.3g} W are "
            "missing; another blend, a higher pressure ratio or a tighter throttle is needed"
        )
    lowest, at_rest = _lowest(states, net), _standstill(fluid, machine)
    if not cut.short:
        with keeping() as cut:
            _descend(fluid, machine, request, states, lowest, moments, lost, report)
    way = _way(request, moments, lowest)
    return Cooldown(
        states=tuple(states),
        net_power=net,
        lowest_temperature=lowest,
        time_to_target=way.time_at(request.target),
        way=way,
        standstill_pressure=at_rest,
        warnings=tuple(_warnings(machine, states, [moment.settled for moment in moments], at_rest)),
        lost=tuple(lost),
        interrupted=cut.short,
    )


def _follow(fluid, machine, request: CooldownRequest, states: list, lost: list, report) -> None:
    """Settle from ambient downwards until the machine loses or stops, then once more around that temperature."""
    ambient = machine.circuit.ambient_temperature
    losing, beyond = None, None
    for number, cold in enumerate(np.linspace(ambient, request.coldest, STEPS)):
        found = _settled(fluid, machine, float(cold), states, lost)
        if report:
            report(number + 1, 2 * STEPS)
        if found is None:
            beyond = beyond or float(cold)
        elif found.cooling_power < request.load:
            losing, beyond = found, found.cold_temperature
            break
        else:
            states.append(found)
            beyond = None
    if states and beyond is not None:
        for cold in np.linspace(states[-1].cold_temperature, beyond, NARROWED + 2)[1:-1]:
            found = _settled(fluid, machine, float(cold), states, lost)
            if found is not None:
                states.append(found)
    if losing is not None:
        states.append(losing)


def _settled(fluid, machine, cold: float, states: list, lost: list, metal: CooledMetal | None = None) -> Settled | None:
    try:
        return settle_machine(fluid, machine, cold, states[-1] if states else None, metal)
    except (UnreachableError, ConvergenceError) as error:
        lost.append(f"cold end at {cold:.4g} K: {error}")
        return None


def _lowest(states, net: np.ndarray) -> float | None:
    """Where the net power vanishes, straight between the two states around it; None where it nowhere does."""
    losing = np.flatnonzero(net < 0.0)
    if losing.size == 0 or losing[0] == 0:
        return None
    k = int(losing[0])
    warm, cold = states[k - 1].cold_temperature, states[k].cold_temperature
    return warm + (cold - warm) * net[k - 1] / (net[k - 1] - net[k])


def _descend(
    fluid, machine, request: CooldownRequest, states, lowest: float | None, moments: list[Moment], lost: list, report
) -> None:
    """Settle with metal to be cooled, from ambient through the load line's temperatures down to the target.

    Nothing where the machine could not be settled at ambient: a time from anywhere else is no cool-down.
    """
    if len(states) < 2 or not _starts_warm(machine, states):
        return
    first, mass = states[0], request.mass
    moments.append(_moment(first, request))
    gaining = [state.cold_temperature for state in states[1:] if state.cooling_power > request.load]
    temperatures = [one for one in gaining if one > request.target + SAME_TEMPERATURE]
    if (lowest or min(gaining, default=math.inf)) <= request.target:
        temperatures.append(request.target)
    for number, cold in enumerate(temperatures):
        before = moments[-1]
        middle, copper = 0.5 * (cold + before.settled.cold_temperature), before.copper_temperature
        capacity = float(mass.recuperator_capacity(copper))
        end_heat = max(float(mass.end_capacity(middle)), LEAST_END * capacity) * (before.settled.cold_temperature - cold)
        metal = CooledMetal(request.load, end_heat, capacity, copper, before.settled.recuperator.profile)
        found = _settled(fluid, machine, cold, [moment.settled for moment in moments], lost, metal)
        if report:
            report(STEPS + (number + 1) * STEPS // len(temperatures), 2 * STEPS)
        if found is not None:
            moments.append(_moment(found, request))


def _moment(state: Settled, request: CooldownRequest) -> Moment:
    return Moment(state, state.recuperator.metal_temperature, state.cooling_power + state.from_recuperator_metal - request.load)


def _way(request: CooldownRequest, moments: Sequence[Moment], lowest: float | None) -> Way:
    """From ambient to the target, or to where hardly anything is gained any more."""
    from scipy.integrate import cumulative_simpson  # slow to load, and whoever reads a case loads this module
    from scipy.interpolate import PchipInterpolator

    known = [(one.settled.cold_temperature, one.copper_temperature, one.drawn) for one in moments]
    if len(known) < 2:
        return Way()
    if lowest is not None and request.target < lowest < known[-1][0]:
        known.append((lowest, known[-1][1], 0.0))
    cold, copper, drawn = np.array(known[::-1]).T
    power, mean = PchipInterpolator(cold, drawn), PchipInterpolator(cold, copper)
    temperatures = np.linspace(cold[-1], max(request.target, cold[0]), FINE)
    slow = np.flatnonzero(power(temperatures) < NEAR_END * drawn[-1])
    if slow.size:
        temperatures = temperatures[: slow[0]]
    if temperatures.size < 3:
        return Way()
    capacity = request.mass.end_capacity(temperatures)
    capacity = capacity + request.mass.recuperator_capacity(mean(temperatures)) * mean(temperatures, 1)
    times = cumulative_simpson(capacity / power(temperatures), x=temperatures[0] - temperatures, initial=0.0)
    passed = tuple(one for one in moments if one.settled.cold_temperature >= temperatures[-1] - SAME_TEMPERATURE)
    at = np.interp([-one.settled.cold_temperature for one in passed], -temperatures, times)
    return Way(passed, at, times, temperatures, mean(temperatures))


def _starts_warm(machine, states) -> bool:
    return states[0].cold_temperature > machine.circuit.ambient_temperature - SAME_TEMPERATURE


def _standstill(fluid, machine: FixedMachine) -> float | None:
    if machine.charge is None:
        return None
    charge = machine.charge.sum()
    return standstill_pressure(fluid.of(machine.charge / charge), machine.circuit.ambient_temperature, machine.volumes.total / charge)


def _warnings(machine: FixedMachine, states, moments, standstill: float | None) -> list[str]:
    """What a compressor would not stand on the way down, and on the load line beyond it."""
    found, compressor = [], machine.circuit.compressor
    if not states:
        return found
    if not _starts_warm(machine, states):
        found.append(
            f"the machine could not be settled at ambient temperature, only from {states[0].cold_temperature:.4g} K down: "
            "whether it starts is not known, and no times are given"
        )
    reached = moments[-1].cold_temperature if moments else math.inf
    seen = [*moments, *(state for state in states if state.cold_temperature < reached)]
    for limit in known_limits(compressor):
        worst = min(seen, key=lambda state: limit.kept(state.compression, compressor))
        if limit.kept(worst.compression, compressor) < 0.0:
            sentence = limit.sentence(worst.compression, compressor)
            found.append(f"with the cold end at {worst.cold_temperature:.4g} K {sentence}")
    wet = [state for state in seen if state.compressor_inlet.liquids]
    if wet:
        found.append(
            f"liquid reaches the compressor with the cold end from {wet[0].cold_temperature:.4g} K on: it needs an accumulator"
        )
    hungry = max(seen, key=lambda state: state.compression.electrical_power)
    current = hungry.compression.supply_current
    drawn = "" if current is None else f" ({current:.3g} A)"
    found.append(
        f"greatest power {hungry.compression.electrical_power:.3g} W{drawn} with the cold end at "
        f"{hungry.cold_temperature:.4g} K: this is where a compressor trips"
    )
    found += unknown_current(compressor)
    if standstill is not None and standstill > states[0].discharge_pressure:
        found.append(f"at standstill the charge stands at {standstill / 1e5:.3g} bar, above the running discharge")
    return found
