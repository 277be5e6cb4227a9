"""What a throttle needs to know of its fluid: properties against falling pressure at the inlet's enthalpy.

A stream in a throttle keeps h + u^2/2 (adiabatic tube). Along the path h = h0 each state is tabulated with two
neighbours of less enthalpy on the same isobar, which cover the kinetic energy of every flow up to choking. A march
then finds its volume at h0 - u^2/2 by a parabola through the three: the property model is called once for an inlet
state, and each march costs a tenth of a millisecond.

Vapour and liquid flow at one velocity and in equilibrium (homogeneous equilibrium model).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from mixjt.errors import ConvergenceError, InputError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.states import VAPOUR, State
from mixjt.fluid.transport import phase_viscosities
from mixjt.parts.recuperator.friction import TWO_PHASE_VISCOSITIES
from mixjt.parts.throttle.expansion_path import (
    STEP,
    Path,
    guesses,
    path_at,
    path_by_states,
    path_by_sweeps,
    swept,
)

SCAN = 24  # points in which changes of phase are looked for
LEARNT_STEP = 0.25  # K, that a guess between states of the scan is off
SPLITS, ZOOMS = 12, 3  # a change of phase is enclosed to (1/12)^3 of a scan step
FEW, FEW_ZOOMS = 24, 1  # points of a table from which a flow is wanted to 0.1 %, and how often that is enclosed there
VISCOSITY_POINTS = 16
CHECK_TOLERANCE = 0.5  # J/mol by which a sweep may differ from a flash of its own
BEYOND = 3.0  # a flux past choking is followed to this many times the tabulated depth, then held
LEAST_ENERGY = 10.0  # J/kg, spacing of the enthalpy neighbours where velocities are small


@dataclass(frozen=True)
class ExpansionLine:
    """Properties along the path of the inlet's enthalpy; n pressures falling, per mass.

    enthalpies, volumes, temperatures and vapour_fractions (molar) have shape (n, 3): on the path, and at two lesser
    enthalpies of the same pressure. viscosities (n,) belong to the path.
    """

    gases: tuple[str, ...]
    composition: np.ndarray
    inlet: State
    molar_mass: float  # kg/mol
    pressures: np.ndarray  # Pa
    enthalpies: np.ndarray  # J/kg
    volumes: np.ndarray  # m3/kg
    temperatures: np.ndarray  # K
    vapour_fractions: np.ndarray
    viscosities: np.ndarray  # Pa s

    @cached_property
    def greatest_flux(self) -> float:
        """Mass flux [kg/(m2 s)] of the ideal nozzle, which no tube with this inlet can exceed."""
        return float(np.max(self.nozzle_fluxes()))

    def nozzle_fluxes(self) -> np.ndarray:
        """Mass flux u/v (n,) [kg/(m2 s)] of a frictionless nozzle whose throat has each pressure.

        Source: integral of v dp along the isentrope, homogeneous equilibrium; API 520 part I annex on two-phase
        relief, "homogeneous direct integration" (from memory).
        """
        energy, volume = np.zeros(len(self.pressures)), self.volumes[:, 0].copy()
        for k in range(1, len(volume)):
            step = self.pressures[k - 1] - self.pressures[k]
            guess = energy[k - 1] + volume[k - 1] * step
            for _ in range(3):
                here = self.at_depth("volumes", np.array([guess]), slice(k, k + 1))[0]
                guess = energy[k - 1] + 0.5 * (volume[k - 1] + here) * step
            energy[k], volume[k] = guess, here
        return np.sqrt(2.0 * energy) / volume

    def at_depth(self, name: str, depth, rows=slice(None)) -> np.ndarray:
        """A tabulated property at the path's enthalpy less `depth` [J/kg], by Newton's parabola."""
        h, y = self.enthalpies[rows], getattr(self, name)[rows]
        first = (y[:, 1] - y[:, 0]) / (h[:, 1] - h[:, 0])
        second = ((y[:, 2] - y[:, 1]) / (h[:, 2] - h[:, 1]) - first) / (h[:, 2] - h[:, 0])
        return y[:, 0] - depth * (first + second * (h[:, 0] - depth - h[:, 1]))

    def volumes_at_flux(self, flux: float) -> np.ndarray:
        """Specific volume (n,) where a mass flux [kg/(m2 s)] takes its kinetic energy from the enthalpy."""
        volume = self.volumes[:, 0].copy()
        deepest = BEYOND * (self.enthalpies[:, 0] - self.enthalpies[:, 2])
        for _ in range(12):
            depth = np.minimum(0.5 * (flux * volume) ** 2, deepest)
            found, slope = self.at_depth("volumes", depth), self._slope(depth)
            step = (volume - found) / (1.0 + flux**2 * volume * slope)
            volume = np.clip(volume - step, 0.05 * volume, None)
            if np.all(np.abs(step) <= 1e-12 * volume):
                break
        return volume

    def _slope(self, depth) -> np.ndarray:
        """dv/dh at constant pressure, at least a little above nought."""
        step = np.maximum(1e-3 * np.abs(depth), 1.0)
        return np.maximum((self.at_depth("volumes", depth) - self.at_depth("volumes", depth + step)) / step, 0.0)


def expansion_line(
    fluid: Fluid,
    inlet: State,
    lowest_pressure: float,
    points: int = 64,
    viscosity: str = "McAdams",
    removed=None,
    near: ExpansionLine | None = None,
) -> ExpansionLine:
    """Tabulate the expansion of an inlet state down to a pressure.

    Parameters
    ----------
    fluid : Fluid
    inlet : State
        Stagnation state before the throttle; subcooled, two-phase or vapour.
    lowest_pressure : float
        [Pa], that after the throttle.
    points : int
        Pressures, shared among the stretches between changes of phase; at least 16.
    viscosity : str
        A key of `friction.TWO_PHASE_VISCOSITIES`.
    removed : callable, optional
        Heat taken from the stream per mole [J/mol] on its way down to given pressures (m,); none by default.
    near : ExpansionLine, optional
        Of a similar inlet, to start from.

    Raises
    ------
    InputError
        For a pressure not below the inlet's, an unknown viscosity, or too few points.
    UnreachableError, ConvergenceError
        From the property model.
    """
    if not 0.0 < lowest_pressure < inlet.pressure:
        raise InputError(
            f"the pressure after a throttle must be below that before it: {lowest_pressure / 1e5:.4g} bar is not "
            f"below {inlet.pressure / 1e5:.4g} bar"
        )
    if viscosity not in TWO_PHASE_VISCOSITIES:
        raise InputError(f"two-phase viscosity '{viscosity}' is not one of {', '.join(TWO_PHASE_VISCOSITIES)}")
    if points < 16:
        raise InputError(f"an expansion needs at least 16 points, got {points}")
    finder = _Finder(fluid, inlet, removed, near)
    pressures = _nodes(finder, inlet.pressure, lowest_pressure, points)
    path = finder.at(pressures)
    try:
        return _table(fluid, inlet, finder, path, viscosity)
    except _Mistrust:
        finder.by_states = True
        return _table(fluid, inlet, finder, finder.at(pressures), viscosity)


class _Mistrust(Exception):
    """A sweep along the path gave another state than a flash of its own."""


class _Finder:
    """States of the path at any pressures, by sweeps where the model has them, or else one by one."""

    def __init__(self, fluid, inlet: State, removed, near: ExpansionLine | None):
        self.inlet, self.removed = inlet, removed
        self.by_states = not swept(fluid)
        self.fluid = fluid
        self._known, self._step = None, STEP
        if near is not None:
            warmer, share = inlet.temperature - near.inlet.temperature, inlet.pressure / near.inlet.pressure
            self._known = (-np.log(share * near.pressures), near.temperatures[:, 0] + warmer)

    def target(self, pressures) -> np.ndarray:
        """Enthalpies of the path [J/mol]."""
        taken = 0.0 if self.removed is None else self.removed(pressures)
        return self.inlet.enthalpy - taken + np.zeros(len(pressures))

    def at(self, pressures) -> Path:
        """States of the path."""
        targets = self.target(pressures)
        if not self.by_states:
            path = path_by_sweeps(self.fluid, targets, pressures, self._guess(pressures), self._step)
            if path is not None:
                return path
            self.by_states = True
        return path_by_states(self.fluid, targets, pressures)

    def below(self, path: Path, depth) -> Path:
        """Neighbours on the same isobars with enthalpies less by about depth [J/mol]."""
        if not self.by_states:
            careful = self.fluid.careful()
            near = path_at(careful, path.temperatures - 0.2, path.pressures)
            capacity = (path.enthalpies - near.enthalpies) / 0.2
            found = path_at(careful, path.temperatures - depth / capacity, path.pressures)
            met = (path.enthalpies - found.enthalpies) / depth
            if np.all((met > 0.2) & (met < 5.0)):
                return found
            guess = np.where(np.isfinite(found.enthalpies), found.temperatures, path.temperatures)
            solved = path_by_sweeps(self.fluid, path.enthalpies - depth, path.pressures, guess)
            if solved is not None:
                return solved
        return path_by_states(self.fluid, path.enthalpies - depth, path.pressures)

    def _guess(self, pressures):
        if self._known is None:
            ends = np.geomspace(self.inlet.pressure, np.min(pressures), SCAN)
            guess = guesses(self.fluid, self.target(ends), ends, self.inlet.temperature)
            self._known = (-np.log(ends), guess)
        return np.interp(-np.log(pressures), *self._known)

    def learn(self, path: Path) -> None:
        """Take a solved path as the source of later guesses."""
        self._known, self._step = (-np.log(path.pressures), path.temperatures), LEARNT_STEP


def _nodes(finder: _Finder, highest: float, lowest: float, points: int) -> np.ndarray:
    """Pressures of the table: every change of phase has one on each side, and they crowd after a first vapour."""
    scan = finder.at(np.geomspace(highest, lowest, min(SCAN, points)))
    finder.learn(scan)
    breaks = [highest]
    for k in np.flatnonzero(np.diff(scan.signatures)):
        above, below = scan.pressures[k], scan.pressures[k + 1]
        before = scan.signatures[k]
        for _ in range(ZOOMS if points > FEW else FEW_ZOOMS):
            inner = finder.at(np.linspace(above, below, SPLITS + 1)[1:-1])
            changed = np.append(inner.signatures != before, True)
            first = int(np.argmax(changed))
            edges = np.linspace(above, below, SPLITS + 1)
            above, below = edges[first], edges[first + 1]
        breaks += [above, below]
    breaks.append(lowest)
    edges = np.unique(breaks)[::-1]
    spans = np.log(edges[:-1] / edges[1:])
    parts = []
    for high, low, span in zip(edges[:-1], edges[1:], spans, strict=True):
        count = max(2 if span < 1e-3 else 6, round(points * span / spans.sum()))
        share = np.linspace(0.0, 1.0, count) ** 1.5
        parts.append(high * (low / high) ** share)
    return np.concatenate([parts[0], *(part[1:] for part in parts[1:])])


def _table(fluid, inlet, finder: _Finder, path: Path, viscosity: str) -> ExpansionLine:
    molar_mass = fluid.molar_mass
    depth = _depths(path, molar_mass)
    columns = (path, finder.below(path, 0.5 * depth), finder.below(path, depth))

    def stacked(name):
        return np.array([getattr(column, name) for column in columns]).T

    volumes = stacked("molar_volumes") / molar_mass
    if not (np.all(np.isfinite(volumes)) and np.all(volumes > 0.0)):
        raise ConvergenceError("the expansion of the throttle", "try a slightly different state", p=inlet.pressure)
    return ExpansionLine(
        gases=fluid.gases,
        composition=fluid.z,
        inlet=inlet,
        molar_mass=molar_mass,
        pressures=path.pressures,
        enthalpies=stacked("enthalpies") / molar_mass,
        volumes=volumes,
        temperatures=stacked("temperatures"),
        vapour_fractions=stacked("vapour_fractions"),
        viscosities=_viscosities(fluid, finder, path, viscosity),
    )


def _depths(path: Path, molar_mass: float) -> np.ndarray:
    """Enthalpy [J/mol] that kinetic energy can take at each pressure: up to choking, or to the ideal nozzle."""
    p, v = path.pressures, path.molar_volumes / molar_mass
    slope = np.gradient(v, p)
    choked = 0.7 * v**2 / np.maximum(-slope, 1e-30)
    energy = np.concatenate([[0.0], np.cumsum(0.5 * (v[1:] + v[:-1]) * -np.diff(p))])
    flux = np.max(np.sqrt(2.0 * energy) / v)
    return molar_mass * np.maximum(np.minimum(choked, 0.5 * (flux * v) ** 2), LEAST_ENERGY)


def _viscosities(fluid, finder: _Finder, path: Path, name: str) -> np.ndarray:
    """Viscosity (n,) [Pa s] from states at some of the pressures, interpolated as 1/mu in the logarithm of pressure."""
    ends = np.flatnonzero(np.diff(path.signatures))
    even = np.linspace(0, len(path.pressures) - 1, VISCOSITY_POINTS).round().astype(int)
    picked = np.unique(np.concatenate([even, ends, ends + 1]))
    states = [_flashed(fluid, finder, path, k) for k in picked]
    single = iter(phase_viscosities(fluid.model, states))
    rule = TWO_PHASE_VISCOSITIES[name]
    found = [_state_viscosity(fluid, state, [next(single) for _ in state.phases], rule) for state in states]
    position = -np.log(path.pressures)
    return 1.0 / np.interp(position, position[picked], 1.0 / np.array(found))


def _flashed(fluid, finder: _Finder, path: Path, k: int) -> State:
    """The state of a point by a flash of its own, which also checks the sweep."""
    pressure = float(path.pressures[k])
    if finder.by_states:
        return fluid.hp(float(path.enthalpies[k]), pressure)
    state = fluid.tp(float(path.temperatures[k]), pressure)
    if abs(state.enthalpy - path.enthalpies[k]) > CHECK_TOLERANCE:
        raise _Mistrust
    return state


def _state_viscosity(fluid, state: State, values: list[float], rule) -> float:
    """Viscosity [Pa s] of a state from those of its phases: the two-phase rule on all liquid and all vapour."""
    masses = [phase.fraction * float(phase.composition @ fluid.model.molar_masses) for phase in state.phases]
    volumes = [
        phase.fraction * phase.molar_volume / mass for phase, mass in zip(state.phases, masses, strict=True)
    ]
    gas = [phase.kind == VAPOUR for phase in state.phases]
    liquid, vapour = _pooled(masses, values, volumes, gas, False), _pooled(masses, values, volumes, gas, True)
    if vapour is None or liquid is None:
        return (liquid or vapour)[1]
    quality = vapour[0] / (vapour[0] + liquid[0])
    return rule(quality, liquid[1], vapour[1], liquid[2], vapour[2])


def _pooled(masses, values, volumes, gas, wanted: bool):
    """Mass, viscosity and specific volume of all phases of one kind; None where there is none."""
    rows = [k for k, kind in enumerate(gas) if kind == wanted and masses[k] > 0.0]
    if not rows:
        return None
    mass = sum(masses[k] for k in rows)
    fluidity = sum(masses[k] / values[k] for k in rows) / mass
    return mass, 1.0 / fluidity, sum(masses[k] * volumes[k] for k in rows) / mass
