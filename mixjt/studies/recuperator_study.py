"""A recuperator of real tube in its circuit: what it does, what the band of the correlations means, what to buy."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from mixjt.bounds import require_fields
from mixjt.circuit.layout import Solution
from mixjt.circuit.machine import ThrottleCircuit
from mixjt.circuit.outcome import circuit_outcome
from mixjt.circuit.rated import Asked, designed
from mixjt.circuit.result import CircuitResult
from mixjt.circuit.solve import layout_of, solved_states
from mixjt.errors import ConvergenceError, InputError, UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.keys import TEXT, WHOLE, key
from mixjt.parts.recuperator.heat_transfer import FILM_BAND, LAMINAR
from mixjt.parts.recuperator.tube_rating import CutRating, Rating, StreamPair
from mixjt.parts.recuperator.tubes import (
    CELLS,
    METALS,
    RECUPERATOR_KINDS,
    STANDARD_TUBES,
    TUBE_IN_TUBE,
    Coil,
    ExchangerTubes,
    Tube,
    exchanger_tubes,
)

TRADE_CELLS, TRADE_POINTS = 40, 32
LENGTH_RATIOS = (0.5, 0.75, 1.0, 1.3, 2.0)
TRADE_CELLS = 40  # of other lengths, at most: good to a thousandth of the duty
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
    """Tubes of a recuperator, and its length.

    Parameters as in `mixjt.parts.recuperator.tubes.exchanger_tubes`; length [m] is None to have it found for the approach
    or the conductance stated; norm is a key of STANDARD_TUBES, from which tubes are offered, or None for all.

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
        "length", "of the exchanger, all its sections together, which then needs no other size", default=None,
        within="(0, 1000]", otherwise="found for what [recuperator] states",
    )
    cells: int = key(WHOLE, "cells of the rating", default=CELLS, within="[4, 2000]")
    norm: str | None = key(
        TEXT, "the norm of the tubes offered in comparison", at="tube_norm", default=None,
        choices=tuple(STANDARD_TUBES), otherwise="all known",
    )

    def __post_init__(self):
        self.tubes_of(self.small, self.large)
        require_fields(self, "recuperator", ("length",), optional=True, above=0.0)
        if self.norm is not None and self.norm not in STANDARD_TUBES:
            raise InputError(f"unknown norm '{self.norm}'; known are {', '.join(STANDARD_TUBES)}")

    @property
    def tubes(self) -> ExchangerTubes:
        """Its own tubes."""
        return self.tubes_of(self.small, self.large)

    @property
    def coil(self) -> Coil:
        """They and their length."""
        return Coil(self.tubes, self.length, self.cells)

    def tubes_of(self, small: Tube, large: Tube) -> ExchangerTubes:
        """The same construction of other tubes."""
        return exchanger_tubes(
            self.kind, small, large, self.count, self.material, self.high_in_small, self.joint_width
        )


@dataclass(frozen=True)
class LengthPoint:
    """A circuit with another length of the same tubes, or with other films."""

    length: float  # m
    conductance: float  # W/K
    smallest_approach: float  # K
    duty: float  # W
    cooling_power: float  # W
    high_drop: float  # Pa
    low_drop: float


