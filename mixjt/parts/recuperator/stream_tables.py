"""What a rating needs of one stream: its states along two isobars, and the transport properties of its phases.

Everything is tabulated against enthalpy on two isobars that enclose the stream's pressures, and read between
them linearly in the logarithm of pressure. So a rating asks the property model for a few hundred states once,
whatever the number of cells and tubes tried.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np

from mixjt.errors import ConvergenceError, InputError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.states import LIQUID
from mixjt.fluid.transport import transport_arrays
from mixjt.parts.recuperator.heat_transfer import (
    PhaseProperties,
    boiling_film,
    condensation_film,
    fin_efficiency,
    mixture_resistance,
    single_phase_film,
    single_phase_gradient,
    two_phase_gradient,
)
from mixjt.parts.recuperator.tubes import Channel

FINE = 320  # temperatures of the sweep
COARSE = 40  # temperatures where phases are looked at, and pairs around the changes of phase
ZOOM = 16  # parts into which a step of the sweep is cut where a phase appears
EVERY = 4  # of the coarse temperatures has the heat capacities of its phases worked out
MARGIN = 4.0  # K by which the tables reach beyond the inlet temperatures
CAPACITY_STEP = 0.5  # K for the heat capacity of a phase
REMEMBERED = 16  # streams whose tables are kept: circuits with other tubes ask for the same
MOST_LATENT = 0.5  # of the blend, evaporating within one step of the sweep: a pure fluid


@dataclass(frozen=True)
class IsobarTable:
    """Two isobars of a blend: pressures (2,) [Pa]; enthalpies [J/mol], temperatures [K], volumes [m3/mol] (2, m)."""

    pressures: np.ndarray
    enthalpies: np.ndarray
    temperatures: np.ndarray
    volumes: np.ndarray

    def at(self, name: str, enthalpy, pressure) -> np.ndarray:
        """A column at enthalpies [J/mol] and pressures [Pa], both (n,)."""
        return _between(self.pressures, self.enthalpies, getattr(self, name), enthalpy, pressure)


@dataclass(frozen=True)
class PhaseTable:
    """Phases along the two isobars, n points, of which the first `first` belong to the first isobar.

    quality is the mass fraction of vapour (nan where the one phase is not two); slope is dT/dh [K kg/J]; in
    single-phase points both phases hold the properties of the one there is.
    """

    first: int
    enthalpies: np.ndarray  # J/mol
    quality: np.ndarray
    slope: np.ndarray
    liquid: PhaseProperties
    vapour: PhaseProperties


@dataclass(frozen=True)
class StreamProperties:
    """A stream's blend between two temperatures around its pressures; independent of any tube."""

    isobars: IsobarTable
    phases: PhaseTable
    molar_mass: float  # kg/mol


class _BrokenLine:
    """A line through points (x, y), constant beyond its ends, with its integral."""

    def __init__(self, x, y):
        self.x, self.y = x, y
        self.slopes = np.diff(y) / np.diff(x)
        self.sums = np.concatenate([[0.0], np.cumsum(0.5 * (y[1:] + y[:-1]) * np.diff(x))])

    def means(self, faces) -> np.ndarray:
        """Mean over each of the cells between faces."""
        left = np.clip(np.searchsorted(self.x, faces) - 1, 0, len(self.x) - 2)
        inside = np.minimum(np.maximum(faces, self.x[0]), self.x[-1])
        step = inside - self.x[left]
        integral = self.sums[left] + step * (self.y[left] + 0.5 * self.slopes[left] * step)
        integral = integral + (faces - inside) * np.where(faces < inside, self.y[0], self.y[-1])
        return (integral[1:] - integral[:-1]) / (faces[1:] - faces[:-1])


