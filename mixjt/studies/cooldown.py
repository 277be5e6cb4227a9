"""Load line and cool-down of a fixed machine: cooling and settled pressures from warm to cold, and the time it takes.

Quasi-steady: at every temperature of the cold end the pressures have settled, and

    C(T) dT/dt = -(cooling(T) - leak (T_ambient - T) - load),

with C the heat capacity of the cold mass (`mixjt.parts.cold_mass`). The lowest temperature is where the
bracket vanishes. Energy balance alone; what is cooled is taken as one temperature.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from mixjt.circuit.settled import FixedMachine, Settled, settle_machine
from mixjt.errors import ConvergenceError, InputError, UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.standstill import standstill_state
from mixjt.interrupt import keeping
from mixjt.keys import key
from mixjt.parts.cold_mass import ColdMass
from mixjt.parts.compressor.limits import known_limits, unknown_current
from mixjt.units import apart

STEPS = 14  # cold-end temperatures settled from ambient to the target
NARROWED = 5  # settled once more between the last one that gains and the first one that loses
FINE = 400  # points of the time integral
SAME_TEMPERATURE = 1e-6  # K
NEAR_END = 0.02  # of the cooling at the start, below which the approach to the lowest temperature has no end

Report = Callable[[int, int], None]


@dataclass(frozen=True, kw_only=True)
class CooldownRequest:
    """What is cooled and what warms it.

    mass; leak [W/K] of heat from ambient; load [W] besides; target [K], down to which times are wanted; coldest
    [K], down to which the load line is followed.
    """

    mass: ColdMass
    leak: float = key(
        "heat_conductance", "heat from ambient per kelvin of the cold end below it, besides the load", at="heat_leak",
        default=0.0, within="[0, 1e3]",
    )
    load: float = 0.0
    target: float
    coldest: float = key(
        "temperature", "down to which the load line is followed", within="[60, 300]",
        otherwise="20 K below the cold end",
    )

    def __post_init__(self):
        if self.leak < 0.0 or self.load < 0.0:
            raise InputError("heat leak and load must be at least 0")
        if not self.coldest <= self.target:
            lowest, target = apart(self.coldest, self.target, "temperature", 5)
            raise InputError(f"coldest, {lowest}, must not be above the target of {target}: the load line leads there")


@dataclass(frozen=True)
class Cooldown:
    """Settled states from warm to cold, and the cool-down through them.

    net_power [W] belongs to states; lowest_temperature [K] is None where the machine still gains at the coldest
    state, time_to_target [s] where it is not reached; times [s] and temperatures [K], (m,), are the way there.
    standstill_pressure [Pa] is that before the start, None where the volumes are not known; lost holds a line
    for every temperature that could not be settled.
    """

    states: tuple[Settled, ...]
    net_power: np.ndarray
    lowest_temperature: float | None
    time_to_target: float | None
    times: np.ndarray
    temperatures: np.ndarray
    standstill_pressure: float | None
    warnings: tuple[str, ...]
    lost: tuple[str, ...] = field(default=())
    interrupted: bool = False


def cool_down(
    fluid: Fluid, machine: FixedMachine, request: CooldownRequest, report: Report | None = None
) -> Cooldown:
    """Follow a machine from ambient to its lowest temperature.

    An interruption (Ctrl-C) ends it early and keeps the states settled until then.

    Raises
    ------
    UnreachableError
        Where the machine does not settle or does not cool at ambient temperature.
    """
    states, lost = [], []
    with keeping() as cut:
        _follow(fluid, machine, request, states, lost, report)
    if not states and not cut:
        raise UnreachableError(f"the machine settles nowhere: {lost[0]}")
    net = np.array([_net(machine, request, state) for state in states])
    if net.size and net[0] <= 0.0:
        raise UnreachableError(
            f"the machine does not start to cool: with the cold end at {states[0].cold_temperature:.4g} K {-net[0]:.3g} W are "
            "missing; another blend, a higher pressure ratio or a tighter throttle is needed"
        )
    lowest, at_rest = _lowest(states, net), _standstill(fluid, machine)
    times, temperatures = _way(machine, request, states, net, lowest)
    return Cooldown(
        states=tuple(states),
        net_power=net,
        lowest_temperature=lowest,
        time_to_target=time_at(request.target, times, temperatures),
        times=times,
        temperatures=temperatures,
        standstill_pressure=at_rest,
        warnings=tuple(_warnings(machine, states, at_rest)),
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
            report(number + 1, STEPS)
        if found is None:
            beyond = beyond or float(cold)
        elif _net(machine, request, found) < 0.0:
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


def _settled(fluid, machine, cold: float, states: list, lost: list) -> Settled | None:
    try:
        return settle_machine(fluid, machine, cold, states[-1] if states else None)
    except (UnreachableError, ConvergenceError) as error:
        lost.append(f"cold end at {cold:.4g} K: {error}")
        return None


def _net(machine: FixedMachine, request: CooldownRequest, state: Settled) -> float:
    """What is left for cooling the mass [W]."""
    ambient = machine.circuit.ambient_temperature
    return state.cooling_power - request.leak * (ambient - state.cold_temperature) - request.load


def _lowest(states, net: np.ndarray) -> float | None:
    """Where the net power vanishes, straight between the two states around it; None where it nowhere does."""
    losing = np.flatnonzero(net < 0.0)
    if losing.size == 0 or losing[0] == 0:
        return None
    k = int(losing[0])
    warm, cold = states[k - 1].cold_temperature, states[k].cold_temperature
    return warm + (cold - warm) * net[k - 1] / (net[k - 1] - net[k])


def _way(machine, request: CooldownRequest, states, net: np.ndarray, lowest: float | None):
    """Times [s] and temperatures [K] from ambient to the target, or to where hardly anything is gained any more.

    Empty where the machine could not be settled at ambient: a time from anywhere else is no cool-down.
    """
    from scipy.integrate import cumulative_simpson  # slow to load, and whoever reads a case loads this module
    from scipy.interpolate import PchipInterpolator

    if len(states) < 2 or not _starts_warm(machine, states):
        return np.zeros(0), np.zeros(0)
    warm_to_cold = np.array([state.cold_temperature for state in states])
    power = PchipInterpolator(warm_to_cold[::-1], net[::-1])
    end = max(request.target, warm_to_cold[-1], lowest or 0.0)
    temperatures = np.linspace(warm_to_cold[0], end, FINE)
    gained = power(temperatures)
    slow = np.flatnonzero(gained < NEAR_END * net[0])
    if slow.size:
        temperatures, gained = temperatures[: slow[0]], gained[: slow[0]]
    if temperatures.size < 3:
        return np.zeros(0), np.zeros(0)
    rate = request.mass.heat_capacity(temperatures, machine.circuit.ambient_temperature) / gained
    times = cumulative_simpson(rate, x=warm_to_cold[0] - temperatures, initial=0.0)
    return times, temperatures


def _starts_warm(machine, states) -> bool:
    return states[0].cold_temperature > machine.circuit.ambient_temperature - SAME_TEMPERATURE


def time_at(target: float, times: np.ndarray, temperatures: np.ndarray) -> float | None:
    """When the cold end passes a temperature; None where it has not within the times known."""
    if temperatures.size == 0 or temperatures[-1] > target + 1e-6:
        return None
    return float(np.interp(-target, -temperatures, times))


def _standstill(fluid, machine: FixedMachine) -> float | None:
    if machine.volumes is None:
        return None
    volumes = machine.volumes
    state = standstill_state(fluid, machine.circuit.ambient_temperature, volumes.total / volumes.charge)
    return state.pressure


def _warnings(machine: FixedMachine, states, standstill: float | None) -> list[str]:
    """What a compressor would not stand on the way."""
    found, compressor = [], machine.circuit.compressor
    if not states:
        return found
    if not _starts_warm(machine, states):
        found.append(
            f"the machine could not be settled at ambient temperature, only from {states[0].cold_temperature:.4g} K down: "
            "whether it starts is not known, and no times are given"
        )
    for limit in known_limits(compressor):
        worst = min(states, key=lambda state: limit.kept(state.compression, compressor))
        if limit.kept(worst.compression, compressor) < 0.0:
            sentence = limit.sentence(worst.compression, compressor)
            found.append(f"with the cold end at {worst.cold_temperature:.4g} K {sentence}")
    wet = [state for state in states if state.compressor_inlet.liquids]
    if wet:
        found.append(
            f"liquid reaches the compressor with the cold end from {wet[0].cold_temperature:.4g} K on: it needs an accumulator"
        )
    hungry = max(states, key=lambda state: state.compression.electrical_power)
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
