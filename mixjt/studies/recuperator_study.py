"""A recuperator of real tube in its circuit: what it does, what the band of the correlations means, what to buy."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from mixjt.bounds import require_fields
from mixjt.circuit.machine import ThrottleCircuit
from mixjt.circuit.rated import RatedCircuit, solve_rated_circuit
from mixjt.errors import ConvergenceError, InputError, UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.keys import TEXT, WHOLE, key
from mixjt.parts.recuperator.heat_transfer import FILM_BAND, LAMINAR
from mixjt.parts.recuperator.tube_rating import (
    CELLS,
    Rating,
    StreamPair,
    design_recuperator,
    rate_recuperator,
)
from mixjt.parts.recuperator.tubes import (
    METALS,
    RECUPERATOR_KINDS,
    STANDARD_TUBES,
    TUBE_IN_TUBE,
    ExchangerTubes,
    Tube,
    exchanger_tubes,
)

TRADE_CELLS = 40
LENGTH_RATIOS = (0.25, 0.35, 0.5, 0.7, 1.0, 1.4, 2.0, 2.8)
# Common practice, no source: of the vapour that carries oil home, and of what does not yet howl.
SLOWEST_SUCTION, FASTEST_SUCTION = 2.5, 15.0  # m/s
LARGEST_SHARE = 0.10  # of the suction pressure lost on the low side (common practice, no source)
TRIED_SUCTION = (0.5, 20.0)  # m/s at the low-side outlet of the tubes offered
TRIED_FLUX = (15.0, 800.0)  # kg/(m2 s) in the high side of the tubes offered
SHORTEST_GAP = 0.5e-3  # m between nested tubes, which nobody keeps open in a bend below it (common practice)
MOST_OFFERED = 24
MOST_LOST = 0.25  # of a stream's outlet pressure, by the tubes offered


@dataclass(frozen=True)
class RecuperatorRequest:
    """Tubes of a recuperator, and its length or the approach it is to reach.

    Parameters as in `mixjt.parts.recuperator.tubes.exchanger_tubes`; length [m] is None to have it found for approach [K];
    heat_leak [W]; norm is a key of STANDARD_TUBES, from which tubes are offered, or None for all.

    Raises
    ------
    InputError
        For tubes that do not fit, an unknown material, a length that is not positive.
    """

    kind: str = key(TEXT, "how the tubes lie", choices=RECUPERATOR_KINDS)
    small: Tube
    large: Tube
    count: int = key(WHOLE, "small tubes in parallel", at="number", default=1, within="[1, 50]")
    material: str = key(TEXT, "the metal of all tubes", default="copper", choices=tuple(METALS))
    high_in_small: bool = key(
        TEXT, "which tubes the high-pressure stream flows in", at="high_pressure_in", default=True,
        choices={"small": True, "large": False},
    )
    joint_width: float = key(
        "length", "width of a solder seam; soldered tubes only", default=3e-3, within="(0, 0.1]"
    )
    length: float | None = key(
        "length", "of the exchanger", default=None, within="(0, 1000]", otherwise="found for target_approach"
    )
    approach: float = key(
        "temperature_difference", "smallest difference to reach", at="target_approach", default=3.0, within="(0, 60]",
        otherwise="approach of [recuperator]",
    )
    heat_leak: float = key("power", "heat from outside, spread over the length", default=0.0, within="[0, 1e4]")
    cells: int = key(WHOLE, "cells of the rating", default=CELLS, within="[4, 2000]")
    norm: str | None = key(
        TEXT, "the norm of the tubes offered in comparison", at="tube_norm", default=None,
        choices=tuple(STANDARD_TUBES), otherwise="all known",
    )

    def __post_init__(self):
        self.tubes_of(self.small, self.large)
        require_fields(self, "recuperator", ("length", "approach"), optional=True, above=0.0)
        if self.norm is not None and self.norm not in STANDARD_TUBES:
            raise InputError(f"unknown norm '{self.norm}'; known are {', '.join(STANDARD_TUBES)}")

    @property
    def tubes(self) -> ExchangerTubes:
        """Its own tubes."""
        return self.tubes_of(self.small, self.large)

    def tubes_of(self, small: Tube, large: Tube) -> ExchangerTubes:
        """The same construction of other tubes."""
        return exchanger_tubes(
            self.kind, small, large, self.count, self.material, self.high_in_small, self.joint_width
        )


@dataclass(frozen=True)
class LengthPoint:
    """What another length of the same tubes does, at the same inlet states and flow."""

    length: float  # m
    smallest_approach: float  # K
    duty: float  # W
    cooling_power: float  # W, at the stated flow
    high_drop: float  # Pa
    low_drop: float


@dataclass(frozen=True)
class Offer:
    """Tubes one can buy, and the length of them that reaches the approach."""

    norm: str
    small: Tube
    large: Tube
    length: float
    high_drop: float
    low_drop: float
    suction_share: float  # low-side drop over suction pressure
    suction_speed: float  # m/s, at the low-side outlet
    mass: float  # kg of metal


@dataclass(frozen=True)
class RecuperatorResult:
    """A recuperator in its circuit.

    weak and strong are ratings of the same length with film coefficients less and greater by BAND; weak_length and
    strong_length are the lengths [m] that then reach the same approach, None where none does. offers are for
    the request's approach.
    """

    request: RecuperatorRequest
    solved: RatedCircuit
    weak: Rating
    strong: Rating
    weak_length: float | None
    strong_length: float | None
    lengths: tuple[LengthPoint, ...]
    offers: tuple[Offer, ...]
    warnings: tuple[str, ...]


def solve_recuperator(
    fluid: Fluid, circuit: ThrottleCircuit, request: RecuperatorRequest
) -> RecuperatorResult:
    """Solve a circuit with a recuperator of given tubes, and look at its neighbours.

    Raises
    ------
    InputError
        For a circuit with a precooler or separator, whose recuperator has two sections.
    UnreachableError, ConvergenceError
        From the rating.
    """
    if type(circuit) is not ThrottleCircuit:
        raise InputError("a recuperator of tube is rated for the plain circuit; leave out precooler and separator")
    tubes = request.tubes
    goal = {"approach": request.approach} if request.length is None else {"length": request.length}
    solved = solve_rated_circuit(fluid, circuit, tubes, heat_leak=request.heat_leak, cells=request.cells, **goal)
    pair, rating = solved.pair, solved.rating
    weak, strong = (
        rate_recuperator(pair, tubes, rating.length, request.heat_leak, request.cells, film_factor=factor)
        for factor in (1.0 - FILM_BAND, 1.0 + FILM_BAND)
    )
    return RecuperatorResult(
        request=request,
        solved=solved,
        weak=weak,
        strong=strong,
        weak_length=_needed(pair, tubes, rating.smallest_approach, request, 1.0 - FILM_BAND),
        strong_length=_needed(pair, tubes, rating.smallest_approach, request, 1.0 + FILM_BAND),
        lengths=tuple(_lengths(pair, tubes, rating.length, request)),
        offers=tuple(_offers(pair, request)),
        warnings=recuperator_warnings(rating, solved.circuit.suction_pressure),
    )


def _needed(pair: StreamPair, tubes, approach: float, request: RecuperatorRequest, factor: float) -> float | None:
    try:
        return design_recuperator(
            pair, tubes, approach=approach, heat_leak=request.heat_leak, cells=request.cells, film_factor=factor
        ).length
    except (UnreachableError, ConvergenceError):
        return None


def _lengths(pair: StreamPair, tubes, length: float, request: RecuperatorRequest) -> Iterator[LengthPoint]:
    """Shorter and longer ones, as far as they can be rated."""
    for ratio in LENGTH_RATIOS:
        try:
            rated = rate_recuperator(pair, tubes, ratio * length, request.heat_leak, TRADE_CELLS)
        except (UnreachableError, ConvergenceError):
            continue
        cooling = (pair.low_enthalpy - rated.high_outlet_enthalpy) * pair.molar_flow
        yield LengthPoint(
            rated.length, rated.smallest_approach, rated.duty, cooling, rated.high_drop, rated.low_drop
        )


def _offers(pair: StreamPair, request: RecuperatorRequest) -> list[Offer]:
    """The tubes one can buy that reach the approach for a bearable loss of pressure, least metal first."""
    approach = request.approach
    found = []
    for norm, small, large, tubes in _candidates(pair, request):
        try:
            rated = design_recuperator(pair, tubes, approach=approach, heat_leak=request.heat_leak, cells=TRADE_CELLS)
        except (UnreachableError, ConvergenceError):
            continue
        outlet = float(rated.low_pressure[-1])
        if rated.low_drop > MOST_LOST * outlet or rated.high_drop > MOST_LOST * float(rated.high_pressure[0]):
            continue
        found.append(
            Offer(norm, small, large, rated.length, rated.high_drop, rated.low_drop, rated.low_drop / outlet,
                  float(rated.low_speed[-1]), rated.mass)
        )  # fmt: skip
    return sorted(found, key=lambda offer: offer.mass)[:MOST_OFFERED]


def _candidates(pair: StreamPair, request: RecuperatorRequest):
    """Pairs of tubes of one norm that fit each other and give speeds worth a look."""
    mass_flow = pair.molar_flow * pair.low.molar_mass
    isobars = pair.low.isobars
    suction_volume = float(isobars.at("volumes", isobars.enthalpies.max(), pair.low_pressure)) / pair.low.molar_mass
    for norm in STANDARD_TUBES if request.norm is None else (request.norm,):
        sizes = [Tube(*size) for size in STANDARD_TUBES[norm]]
        for small in sizes:
            for large in sizes:
                if request.kind == TUBE_IN_TUBE and large.bore - small.outer_diameter < 2.0 * SHORTEST_GAP:
                    continue
                try:
                    tubes = request.tubes_of(small, large)
                except InputError:
                    continue
                speed = mass_flow * suction_volume / tubes.low.flow_area
                flux = mass_flow / tubes.high.flow_area
                if TRIED_SUCTION[0] <= speed <= TRIED_SUCTION[1] and TRIED_FLUX[0] <= flux <= TRIED_FLUX[1]:
                    yield norm, small, large, tubes


def recuperator_warnings(rating: Rating, suction_pressure: float) -> tuple[str, ...]:
    """What is doubtful about a rated recuperator, in sentences."""
    found = []
    share = rating.low_drop / suction_pressure
    if share > LARGEST_SHARE:
        found.append(
            f"the low side loses {100 * share:.0f} % of the suction pressure, more than the "
            f"{100 * LARGEST_SHARE:.0f} % usually allowed (common practice, no source): it costs cooling at the cold end"
        )
    speed = float(rating.low_speed[-1])
    if speed < SLOWEST_SUCTION:
        found.append(
            f"the return leaves the recuperator at {speed:.2g} m/s; below about {SLOWEST_SUCTION:g} m/s oil may not come "
            "back (common practice, no source): slope the coil towards the compressor or narrow the low side"
        )
    if speed > FASTEST_SUCTION:
        found.append(
            f"the return leaves the recuperator at {speed:.3g} m/s, faster than the {FASTEST_SUCTION:g} m/s usually "
            "allowed (common practice, no source)"
        )
    for side in ("high", "low"):
        found += _side_warnings(rating, side)
    if rating.axial_heat > 0.01 * rating.duty:
        found.append(f"the tube walls conduct up to {rating.axial_heat:.3g} W along themselves, over 1 % of the duty")
    return tuple(found)


def _side_warnings(rating: Rating, side: str) -> list[str]:
    """Laminar stretches and correlations outside of their range on one side."""
    found = []
    reynolds, quality = getattr(rating, f"{side}_reynolds"), getattr(rating, f"{side}_quality")
    weights = rating.cell_length / rating.length
    two = np.isfinite(quality)
    slow = reynolds < LAMINAR
    single, liquid = float(weights[slow & ~two].sum()), float(weights[slow & two].sum())
    name = f"{side}-pressure side"
    if single > 0.01:
        found.append(f"the {name} is laminar over {100 * single:.0f} % of the length, where it is gas or liquid alone")
    if liquid > 0.2:
        found.append(
            f"the liquid of the {name}, taken alone, is laminar over {100 * liquid:.0f} % of the length, below the range "
            "of the two-phase correlations: expect more than their usual band"
        )
    channel, flux = getattr(rating.tubes, side), getattr(rating, f"{side}_flux")
    if not 3e-3 <= channel.hydraulic_diameter <= 32e-3:
        found.append(
            f"the {name} has a hydraulic diameter of {1e3 * channel.hydraulic_diameter:.2g} mm, outside of the 3-32 mm of "
            "the two-phase correlations"
        )
    if flux < 12.0:
        found.append(f"the {name} flows at {flux:.3g} kg/(m2 s), below the range of the boiling correlation (12)")
    return found