@dataclass(frozen=True)
class FilmTable:
    """A stream in a channel, on the isobars of its properties; columns are pairs of arrays, one an isobar.

    coefficients [W/(m2 K)] with mixture resistance and fin efficiency, on the heated perimeter; gradients [Pa/m];
    qualities (nan in a single phase); reynolds of the single phase, or of the liquid alone.
    """

    pressures: np.ndarray
    enthalpies: tuple[np.ndarray, np.ndarray]
    coefficients: tuple[np.ndarray, np.ndarray]
    gradients: tuple[np.ndarray, np.ndarray]
    qualities: tuple[np.ndarray, np.ndarray]
    reynolds: tuple[np.ndarray, np.ndarray]

    def at(self, name: str, enthalpy, pressure) -> np.ndarray:
        """A column at enthalpies [J/mol] and pressures [Pa], both (n,)."""
        return _between(self.pressures, self.enthalpies, getattr(self, name), enthalpy, pressure)

    def mean_resistance(self, faces, pressure) -> np.ndarray:
        """Mean of 1/coefficient [m2 K/W] over each of n cells with enthalpies at their n + 1 faces; pressure (n,).

        A mean moves smoothly where a change of phase wanders from cell to cell, a value at the middle would jump.
        """
        return self._mean(self._resistances, faces, pressure)

    def mean_gradient(self, faces, pressure) -> np.ndarray:
        """Mean of the pressure gradient [Pa/m] over each cell; arguments as above."""
        return self._mean(self._gradients, faces, pressure)

    @cached_property
    def _resistances(self) -> list[_BrokenLine]:
        return [_BrokenLine(h, 1.0 / film) for h, film in zip(self.enthalpies, self.coefficients, strict=True)]

    @cached_property
    def _gradients(self) -> list[_BrokenLine]:
        return [_BrokenLine(h, gradient) for h, gradient in zip(self.enthalpies, self.gradients, strict=True)]

    def _mean(self, lines, faces, pressure) -> np.ndarray:
        first = lines[0].means(faces)
        if self.pressures[0] == self.pressures[1]:
            return first
        return first + self._share(pressure) * (lines[1].means(faces) - first)

    def _share(self, pressure) -> np.ndarray:
        """Weight of the second isobar, kept between the two and a little beyond."""
        share = np.log(np.asarray(pressure) / self.pressures[0]) / np.log(self.pressures[1] / self.pressures[0])
        return np.clip(share, -0.5, 1.5)


def stream_properties(
    fluid: Fluid, pressures: tuple[float, float], temperatures: tuple[float, float]
) -> StreamProperties:
    """Tabulate a blend for a stream of a recuperator.

    Parameters
    ----------
    fluid : Fluid
    pressures : (float, float)
        That of the inlet, and one at or beyond the expected outlet [Pa].
    temperatures : (float, float)
        Coldest and warmest inlet of the recuperator [K].

    Raises
    ------
    InputError
        For pressures that are not positive, and a fluid that evaporates at one temperature.
    ConvergenceError
        Where the property model has too few states.
    """
    pressures = np.asarray(pressures, dtype=float)
    if not np.all(pressures > 0.0):
        raise InputError(f"a stream needs positive pressures, got {pressures}")
    return _tabulated(fluid.model, fluid.z.tobytes(), *pressures.tolist(), *(float(t) for t in temperatures))


@lru_cache(REMEMBERED)
def _tabulated(model, z: bytes, first: float, second: float, coldest: float, warmest: float) -> StreamProperties:
    fluid, pressures, span = Fluid(model, np.frombuffer(z)), np.array([first, second]), (coldest - MARGIN, warmest + MARGIN)
    swept, changes = _swept(fluid, pressures, np.linspace(*span, FINE))
    isobars = _isobars(pressures, *swept)
    coarse = [np.unique(np.concatenate([np.linspace(*span, COARSE), pairs])) for pairs in changes]
    return StreamProperties(
        isobars, _phases(fluid, pressures, coarse, isobars), fluid.molar_mass
    )


