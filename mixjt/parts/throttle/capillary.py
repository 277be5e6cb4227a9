"""Capillary tube as a throttle: adiabatic homogeneous-equilibrium march with friction, kinetic energy and choking.

Mass flux G = u/v is constant along the tube. Energy and momentum of a stream that keeps its stagnation enthalpy:

    h + G^2 v^2 / 2 = h0
    -dp = G^2 dv + f G^2 v dL / (2 D)     =>     f dL / (2 D) = -dp / (G^2 v) - dv / v

so the march is over pressure: each pressure has its v, and each step its length. The flow chokes where dL/dp
comes to nought, the greatest length (and greatest entropy) that this flux can pass; the tube's end is there, and
the rest of the pressure is lost in the jet behind it. The entrance takes (1 + K) G^2 v / 2 of the pressure.

Sources: P. K. Bansal & A. S. Rupasinghe, Int. J. Refrig. 21 (1998) 223 and R. Y. Li, S. Lin, Z. Y. Chen & Z. H.
Chen, Int. J. Refrig. 13 (1990) 181, for the model of capillaries; choking as in any text on Fanno flow, e.g. A. H.
Shapiro, The Dynamics and Thermodynamics of Compressible Fluid Flow (1953), chapter 6 (all from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from mixjt.bounds import require, require_fields
from mixjt.errors import InputError, UnreachableError
from mixjt.fluid.roots import root_between
from mixjt.parts.recuperator.friction import darcy_factor
from mixjt.parts.throttle.expansion import ExpansionLine

SHARP_ENTRANCE = 0.5  # loss coefficient of a square-edged entrance: any handbook, e.g. Idelchik (from memory)
DRAWN_COPPER = 1.5e-6  # m, roughness of drawn tubing: L. F. Moody, Trans. ASME 66 (1944) 671
CAPILLARY_BAND = 0.25  # relative uncertainty of the flow: see docs/throttle.md


@dataclass(frozen=True)
class Capillary:
    """Tube of a throttle, or several equal ones side by side.

    diameter [m, inner], length [m], roughness [m]; parallel counts the tubes; entrance_loss is K.

    Raises
    ------
    InputError
        For a value that no tube has.
    """

    diameter: float
    length: float
    parallel: int = 1
    roughness: float = DRAWN_COPPER
    entrance_loss: float = SHARP_ENTRANCE

    def __post_init__(self):
        require_fields(self, "capillary", ("diameter", "length"), above=0.0)
        require_fields(self, "capillary", ("roughness", "entrance_loss"), least=0.0)
        if not self.roughness < 0.05 * self.diameter:
            raise InputError(f"capillary roughness must be below a twentieth of the diameter, got {self.roughness}")
        if isinstance(self.parallel, bool) or not isinstance(self.parallel, int) or self.parallel < 1:
            raise InputError(f"capillary parallel must be a whole number of tubes, at least 1, got {self.parallel}")

    @property
    def area(self) -> float:
        """Of all tubes together [m2]."""
        return 0.25 * math.pi * self.diameter**2 * self.parallel


@dataclass(frozen=True)
class CapillaryMarch:
    """A flux through a tube of one diameter; arrays (m,) from behind the entrance to the end of the tube.

    positions [m], pressures [Pa], volumes [m3/kg], temperatures [K], vapour_fractions [mol/mol], velocities [m/s],
    reynolds. choked says that the end is where the flux chokes, above the pressure behind the tube.
    """

    flux: float  # kg/(m2 s)
    choked: bool
    positions: np.ndarray
    pressures: np.ndarray
    volumes: np.ndarray
    temperatures: np.ndarray
    vapour_fractions: np.ndarray
    velocities: np.ndarray
    reynolds: np.ndarray

    @property
    def length(self) -> float:
        """To the end of the tube [m]."""
        return float(self.positions[-1])


def march(line: ExpansionLine, flux: float, tube: Capillary) -> CapillaryMarch:
    """March a mass flux down a tube until it chokes or reaches the last pressure of the line.

    Parameters
    ----------
    line : ExpansionLine
    flux : float
        [kg/(m2 s)]
    tube : Capillary
        Its length is not used: the length is the result.

    Raises
    ------
    UnreachableError
        Where this flux cannot enter the tube at all.
    """
    reach = _reach(line, flux, tube)
    if reach.length <= 0.0:
        raise UnreachableError(
            f"a mass flux of {flux:.4g} kg/(m2 s) cannot enter the tube: the entrance alone takes the whole pressure "
            "difference or chokes; a wider tube or more tubes are needed"
        )
    return _profile(line, reach, flux, tube)


def flow_of_length(line: ExpansionLine, tube: Capillary) -> float:
    """Mass flow [kg/s] through all tubes of given diameter and length, choked or not.

    Raises
    ------
    UnreachableError
        For a tube so long that its flow lies outside what the march covers.
    """
    top = line.greatest_flux
    low, high = math.log(1e-5 * top), math.log(top)

    def miss(log_flux):
        return _clipped(_reach(line, math.exp(log_flux), tube).length, tube.length)

    if miss(low) < 0.0:
        raise UnreachableError(
            f"a capillary of {tube.diameter * 1e3:.3g} mm and {tube.length:.4g} m passes next to nothing; give a shorter "
            "or wider one"
        )
    return math.exp(root_between(miss, low, high, 1e-10)) * tube.area


def length_of_flow(line: ExpansionLine, mass_flow: float, tube: Capillary) -> float:
    """Length [m] at which tubes of given diameter pass a mass flow [kg/s] in all.

    Raises
    ------
    InputError
        For a flow that is not positive.
    UnreachableError
        Where even the shortest tube of this diameter passes less.
    """
    require("capillary mass flow", mass_flow, above=0.0)
    length = _reach(line, mass_flow / tube.area, tube).length
    if length <= 0.0:
        least = diameter_of_flow(line, mass_flow, replace(tube, length=1e-3))
        raise UnreachableError(
            f"{tube.parallel} x {tube.diameter * 1e3:.3g} mm cannot pass {mass_flow * 1e3:.4g} g/s at any length; the "
            f"least diameter is {least * 1e3:.3g} mm, and a usual length needs more"
        )
    return length


def diameter_of_flow(line: ExpansionLine, mass_flow: float, tube: Capillary) -> float:
    """Inner diameter [m] at which tubes of given length and number pass a mass flow [kg/s] in all.

    Raises
    ------
    InputError
        For a flow that is not positive.
    UnreachableError
        Where the diameter lies outside 0.02 mm to 50 mm.
    """
    require("capillary mass flow", mass_flow, above=0.0)

    def miss(log_diameter):
        trial = replace(tube, diameter=math.exp(log_diameter))
        return _clipped(_reach(line, mass_flow / trial.area, trial).length, tube.length)

    low, high = math.log(max(2e-5, 21.0 * tube.roughness)), math.log(0.05)
    if not miss(low) < 0.0 < miss(high):
        raise UnreachableError(
            f"no diameter between {math.exp(low) * 1e3:.3g} and 50 mm passes {mass_flow * 1e3:.4g} g/s through "
            f"{tube.parallel} x {tube.length:.4g} m"
        )
    return math.exp(root_between(miss, low, high, 1e-10))


def _clipped(length: float, wanted: float) -> float:
    """Logarithm of a length over that wanted; a flux that cannot enter counts as far too short."""
    return math.log(length / wanted) if length > 1e-12 * wanted else -30.0


@dataclass(frozen=True)
class _Reach:
    """Where a flux gets to: lengths (n,) from behind the entrance, and the row of its end, whole or fractional."""

    lengths: np.ndarray
    volumes: np.ndarray
    entrance: float  # row, fractional
    end: float
    length: float
    choked: bool


def _reach(line: ExpansionLine, flux: float, tube: Capillary) -> _Reach:
    volumes = line.volumes_at_flux(flux)
    inertia = 0.5 * flux**2 * volumes
    entrance = _entrance(line.pressures, (1.0 + tube.entrance_loss) * inertia)
    if entrance is None:
        return _Reach(np.zeros_like(volumes), volumes, 0.0, 0.0, -1.0, True)
    lengths = _lengths(line, volumes, flux, tube)
    lengths = lengths - np.interp(entrance, np.arange(len(lengths)), lengths)
    first = math.ceil(entrance)
    best = first + int(np.argmax(lengths[first:]))
    if best == len(lengths) - 1:
        return _Reach(lengths, volumes, entrance, float(best), float(lengths[best]), False)
    if best == first:
        return _Reach(lengths, volumes, entrance, float(best), float(lengths[best]), True)
    end, length = _summit(line.pressures[best - 1 : best + 2], lengths[best - 1 : best + 2])
    return _Reach(lengths, volumes, entrance, best - 1 + end, length, True)


def _entrance(pressures, losses) -> float | None:
    """Row, fractional, of the pressure behind the entrance; None where the flux does not get through."""
    left = pressures[0] - pressures - losses
    through = np.flatnonzero(left >= 0.0)
    if through.size == 0:
        return None
    k = int(through[0])
    return k - 1 + left[k - 1] / (left[k - 1] - left[k])


def _lengths(line: ExpansionLine, volumes, flux: float, tube: Capillary) -> np.ndarray:
    """Length from the first pressure to each (n,) [m], trapezoidal in pressure; beyond choking it shrinks."""
    factor = darcy_factor(flux * tube.diameter / line.viscosities, tube.roughness / tube.diameter)
    density = 1.0 / volumes
    push = 0.5 * (density[1:] + density[:-1]) * (line.pressures[:-1] - line.pressures[1:]) / flux**2
    steps = 4.0 * tube.diameter / (factor[1:] + factor[:-1]) * (push - np.log(volumes[1:] / volumes[:-1]))
    return np.concatenate([[0.0], np.cumsum(steps)])


def _summit(pressures, lengths) -> tuple[float, float]:
    """Row (0 to 2, fractional) and length of the top of the parabola through three points."""
    x = (pressures - pressures[1]) / (pressures[0] - pressures[2])
    first = (lengths[1] - lengths[0]) / (x[1] - x[0])
    second = ((lengths[2] - lengths[1]) / (x[2] - x[1]) - first) / (x[2] - x[0])
    if not second < 0.0:
        return 1.0, float(lengths[1])
    top = 0.5 * (x[0] + x[1]) - 0.5 * first / second
    top = float(np.clip(top, x[2], x[0]))
    length = lengths[0] + first * (top - x[0]) + second * (top - x[0]) * (top - x[1])
    return float(np.interp(-top, -x, [0.0, 1.0, 2.0])), float(length)


def _profile(line: ExpansionLine, reach: _Reach, flux: float, tube: Capillary) -> CapillaryMarch:
    rows = np.arange(len(line.pressures), dtype=float)
    inner = rows[(rows > reach.entrance) & (rows < reach.end)]
    picked = np.concatenate([[reach.entrance], inner, [reach.end]])
    depth = 0.5 * (flux * reach.volumes) ** 2

    def along(values):
        return np.interp(picked, rows, values)

    positions = along(reach.lengths)
    positions[0], positions[-1] = 0.0, reach.length  # interpolation leaves rounding errors at the entrance
    volumes = along(reach.volumes)
    return CapillaryMarch(
        flux=flux,
        choked=reach.choked,
        positions=positions,
        pressures=along(line.pressures),
        volumes=volumes,
        temperatures=along(line.at_depth("temperatures", depth)),
        vapour_fractions=np.clip(along(line.at_depth("vapour_fractions", depth)), 0.0, 1.0),
        velocities=flux * volumes,
        reynolds=along(flux * tube.diameter / line.viscosities),
    )
