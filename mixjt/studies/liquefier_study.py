"""Questions to a liquefier besides its one solution: other feed pressures, recovered flash vapour, boil-off."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from mixjt.circuit.boil_off import BoilOff, boil_off
from mixjt.circuit.feed_states import least_pressure
from mixjt.circuit.layouts.liquefier import Liquefier
from mixjt.circuit.liquefier_result import KILOWATT_HOUR, FeedPassage, LiquefierResult
from mixjt.circuit.machine import ThrottleCircuit
from mixjt.circuit.rounds import settled_solution
from mixjt.circuit.solve import Solution, solve_circuit, with_feed
from mixjt.errors import MixjtError, UnreachableError
from mixjt.fluid.fluid import Fluid, checked_fluid
from mixjt.fluid.states import PropertyModel
from mixjt.interrupt import keeping
from mixjt.keys import key
from mixjt.parts.places import PRODUCT
from mixjt.studies.band import FLOOR, LIQUID_MADE, Band, band_of

CURVE_POINTS = 9
GRID = 32
TOLERANCE = 1e-7  # relative
ABOVE_SATURATION = 1.02  # times the least pressure, where the curve begins
PRESSURE_TOLERANCE = 0.01  # of the logarithm
GAINS = 1e-3  # of the product; less is no reason for a higher pressure


@dataclass(frozen=True)
class LiquefierRequest:
    """A machine, its feed, and how far the feed pressure may go.

    load in W; largest_pressure in Pa, None for the feed's pressure as it stands.
    """

    circuit: ThrottleCircuit
    gas: Fluid
    passage: FeedPassage
    load: float = 0.0
    largest_pressure: float | None = key(
        "pressure", "up to which the best feed pressure is sought", at="largest_feed_pressure", default=None,
        within="[1e5, 2e7]", otherwise="only the feed pressure",
    )


@dataclass(frozen=True)
class PressurePoint:
    """The machine at one feed pressure [Pa]: product [kg/s], and specific energy [J/kg] without and with the
    feed's compressor; None where it does not liquefy, and problem says why."""

    pressure: float
    mass_rate: float | None
    circuit_energy: float | None
    total_energy: float | None
    problem: str = ""


@dataclass(frozen=True)
class PressureCurve:
    """The machine over feed pressures, ascending.

    best makes most product; where several are alike the lowest. thriftiest needs least energy per product,
    both compressors counted.
    """

    points: tuple[PressurePoint, ...]
    best: PressurePoint
    thriftiest: PressurePoint


@dataclass(frozen=True)
class LiquefierReport:
    """A solved liquefier; what the flash vapour would bring if recovered (or brings: extra product [kg/s], negative
    where recovery costs product);
    the curve over feed pressures, None where no limit is stated or none below it works; boil-off of the product,
    None for a feed without oxygen."""

    result: LiquefierResult
    recovery_gain: float | None
    curve: PressureCurve | None
    boil_off: BoilOff | None
    warnings: tuple[str, ...]
    interrupted: bool = False


def liquefier_report(fluid: Fluid, request: LiquefierRequest) -> LiquefierReport:
    """Solve a liquefier and answer what goes with it.

    Raises
    ------
    InputError, UnreachableError, ConvergenceError
        From `mixjt.circuit.solve.solve_circuit`.

    An interruption (Ctrl-C) after that keeps the solution and leaves out what goes with it.
    """
    result = solve_circuit(fluid, with_feed(request.circuit, request.gas, request.passage, request.load))
    other = replace(request.passage, recover_flash=not request.passage.recover_flash)
    gain, curve, notes = None, None, []
    with keeping() as cut:
        try:
            change = Rates(fluid, request).at(other).mass_rate - result.mass_rate
            gain = change if other.recover_flash else -change
        except MixjtError as error:
            notes.append(f"recovery of the flash vapour could not be compared: {error}")
        try:
            curve = pressure_curve(fluid, request) if request.largest_pressure is not None else None
        except MixjtError as error:
            notes.append(f"the curve over feed pressures is left out: {error}")
    return LiquefierReport(result, gain, curve, _boil_off(request, result, notes), tuple(notes), cut.short)