def film_table(properties: StreamProperties, channel: Channel, mass_flux: float, condensing: bool) -> FilmTable:
    """Film coefficients and friction of a stream in a channel.

    Parameters
    ----------
    properties : StreamProperties
    channel : Channel
    mass_flux : float
        [kg/(m2 s)]
    condensing : bool
        Whether its two-phase stretch condenses (high-pressure side) or boils.
    """
    table, diameter = properties.phases, channel.hydraulic_diameter
    two = np.isfinite(table.quality)
    x = np.where(two, table.quality, 0.5)
    single = single_phase_film(channel, mass_flux, table.liquid)
    film = (condensation_film if condensing else boiling_film)(channel, mass_flux, x, table.liquid, table.vapour)
    resistance = mixture_resistance(channel, mass_flux, x, table.vapour, table.slope)
    coefficients = np.where(two, 1.0 / (1.0 / film + resistance), single)
    gradients = np.where(
        two,
        two_phase_gradient(channel, mass_flux, x, table.liquid, table.vapour),
        single_phase_gradient(channel, mass_flux, table.liquid),
    )
    if channel.fin_height > 0.0:
        coefficients = coefficients * fin_efficiency(channel, coefficients)
    reynolds = mass_flux * np.where(two, 1.0 - x, 1.0) * diameter / table.liquid.viscosity
    columns = (table.enthalpies, coefficients, gradients, table.quality, reynolds)
    return FilmTable(properties.isobars.pressures, *(tuple(np.split(column, [table.first])) for column in columns))


def _between(pressures, xs, ys, x, pressure) -> np.ndarray:
    """Read two rows at x and mix them by the logarithm of pressure."""
    first = np.interp(x, xs[0], ys[0])
    if pressures[0] == pressures[1]:
        return first
    share = np.log(np.asarray(pressure) / pressures[0]) / np.log(pressures[1] / pressures[0])
    return first + share * (np.interp(x, xs[1], ys[1]) - first)


def _swept(fluid, pressures, temperatures):
    """Temperatures (m,) and their sweep at both pressures, with the ends of the steps in which a phase appears."""
    found = _sweep(fluid, pressures, temperatures)
    steps = np.flatnonzero(np.any(np.diff(_signature(found), axis=1), axis=0))
    if steps.size:
        parts = np.arange(1, ZOOM) / ZOOM
        inner = temperatures[steps, None] + np.diff(temperatures)[steps, None] * parts
        temperatures = np.sort(np.concatenate([temperatures, inner.ravel()]))
        found = _sweep(fluid, pressures, temperatures)
    changes = [
        temperatures[np.unique([[k, k + 1] for k in np.flatnonzero(np.diff(row))]).astype(int)]
        for row in _signature(found)
    ]
    return (temperatures, found), changes


def _sweep(fluid, pressures, temperatures):
    return fluid.model.sweep(np.tile(fluid.z, (2, 1)), pressures[:, None], temperatures, strict=False)


def _signature(found) -> np.ndarray:
    """Tells liquid, vapour and their coexistence apart; how many liquids there are does not matter here."""
    return 2 * (found.liquid_count > 0) + (found.liquid_count < found.phase_count)


def _isobars(pressures, temperatures, found) -> IsobarTable:
    """The two isobars; states that failed are left out."""
    good = np.all(np.isfinite(found.enthalpy), axis=0)
    if np.count_nonzero(good) < 0.8 * len(temperatures):
        raise ConvergenceError(
            "the states along the recuperator", "try a slightly different state", pressure=float(pressures[0])
        )
    h, t = found.enthalpy[:, good], temperatures[good]
    if np.any(np.diff(h, axis=1) <= 0.0):
        raise ConvergenceError(
            "the rise of enthalpy with temperature along the recuperator", "try a slightly different state",
            pressure=float(pressures[0]),
        )  # fmt: skip
    if np.max(np.abs(np.diff(found.vapour_fraction[:, good], axis=1))) > MOST_LATENT:
        raise InputError(
            "a recuperator is rated for blends; this fluid evaporates or condenses at one temperature along it"
        )
    return IsobarTable(pressures, h, np.tile(t, (2, 1)), found.molar_volume[:, good])