@dataclass(frozen=True)
class Offer:
    """Tubes one can buy, and the length of them that has the same conductance."""

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

    weak and strong are the circuit with film coefficients less and greater by FILM_BAND, None where it does not cool
    then; weak_length and strong_length are the lengths [m] that keep its conductance, None where none does. offers are
    of that conductance too.
    """

    request: RecuperatorRequest
    solved: CircuitResult
    weak: LengthPoint | None
    strong: LengthPoint | None
    weak_length: float | None
    strong_length: float | None
    lengths: tuple[LengthPoint, ...]
    offers: tuple[Offer, ...]
    warnings: tuple[str, ...]


def solve_recuperator(
    fluid: Fluid, circuit: ThrottleCircuit, request: RecuperatorRequest
) -> RecuperatorResult:
    """Solve a circuit with a recuperator of given tubes, and look at its neighbours.

    Parameters
    ----------
    fluid : Fluid
    circuit : ThrottleCircuit
        With a coil, that of the request.
    request : RecuperatorRequest

    Raises
    ------
    InputError
        For a circuit without tubes.
    UnreachableError, ConvergenceError
    """
    if circuit.coil is None:
        raise InputError("a recuperator is rated by its tubes: state them")
    solution = solved_states(fluid, circuit)
    solved = circuit_outcome(solution)
    asked = layout_of(fluid, solved.circuit).asked_of_tubes(solution)
    other, length = _Others(fluid, solved), solved.rating.length
    bands = 1.0 - FILM_BAND, 1.0 + FILM_BAND
    (weak, strong), (weak_length, strong_length) = (
        [other.at(length, factor) for factor in bands], [_needed(asked, solved, factor) for factor in bands]
    )  # fmt: skip
    around = (_point(solution) if ratio == 1.0 else other.at(ratio * length) for ratio in LENGTH_RATIOS)
    return RecuperatorResult(
        request=request,
        solved=solved,
        weak=weak,
        strong=strong,
        weak_length=weak_length,
        strong_length=strong_length,
        lengths=tuple(point for point in around if point is not None),
        offers=tuple(_offers(asked, request)),
        warnings=recuperator_warnings(solved.rating, solved.suction_pressure),
    )


@dataclass(frozen=True)
class _Others:
    """The solved circuit with other lengths of its tubes, and other films."""

    fluid: Fluid
    solved: CircuitResult

    def at(self, length: float, film_factor: float = 1.0) -> LengthPoint | None:
        """With a length [m]; None where there is no cooling."""
        found = self.solved.circuit
        larger = length * film_factor / self.solved.rating.length
        near = min(found.recuperator_approach / larger**2, 0.5 * (found.span[1] - found.cold_temperature))
        cells = min(found.coil.cells, TRADE_CELLS)
        coil = replace(found.coil, length=length, film_factor=film_factor, cells=cells)
        circuit = replace(found, recuperator_approach=near, recuperator_conductance=None, coil=coil)
        try:
            return _point(solved_states(self.fluid, circuit, TRADE_POINTS))
        except (UnreachableError, ConvergenceError):
            return None


def _point(solution: Solution) -> LengthPoint:
    circuit, curves = solution.layout.circuit, solution.curves
    duty = float(sum(curve.heat[-1] for curve in curves)) * solution.compression.molar_flow
    closest = min(curve.smallest_approach for curve in curves)
    return LengthPoint(
        solution.rating.length, solution.conductance, closest, duty, solution.cooling_power,
        circuit.high_side_drop, circuit.low_side_drop,
    )  # fmt: skip


def _needed(asked: Sequence[Asked], solved: CircuitResult, factor: float) -> float | None:
    coil = solved.circuit.coil
    try:
        return designed(asked, coil.tubes, coil.cells, factor).length
    except (UnreachableError, ConvergenceError):
        return None


def _offers(asked: Sequence[Asked], request: RecuperatorRequest) -> list[Offer]:
    """The tubes one can buy of the same conductance for a bearable loss of pressure, least metal first."""
    found = []
    for norm, small, large, tubes in _candidates(asked[-1].pair, request):
        try:
            rated = designed(asked, tubes, TRADE_CELLS)
        except (UnreachableError, ConvergenceError):
            continue
        coldest, warmest = rated.sections[0], rated.sections[-1]
        before_throttle = float(warmest.high_pressure[-1]) - rated.high_drop
        outlet = float(coldest.low_pressure[0]) - rated.low_drop
        if rated.low_drop > MOST_LOST * outlet or rated.high_drop > MOST_LOST * before_throttle:
            continue
        found.append(
            Offer(norm, small, large, rated.length, rated.high_drop, rated.low_drop, rated.low_drop / outlet,
                  float(warmest.low_speed[-1]), rated.mass)
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


def recuperator_warnings(rating: Rating | CutRating, suction_pressure: float) -> tuple[str, ...]:
    """What is doubtful about a rated recuperator, in sentences."""
    found = []
    share = rating.low_drop / suction_pressure
    if share > LARGEST_SHARE:
        found.append(
            f"the low side loses {100 * share:.0f} % of the suction pressure, more than the "
            f"{100 * LARGEST_SHARE:.0f} % usually allowed (common practice, no source): it costs cooling at the cold end"
        )
    speed = float(rating.sections[-1].low_speed[-1])
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


def _side_warnings(rating: Rating | CutRating, side: str) -> list[str]:
    """Laminar stretches and correlations outside of their range on one side."""
    found = []
    reynolds, quality, lengths = (
        np.concatenate([getattr(one, name) for one in rating.sections])
        for name in (f"{side}_reynolds", f"{side}_quality", "cell_length")
    )
    weights = lengths / rating.length
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