def pressure_curve(
    fluid: Fluid, request: LiquefierRequest, count: int = CURVE_POINTS
) -> PressureCurve:
    """Product and specific energy over feed pressures up to the limit, the machine being fixed.

    A grid even in the logarithm from just above the least pressure that condenses the feed, and a bounded
    search (Brent) around its best point.

    Raises
    ------
    UnreachableError
        Where no pressure works.
    """
    from scipy.optimize import minimize_scalar

    passage = request.passage
    least = least_pressure(request.gas, request.circuit.cold_temperature + passage.approach)
    low = max(
        ABOVE_SATURATION * (0.0 if math.isnan(least) else least), ABOVE_SATURATION * passage.product_pressure
    )
    low, high = low + passage.pressure_drop, request.largest_pressure
    if not high > low:
        raise UnreachableError(f"the feed condenses from {low / 1e5:.4g} bar on, the limit is {high / 1e5:.4g} bar")
    grid = np.unique(np.append(np.geomspace(low, high, count), np.clip(passage.pressure, low, high)))
    machine = Rates(fluid, request)
    known = {float(pressure): machine.at_pressure(pressure) for pressure in grid}
    if not any(point.mass_rate for point in known.values()):
        why = next((point.problem for point in known.values() if point.problem), "nothing is liquefied")
        raise UnreachableError(f"no feed pressure up to {high / 1e5:.4g} bar works: {why}")

    def missing(log_pressure: float) -> float:
        pressure = math.exp(log_pressure)
        known[pressure] = machine.at_pressure(pressure)
        return -(known[pressure].mass_rate or 0.0)

    ordered = sorted(known)
    at = max(range(len(ordered)), key=lambda k: known[ordered[k]].mass_rate or 0.0)
    if 0 < at < len(ordered) - 1:
        bounds = math.log(ordered[at - 1]), math.log(ordered[at + 1])
        minimize_scalar(
            missing, bounds=bounds, method="bounded", options={"xatol": PRESSURE_TOLERANCE, "maxiter": 12}
        )
    points = tuple(known[pressure] for pressure in sorted(known))
    working = [point for point in points if point.mass_rate]
    most = max(point.mass_rate for point in working)
    best = next(point for point in working if point.mass_rate >= (1.0 - GAINS) * most)
    return PressureCurve(points, best, min(working, key=lambda point: point.total_energy))


class Rates:
    """Product and energy of a machine for one passage after another, without curves and balances.

    Each solution starts from the one before, which is quick where the passages are alike.
    """

    def __init__(self, fluid: Fluid, request: LiquefierRequest):
        self._fluid, self._request = checked_fluid(fluid), request
        self.solution: Solution | None = None  # the latest

    def at(self, passage: FeedPassage) -> PressurePoint:
        """The machine with a passage.

        Raises
        ------
        InputError, UnreachableError, ConvergenceError
        """
        request, gas = self._request, self._request.gas
        layout = Liquefier(self._fluid, with_feed(request.circuit, gas, passage, request.load), TOLERANCE)
        self.solution = solution = settled_solution(layout, GRID, self.solution)
        feed_flow, feed = solution.choice.ratio * solution.compression.molar_flow, layout.feed
        product = feed_flow * (1.0 - feed.flash_fraction) * gas.of(feed.states[PRODUCT].composition).molar_mass
        power = solution.compression.electrical_power
        total = power + feed_flow * layout.feed_work
        if not product > 0.0:
            return PressurePoint(passage.pressure, 0.0, None, None)
        return PressurePoint(passage.pressure, float(product), float(power / product), float(total / product))

    def at_pressure(self, pressure: float) -> PressurePoint:
        """The machine at another feed pressure [Pa]; empty where it does not liquefy at it."""
        try:
            return self.at(replace(self._request.passage, pressure=float(pressure)))
        except MixjtError as error:
            return PressurePoint(float(pressure), None, None, None, str(error))


def product_band(result: LiquefierResult, request: LiquefierRequest) -> Band | None:
    """Band of the liquid's flow; None where there is none, or an interruption came first."""
    fluid = result.fluid

    def product(with_model: PropertyModel) -> float:
        return Rates(Fluid(with_model, fluid.z), request).at(request.passage).mass_rate

    floor = FLOOR / max(result.cooling_capacity, 1e-9)
    return band_of(fluid, product, floor, request.circuit.cold_temperature, LIQUID_MADE)


def specific_energy(power: float, mass_rate: float) -> float | None:
    """kWh/kg at a power [W] and a product [kg/s]; None without product."""
    return power / mass_rate / KILOWATT_HOUR if mass_rate > 0.0 else None


def _boil_off(request: LiquefierRequest, result: LiquefierResult, notes: list[str]) -> BoilOff | None:
    if len(request.gas.z) == 1:
        return None
    try:
        return boil_off(
            request.gas, result.feed_points[PRODUCT].composition, request.passage.product_pressure
        )
    except MixjtError as error:
        notes.append(f"the enrichment of the product by boil-off could not be followed: {error}")
        return None