def _phases(fluid, pressures, temperatures, isobars: IsobarTable) -> PhaseTable:
    """States at the coarse temperatures with the transport properties of their phases."""
    isobar_rows = [
        [fluid.tp(float(t), float(p)) for t in row] for row, p in zip(temperatures, pressures, strict=True)
    ]
    rows = []
    for states in isobar_rows:
        columns = _phase_columns(fluid.model, states)
        start = 0
        for state in states:
            rows.append(_merged(state, columns[start : start + len(state.phases)]))
            start += len(state.phases)
    quality, liquid, vapour = (np.array(column) for column in zip(*rows, strict=True))
    slopes = np.array([_slope(isobars, k, t) for k, row in enumerate(temperatures) for t in row])
    return PhaseTable(
        first=len(isobar_rows[0]),
        enthalpies=np.array([state.enthalpy for states in isobar_rows for state in states]),
        quality=quality,
        slope=slopes * fluid.molar_mass,
        liquid=PhaseProperties(*liquid.T),
        vapour=PhaseProperties(*vapour.T),
    )


def _slope(isobars: IsobarTable, row: int, temperature: float) -> float:
    """dT/dh [K mol/J] on one isobar, from the interval of the sweep that holds the temperature."""
    t, h = isobars.temperatures[row], isobars.enthalpies[row]
    right = int(np.clip(np.searchsorted(t, temperature), 1, len(t) - 1))
    return float((t[right] - t[right - 1]) / (h[right] - h[right - 1]))


def _phase_columns(model, states) -> np.ndarray:
    """Density, viscosity, conductivity, heat capacity of every phase, and its mass in a mole of blend; (phases, 5)."""
    listed = [(state, phase) for state in states for phase in state.phases]
    x = np.array([phase.composition for _, phase in listed])
    temperatures = np.array([state.temperature for state, _ in listed])
    volumes = np.array([phase.molar_volume for _, phase in listed])
    masses = x @ np.asarray(model.molar_masses)
    viscosity, conductivity = transport_arrays(model.gases, x, temperatures, volumes)
    is_liquid = np.array([phase.kind == LIQUID for _, phase in listed])
    capacity = np.empty(len(listed))
    for rows in (np.flatnonzero(is_liquid), np.flatnonzero(~is_liquid)):
        if rows.size:
            picked = rows[np.unique(np.append(np.arange(0, rows.size, EVERY), rows.size - 1))]
            known = [_capacity(model, *listed[k]) / masses[k] for k in picked]
            capacity[rows] = np.interp(rows, picked, known)
    fractions = np.array([phase.fraction for _, phase in listed]) * masses
    return np.column_stack([masses / volumes, viscosity, conductivity, capacity, fractions])


def _capacity(model, state, phase) -> float:
    """Heat capacity of a phase alone [J/(mol K)]: a step away from its boundary."""
    step = -CAPACITY_STEP if phase.kind == LIQUID else CAPACITY_STEP
    near = model.state_tp(np.asarray(phase.composition), state.temperature + step, state.pressure)
    return (near.enthalpy - phase.enthalpy) / step


def _merged(state, columns: np.ndarray) -> tuple:
    """Mass quality (nan in a single phase), and the properties of liquid and of vapour, four each.

    Two liquids count as one: volumes and heat capacities add, conductivity goes by mass, viscosity by the
    logarithm (common practice, no source).
    """
    is_liquid = np.array([phase.kind == LIQUID for phase in state.phases])
    mass = columns[:, 4] / columns[:, 4].sum()
    vapour = columns[~is_liquid][0, :4] if np.any(~is_liquid) else None
    liquid = None
    if np.any(is_liquid):
        share = mass[is_liquid] / mass[is_liquid].sum()
        rho, mu, k, cp = columns[is_liquid, :4].T
        liquid = np.array([1.0 / (share @ (1.0 / rho)), np.exp(share @ np.log(mu)), share @ k, share @ cp])
    if liquid is None or vapour is None:
        only = vapour if liquid is None else liquid
        return np.nan, only, only
    return float(mass[~is_liquid].sum()), liquid, vapour
