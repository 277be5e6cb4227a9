"""Rating and design of a recuperator made of tube: what a length gives, and what length a target needs.

Rating: inlet states, flow, tubes and length -> duty, outlets, smallest approach, pressure drops, UA. Design: the
length that has a UA. Both march the same cells (`mixjt.parts.recuperator.march`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from mixjt.bounds import require
from mixjt.errors import InputError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.states import State
from mixjt.parts.recuperator.march import (
    March,
    TubeStream,
    Wall,
    march_to_conductance,
    march_to_length,
)
from mixjt.parts.recuperator.stream_tables import FilmTable, StreamProperties, film_table, stream_properties
from mixjt.parts.recuperator.tubes import CELLS, Channel, ExchangerTubes

EXPECTED_DROP = 0.1  # of a stream's pressure, where nothing is known of its drop


@dataclass(frozen=True)
class StreamPair:
    """Both streams of a recuperator as they enter: properties, flow [mol/s], inlet enthalpies and pressures.

    Through leak_conductance [W/K] heat leaks in from ambient [K], spread evenly over the length.
    """

    high: StreamProperties
    low: StreamProperties
    molar_flow: float
    high_enthalpy: float
    high_pressure: float
    low_enthalpy: float
    low_pressure: float
    leak_conductance: float = 0.0
    ambient: float = 0.0


@dataclass(frozen=True)
class Rating:
    """A rated recuperator; arrays run from the cold end to the warm end, faces (n + 1,) and cells (n,).

    duty [W] is what the high-pressure stream gives; conductance is UA, the sum over the cells [W/K]; films
    [W/(m2 K)] on each side's own heated perimeter, fin efficiency and mixture resistance included;
    flux [W/m2] on the high side's perimeter; qualities are mass fractions of vapour, nan in a single phase; speeds
    [m/s] are of the homogeneous mixture. axial_heat is the greatest heat flow along the wall [W].
    """

    tubes: ExchangerTubes
    length: float
    duty: float
    conductance: float
    smallest_approach: float
    pinch_position: float  # m from the cold end
    pinch_temperature: float  # K, of the high side there
    high_outlet_temperature: float
    low_outlet_temperature: float
    high_outlet_enthalpy: float
    low_outlet_enthalpy: float
    high_drop: float  # Pa
    low_drop: float
    heat_leak: float  # W, along it
    axial_heat: float
    molar_flow: float
    molar_mass: float
    high_flux: float  # kg/(m2 s)
    low_flux: float
    position: np.ndarray
    high_enthalpy: np.ndarray
    low_enthalpy: np.ndarray
    high_temperature: np.ndarray
    low_temperature: np.ndarray
    high_pressure: np.ndarray
    low_pressure: np.ndarray
    cell_length: np.ndarray
    high_film: np.ndarray
    low_film: np.ndarray
    cell_conductance: np.ndarray  # W/(m K)
    flux: np.ndarray
    high_quality: np.ndarray
    low_quality: np.ndarray
    high_reynolds: np.ndarray
    low_reynolds: np.ndarray
    high_speed: np.ndarray
    low_speed: np.ndarray

    @property
    def energy_residual(self) -> float:
        """What the outlets miss of the energy balance, relative to the duty."""
        given = self.high_enthalpy[-1] - self.high_enthalpy[0]
        taken = self.low_enthalpy[-1] - self.low_enthalpy[0]
        return float(((taken - given) * self.molar_flow - self.heat_leak) / self.duty)

    @property
    def mass(self) -> float:
        """Metal [kg]."""
        return self.tubes.mass * self.length

    @property
    def sections(self) -> tuple[Rating, ...]:
        """Itself: it is not cut."""
        return (self,)


ADDED = ("length", "duty", "conductance", "high_drop", "low_drop", "heat_leak", "mass")


@dataclass(frozen=True)
class CutRating:
    """A rated recuperator that is cut into sections, the coldest first, whose positions count from its cold end.

    What is named as in `Rating` is of all sections together; axial_heat is the greatest, pinch_position of the closest.
    """

    sections: tuple[Rating, ...]
    tubes: ExchangerTubes
    length: float
    duty: float
    conductance: float
    high_drop: float
    low_drop: float
    heat_leak: float
    mass: float
    axial_heat: float
    pinch_position: float
    high_flux: float
    low_flux: float


def all_sections(ratings: Sequence[Rating]) -> Rating | CutRating:
    """Sections of one tube, the coldest first, as one recuperator; one alone is that itself."""
    if len(ratings) == 1:
        return ratings[0]
    starts = np.cumsum([0.0, *(one.length for one in ratings[:-1])])
    placed = tuple(
        replace(one, position=start + one.position, pinch_position=float(start + one.pinch_position))
        for one, start in zip(ratings, starts, strict=True)
    )
    first, tightest = placed[0], min(placed, key=lambda one: one.smallest_approach)
    return CutRating(
        sections=placed, tubes=first.tubes, axial_heat=max(one.axial_heat for one in placed),
        pinch_position=tightest.pinch_position, high_flux=first.high_flux, low_flux=first.low_flux,
        **{name: sum(getattr(one, name) for one in placed) for name in ADDED},
    )  # fmt: skip


def stream_pair(
    fluid: Fluid,
    molar_flow: float,
    high_inlet: State,
    low_inlet: State,
    high_drop: float | None = None,
    low_drop: float | None = None,
) -> StreamPair:
    """Tabulate both streams of a recuperator.

    Parameters
    ----------
    fluid : Fluid
    molar_flow : float
        [mol/s]
    high_inlet, low_inlet : State
        At the warm end from the aftercooler, at the cold end from the evaporator.
    high_drop, low_drop : float, optional
        Pressure drops expected [Pa]; they place the second isobar, the rating finds its own.

    Raises
    ------
    InputError
        For a flow that is not positive, or a high-side inlet not above the low-side inlet in temperature.
    ConvergenceError
    """
    require("molar flow", molar_flow, above=0.0)
    if not high_inlet.temperature > low_inlet.temperature:
        raise InputError(
            f"the high-pressure stream must enter warmer than the low-pressure stream: {high_inlet.temperature:.5g} K "
            f"is not above {low_inlet.temperature:.5g} K"
        )
    span = (low_inlet.temperature, high_inlet.temperature)

    def isobars(inlet: State, drop: float | None) -> tuple[float, float]:
        expected = EXPECTED_DROP * inlet.pressure if drop is None else drop
        return inlet.pressure, inlet.pressure - min(max(expected, 0.02 * inlet.pressure), 0.6 * inlet.pressure)

    return StreamPair(
        high=stream_properties(fluid, isobars(high_inlet, high_drop), span),
        low=stream_properties(fluid, isobars(low_inlet, low_drop), span),
        molar_flow=molar_flow,
        high_enthalpy=high_inlet.enthalpy,
        high_pressure=high_inlet.pressure,
        low_enthalpy=low_inlet.enthalpy,
        low_pressure=low_inlet.pressure,
    )


def rate_recuperator(
    pair: StreamPair,
    tubes: ExchangerTubes,
    length: float,
    cells: int = CELLS,
    film_factor: float = 1.0,
    friction_factor: float = 1.0,
) -> Rating:
    """What a recuperator of given tubes and length does.

    Parameters
    ----------
    pair : StreamPair
    tubes : ExchangerTubes
    length : float
        [m]
    cells : int
        At least 4.
    film_factor, friction_factor : float
        Multiply what the correlations give, to see what their band means.

    Raises
    ------
    InputError
        For a length or number of cells that cannot be.
    UnreachableError
        Where a stream loses its pressure on the way.
    ConvergenceError
    """
    require("length of the recuperator", length, above=0.0)
    parts = _parts(pair, tubes, cells, film_factor, friction_factor)
    return _rating(pair, tubes, *parts[:2], march_to_length(*parts, float(length), cells))


def design_recuperator(
    pair: StreamPair,
    tubes: ExchangerTubes,
    conductance: float,
    cells: int = CELLS,
    film_factor: float = 1.0,
    friction_factor: float = 1.0,
) -> Rating:
    """The recuperator of given tubes that is just long enough for a UA [W/K].

    Parameters as in `rate_recuperator`.

    Raises
    ------
    InputError, UnreachableError, ConvergenceError
    """
    require("conductance of the recuperator", conductance, above=0.0)
    parts = _parts(pair, tubes, cells, film_factor, friction_factor)
    return _rating(pair, tubes, *parts[:2], march_to_conductance(*parts, float(conductance), cells))


def _parts(pair, tubes, cells, film_factor, friction_factor) -> tuple[TubeStream, TubeStream, Wall]:
    if isinstance(cells, bool) or not isinstance(cells, int) or cells < 4:
        raise InputError(f"a rating needs at least 4 cells, got {cells}")
    require("heat leak", pair.leak_conductance, least=0.0)
    factors = {"film_factor": film_factor, "friction_factor": friction_factor}
    for name, factor in factors.items():
        require(name, factor, above=0.0)
    high = _stream(pair.high, tubes.high, pair.molar_flow, pair.high_enthalpy, pair.high_pressure, True)
    low = _stream(pair.low, tubes.low, pair.molar_flow, pair.low_enthalpy, pair.low_pressure, False)
    wall = Wall(tubes.wall_resistance, tubes.axial_conductance, pair.leak_conductance, pair.ambient, tubes.low_leak_share)
    return replace(high, **factors), replace(low, **factors), wall


def _stream(
    properties: StreamProperties, channel: Channel, molar_flow: float, enthalpy: float, pressure: float, is_high: bool
) -> TubeStream:
    flux = molar_flow * properties.molar_mass / channel.flow_area
    films: FilmTable = film_table(properties, channel, flux, condensing=is_high)
    return TubeStream(
        isobars=properties.isobars, films=films, molar_flow=molar_flow, enthalpy=enthalpy, pressure=pressure,
        perimeter=channel.heated_perimeter, mass_flux=flux, molar_mass=properties.molar_mass,
    )  # fmt: skip


def _rating(pair, tubes, high: TubeStream, low: TubeStream, solved: March) -> Rating:
    difference = solved.high_temperature - solved.low_temperature
    at = int(np.argmin(difference))
    return Rating(
        tubes=tubes,
        length=float(solved.position[-1]),
        duty=solved.duty,
        conductance=float(np.sum(solved.conductance * solved.length)),
        smallest_approach=float(difference[at]),
        pinch_position=float(solved.position[at]),
        pinch_temperature=float(solved.high_temperature[at]),
        high_outlet_temperature=float(solved.high_temperature[0]),
        low_outlet_temperature=float(solved.low_temperature[-1]),
        high_outlet_enthalpy=float(solved.high_enthalpy[0]),
        low_outlet_enthalpy=float(solved.low_enthalpy[-1]),
        high_drop=float(high.pressure - solved.high_pressure[0]),
        low_drop=float(low.pressure - solved.low_pressure[-1]),
        heat_leak=float(solved.leak[-1]),
        axial_heat=float(np.max(np.abs(solved.axial_heat))),
        molar_flow=pair.molar_flow,
        molar_mass=pair.high.molar_mass,
        high_flux=high.mass_flux,
        low_flux=low.mass_flux,
        position=solved.position,
        high_enthalpy=solved.high_enthalpy,
        low_enthalpy=solved.low_enthalpy,
        high_temperature=solved.high_temperature,
        low_temperature=solved.low_temperature,
        high_pressure=solved.high_pressure,
        low_pressure=solved.low_pressure,
        cell_length=solved.length,
        high_film=solved.high_film,
        low_film=solved.low_film,
        cell_conductance=solved.conductance,
        flux=solved.duty / len(solved.length) / (solved.length * high.perimeter),
        **_side_columns("high", high, solved.high_enthalpy, solved.high_pressure),
        **_side_columns("low", low, solved.low_enthalpy, solved.low_pressure),
    )


def _side_columns(side: str, stream: TubeStream, enthalpies, pressures) -> dict[str, np.ndarray]:
    """Quality, Reynolds number and speed of one stream in the cells."""
    h, p = 0.5 * (enthalpies[1:] + enthalpies[:-1]), 0.5 * (pressures[1:] + pressures[:-1])
    volume = stream.isobars.at("volumes", h, p) / stream.molar_mass
    return {
        f"{side}_quality": stream.films.at("qualities", h, p),
        f"{side}_reynolds": stream.films.at("reynolds", h, p),
        f"{side}_speed": stream.mass_flux * volume,
    }
