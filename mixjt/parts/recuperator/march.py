"""Cells of a counterflow exchanger, marched in enthalpy.

The exchanger is cut into n cells of equal heat, counted from the cold end. With the heat Q that the high-pressure
stream gives to the wall known, the energy balance fixes both streams' enthalpies at every face,

    h_high,j = h_high,in - [Q - Q_j - leak to the high side warmer than j] / m
    h_low,j  = h_low,in  + [Q_j + J_j + leak to the low side colder than j] / m,      Q_j = j Q / n,

J being the heat that the wall conducts along itself towards the cold end. Each cell then needs the length

    dx = (dQ R' + dJ R'_low) / log-mean difference,      R' = 1/(h_high P_high) + wall + 1/(h_low P_low),

so the length that belongs to a duty is a sum, it rises with the duty, and a duty for a length (or a UA) is
one bracketed root. Pressures, J and the leak are taken from the round before and repeated until they stand still.
Source: energy balances; log-mean difference of a cell as in `mixjt.parts.recuperator.side`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache, cached_property

import numpy as np

from mixjt.errors import ConvergenceError, UnreachableError
from mixjt.fluid.roots import root_between
from mixjt.parts.recuperator.side import log_mean_difference
from mixjt.parts.recuperator.stream_tables import FilmTable, IsobarTable

ROUNDS = 200
STILL = 1e-8  # relative change of pressures, lengths and wall heat that ends the rounds
SAME_LENGTH = 1e-5  # relative; beyond it the difference of the streams is too small to tell how long the tube is
NEAR, PROBE, SECANTS = 1e-3, 1e-7, 6  # of the duty, between two rounds; of the first secant, and the most of them
SAME_DUTY = 1e-13  # relative
LEAST_PRESSURE = 0.3  # of the inlet pressure; a stream that loses more is refused


@dataclass(frozen=True)
class TubeStream:
    """One stream as it enters a recuperator.

    molar_flow [mol/s], enthalpy [J/mol] and pressure [Pa] at its inlet; perimeter is the heated one [m], mass_flux in
    kg/(m2 s), molar_mass in kg/mol. film_factor and friction_factor multiply what the correlations give.
    """

    isobars: IsobarTable
    films: FilmTable
    molar_flow: float
    enthalpy: float
    pressure: float
    perimeter: float
    mass_flux: float
    molar_mass: float
    film_factor: float = 1.0
    friction_factor: float = 1.0


@dataclass(frozen=True)
class Wall:
    """What is between the streams and around them.

    resistance between the streams [m K/W], axial_conductance k A [W m/K]; leak_conductance [W/K] through which heat
    leaks in from ambient [K], even over the whole length; low_leak_share of it reaches the low-pressure stream.
    """

    resistance: float
    axial_conductance: float = 0.0
    leak_conductance: float = 0.0
    ambient: float = 0.0
    low_leak_share: float = 1.0


@dataclass(frozen=True)
class March:
    """A solved exchanger: faces (n + 1,) and cells (n,), both from the cold end to the warm end."""

    duty: float  # W, given by the high-pressure stream to the wall
    position: np.ndarray  # m, of faces
    high_enthalpy: np.ndarray  # J/mol
    low_enthalpy: np.ndarray
    high_temperature: np.ndarray  # K
    low_temperature: np.ndarray
    high_pressure: np.ndarray  # Pa
    low_pressure: np.ndarray
    axial_heat: np.ndarray  # W, along the wall
    leak: np.ndarray  # W, from outside between the cold end and each face
    length: np.ndarray  # m, of cells
    high_film: np.ndarray  # W/(m2 K)
    low_film: np.ndarray
    conductance: np.ndarray  # W/(m K), overall


@dataclass(frozen=True)
class _Held:
    """What one round takes from the one before; at the faces."""

    high_pressure: np.ndarray
    low_pressure: np.ndarray
    axial_heat: np.ndarray
    leak: np.ndarray


def march_to_length(high: TubeStream, low: TubeStream, wall: Wall, length: float, cells: int) -> March:
    """The exchanger of a given length [m].

    Raises
    ------
    UnreachableError
        Where a stream loses its pressure on the way, or the streams have no temperature difference, or lose it
        before the end of the tube.
    ConvergenceError
    """

    def miss(trial: _Trial) -> float:
        return (length - trial.total) / (length + trial.total) if np.isfinite(trial.total) else -1.0

    march = _rounds(high, low, wall, cells, miss)
    reached = float(march.position[-1])
    if abs(reached - length) > SAME_LENGTH * length:
        raise UnreachableError(
            f"after about {reached:.3g} of {length:.4g} m the two streams are as good as equally warm: a longer "
            "recuperator of this tube does nothing more; state a shorter one"
        )
    return march


def march_to_conductance(high: TubeStream, low: TubeStream, wall: Wall, conductance: float, cells: int) -> March:
    """The exchanger of a given UA, the sum over its cells [W/K]; errors as in `march_to_length`."""

    def miss(trial: _Trial) -> float:
        if not np.isfinite(trial.total):
            return -1.0
        found = float(np.sum(trial.lengths / trial.resistances[0]))
        return (conductance - found) / (conductance + found)

    return _rounds(high, low, wall, cells, miss)


class _Trial:
    """Everything that follows from a duty while pressures, wall conduction and leak are held."""

    def __init__(self, duty: float, high: TubeStream, low: TubeStream, wall: Wall, held: _Held):
        self.duty, self.wall, self.held = duty, wall, held
        n = len(held.axial_heat) - 1
        heat = duty * np.arange(n + 1) / n
        to_low = wall.low_leak_share * held.leak
        to_high = (1.0 - wall.low_leak_share) * (held.leak[-1] - held.leak)
        self.h_high = high.enthalpy - (duty - heat - to_high) / high.molar_flow
        self.h_low = low.enthalpy + (heat + held.axial_heat + to_low) / low.molar_flow
        self.t_high = high.isobars.at("temperatures", self.h_high, held.high_pressure)
        self.t_low = low.isobars.at("temperatures", self.h_low, held.low_pressure)
        self.difference = self.t_high - self.t_low
        self.smallest = float(self.difference.min())
        self.high, self.low = high, low

    @cached_property
    def total(self) -> float:
        """Length [m]; infinite where the streams touch."""
        return float(self.lengths.sum()) if self.smallest > 1e-6 else np.inf

    @cached_property
    def films(self) -> tuple[np.ndarray, np.ndarray]:
        """Film coefficients of the cells, high and low side."""
        return tuple(
            stream.film_factor / stream.films.mean_resistance(h, _middle(p))
            for stream, h, p in (
                (self.high, self.h_high, self.held.high_pressure), (self.low, self.h_low, self.held.low_pressure),
            )
        )  # fmt: skip

    @cached_property
    def resistances(self) -> tuple[np.ndarray, np.ndarray]:
        """Overall and low-side resistance of the cells [m K/W]; half the wall counts as low side."""
        high, low = self.films
        cold_part = 1.0 / (low * self.low.perimeter) + 0.5 * self.wall.resistance
        return cold_part + 0.5 * self.wall.resistance + 1.0 / (high * self.high.perimeter), cold_part

    @cached_property
    def lengths(self) -> np.ndarray:
        """Lengths of the cells [m]."""
        overall, cold_part = self.resistances
        mean = log_mean_difference(self.difference[:-1], self.difference[1:])
        heat = self.duty / len(mean)
        need = heat * overall + np.diff(self.held.axial_heat) * cold_part
        return np.maximum(need, 1e-3 * heat * overall) / mean


def _rounds(high: TubeStream, low: TubeStream, wall: Wall, cells: int, miss: Callable[[_Trial], float]) -> March:
    nought = np.zeros(cells + 1)
    held = _Held(np.full(cells + 1, high.pressure), np.full(cells + 1, low.pressure), nought, nought)
    step, before, most, duty = 1.0, np.inf, _most_duty(high, low), None
    for _ in range(ROUNDS):
        trial = _solved(high, low, wall, held, miss, most, duty)
        duty = trial.duty
        target = _held_by(trial)
        change = _change(held, target, trial)
        if change < STILL:
            _check_pressures(high, low, target)
            return _march(trial)
        if change > 0.9 * before:
            step = max(0.6 * step, 0.05)
        before = change
        held = _mixed(held, target, step)
    _check_pressures(high, low, target)
    raise ConvergenceError(
        "the cells of the recuperator", "try a longer or thinner-walled tube, or more cells",
        length=float(trial.lengths.sum()), change=float(change),
    )  # fmt: skip


def _most_duty(high: TubeStream, low: TubeStream) -> float:
    """A duty beyond what either stream can take [W]: to the end of its table."""
    given = high.molar_flow * (high.enthalpy - float(high.isobars.enthalpies.min()))
    taken = low.molar_flow * (float(low.isobars.enthalpies.max()) - low.enthalpy)
    return max(min(given, taken), 0.0)


def _solved(high, low, wall, held, miss, most: float, near: float | None) -> _Trial:
    """The duty at which nothing is missing, looked for beside a near one first."""

    @cache
    def trial(duty: float) -> _Trial:
        return _Trial(duty, high, low, wall, held)

    def error(duty: float) -> float:
        return miss(trial(duty))

    duty = None if near is None else _beside(error, near, most)
    if duty is None:
        duty = _root(error, most)
    for _ in range(60):  # the root's own side of a steep end
        if trial(duty).smallest > 1e-6:
            return trial(duty)
        duty -= 1e-12 * most
    raise UnreachableError("the recuperator would need an approach below a millionth of a kelvin")


def _beside(error: Callable[[float], float], near: float, most: float) -> float | None:
    """By secants; None where they lead away, or beyond the most that there can be."""
    last, duty, before = near, (1.0 - PROBE) * near, error(near)
    for _ in range(SECANTS):
        here = error(duty)
        if (here - before) * (duty - last) >= 0.0:
            return None
        step = here * (duty - last) / (before - here)
        if abs(step) <= SAME_DUTY * near:
            return duty
        last, before, duty = duty, here, duty + step
        if abs(duty - near) > NEAR * near or duty > most:
            return None
    return None


def _root(error: Callable[[float], float], most: float) -> float:
    least = 1e-7 * most
    if not (most > 0.0 and error(least) > 0.0):
        raise UnreachableError(
            "the recuperator cannot work: its streams enter with too small a temperature difference for what is asked"
        )
    if error(most) >= 0.0:
        raise UnreachableError("the recuperator would have to move more heat than its streams can take")
    return root_between(error, least, most, SAME_DUTY * most, 1e-14)


def _held_by(trial: _Trial) -> _Held:
    """Pressures, wall conduction and leak that follow from a trial."""
    lengths = trial.lengths
    return _Held(
        high_pressure=_pressures(trial.high, trial.h_high, trial.held.high_pressure, lengths, from_warm=True),
        low_pressure=_pressures(trial.low, trial.h_low, trial.held.low_pressure, lengths, from_warm=False),
        axial_heat=_axial_heat(trial, lengths),
        leak=_leak(trial, lengths),
    )


def _pressures(stream: TubeStream, h, p, lengths, from_warm: bool) -> np.ndarray:
    """Pressures at the faces: friction and acceleration G^2 d(v) taken off from the inlet on."""
    gradient = stream.friction_factor * stream.films.mean_gradient(h, _middle(p))
    volume = stream.isobars.at("volumes", h, p) / stream.molar_mass
    friction = np.concatenate([[0.0], np.cumsum(gradient * lengths)])
    inlet = -1 if from_warm else 0
    lost = np.abs(friction - friction[inlet]) + stream.mass_flux**2 * (volume - volume[inlet])
    return np.maximum(stream.pressure - lost, 0.1 * stream.pressure)


def _leak(trial: _Trial, lengths) -> np.ndarray:
    """Heat from outside between the cold end and each face [W]: by the temperature of the stream that it reaches."""
    wall = trial.wall
    outside = wall.low_leak_share * trial.t_low + (1.0 - wall.low_leak_share) * trial.t_high
    along = np.cumsum((wall.ambient - _middle(outside)) * lengths) / lengths.sum()
    return wall.leak_conductance * np.concatenate([[0.0], along])


def _axial_heat(trial: _Trial, lengths) -> np.ndarray:
    """Heat conducted towards the cold end through each face [W]; nought through both ends.

    The wall temperatures solve the balance of every cell, from high side, to low side and along the wall, while the
    streams are held: short cells would make any less implicit way unstable.
    """
    axial = np.zeros(len(lengths) + 1)
    if trial.wall.axial_conductance == 0.0:
        return axial
    overall, cold_part = trial.resistances
    from scipy.linalg import solve_banded

    from_high, to_low = lengths / (overall - cold_part), lengths / cold_part
    low = _middle(trial.t_low)
    high = low + log_mean_difference(trial.difference[:-1], trial.difference[1:])
    along = trial.wall.axial_conductance / _middle(lengths)
    bands = np.zeros((3, len(lengths)))
    bands[1] = from_high + to_low
    bands[1, :-1] += along
    bands[1, 1:] += along
    bands[0, 1:] = bands[2, :-1] = -along
    wall = solve_banded((1, 1), bands, from_high * high + to_low * low)
    axial[1:-1] = along * np.diff(wall)
    return axial


def _change(old: _Held, new: _Held, trial: _Trial) -> float:
    return max(
        float(np.max(np.abs(old.high_pressure - new.high_pressure)) / trial.high.pressure),
        float(np.max(np.abs(old.low_pressure - new.low_pressure)) / trial.low.pressure),
        float(np.max(np.abs(old.axial_heat - new.axial_heat)) / trial.duty),
        float(np.max(np.abs(old.leak - new.leak)) / trial.duty),
    )


def _mixed(old: _Held, new: _Held, step: float) -> _Held:
    if step == 1.0:
        return new
    return replace(old, **{name: value + step * (getattr(new, name) - value) for name, value in vars(old).items()})


def _check_pressures(high: TubeStream, low: TubeStream, held: _Held) -> None:
    for name, stream, outlet in (("high", high, held.high_pressure[0]), ("low", low, held.low_pressure[-1])):
        if outlet < LEAST_PRESSURE * stream.pressure:
            raise UnreachableError(
                f"the {name}-pressure stream loses more than {100 * (1 - LEAST_PRESSURE):.0f} % of its "
                f"{stream.pressure / 1e5:.4g} bar to friction; take wider, shorter or more tubes"
            )


def _march(trial: _Trial) -> March:
    lengths = trial.lengths
    high_film, low_film = trial.films
    overall, _ = trial.resistances
    return March(
        duty=trial.duty,
        position=np.concatenate([[0.0], np.cumsum(lengths)]),
        high_enthalpy=trial.h_high,
        low_enthalpy=trial.h_low,
        high_temperature=trial.t_high,
        low_temperature=trial.t_low,
        high_pressure=trial.held.high_pressure,
        low_pressure=trial.held.low_pressure,
        axial_heat=trial.held.axial_heat,
        leak=trial.held.leak,
        length=lengths,
        high_film=high_film,
        low_film=low_film,
        conductance=1.0 / overall,
    )


def _middle(values) -> np.ndarray:
    return 0.5 * (values[1:] + values[:-1])
