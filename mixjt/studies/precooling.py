"""At which temperature precooling pays best, and what it buys over the plain circuit with the same blend."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from mixjt.circuit.layouts.precooled import (
    PrecooledCircuit,
    PrecooledPoint,
    PrecooledResult,
    precooled_point,
    usable_temperature,
)
from mixjt.circuit.result import CircuitResult
from mixjt.circuit.solve import solve_circuit
from mixjt.constants import ZERO_CELSIUS
from mixjt.errors import ConvergenceError, InputError, UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.keys import TEXT, key

COOLING_POWER, COP = "cooling power", "cop"
AIMS = (COP, COOLING_POWER)
TEMPERATURES = 17  # of the curve
FINE = 0.05  # K, to which the best temperature is sought
WORTH = 1e-6  # relative gain below which two temperatures count as equally good


@dataclass(frozen=True)
class PrecoolingRequest:
    """A precooled circuit; stated tells whether its temperature is, or is to be found within temperatures [K]."""

    circuit: PrecooledCircuit
    stated: bool
    temperatures: tuple[float, float] = key(
        "temperature", "lowest and highest precooling temperature to try", at="temperature_range",
        default=(ZERO_CELSIUS - 40.0, ZERO_CELSIUS + 25.0), within="[80, 350]", span=True,
    )
    aim: str = key(TEXT, "what the best precooling temperature makes greatest", default=COP, choices=AIMS)


@dataclass(frozen=True)
class PrecoolingCurve:
    """Precooled circuits of one blend against precooling temperature; arrays of shape (m,), ascending.

    temperatures [K], capacity and precooler_heat [J/mol], powers and duty [W]; NaN where nothing could be
    solved, obstacles says why. lowest is what a limited precooler can reach [K], None where it is not
    limited within the range.
    """

    temperatures: np.ndarray
    capacity: np.ndarray
    precooler_heat: np.ndarray
    precooler_duty: np.ndarray
    cooling_power: np.ndarray
    compressor_power: np.ndarray
    precooler_power: np.ndarray
    cop: np.ndarray
    lowest: float | None = None
    obstacles: tuple[str, ...] = ()

    @property
    def total_power(self) -> np.ndarray:
        """Electrical power of both compressors [W]."""
        return self.compressor_power + self.precooler_power


@dataclass(frozen=True)
class PrecoolingGain:
    """What precooling buys over the plain circuit with the same blend, as ratios; None without a plain one.

    conductance compares UA of the recuperators, conductance_per_cooling UA over cooling power.
    """

    capacity: float | None
    cooling_power: float | None
    total_power: float | None
    cop: float | None
    conductance: float | None
    conductance_per_cooling: float | None


def best_precooling(
    fluid: Fluid,
    circuit: PrecooledCircuit,
    temperatures: tuple[float, float],
    aim: str = COP,
    points: int = 64,
) -> tuple[PrecooledResult, PrecoolingCurve]:
    """The precooling temperature within a range that makes COP or cooling power greatest.

    A curve over the range, then a bounded search around its best point; the colder of two equally good
    temperatures is never taken.

    Parameters
    ----------
    fluid : Fluid
    circuit : PrecooledCircuit
        Its own precooling temperature does not count.
    temperatures : (float, float)
        Lowest and highest to try [K].
    aim : str
        "cop" (with the precooler's power counted) or "cooling power".

    Raises
    ------
    InputError
        For an empty range or an unknown aim.
    UnreachableError
        Where the circuit cools at none of the temperatures.
    """
    from scipy.optimize import minimize_scalar

    if aim not in AIMS:
        raise InputError(f"cannot precool for {aim!r}; choose one of {', '.join(AIMS)}")
    curve = precooling_curve(fluid, circuit, temperatures, points=points)
    values = curve.cop if aim == COP else curve.cooling_power
    if not np.any(np.isfinite(values)):
        raise UnreachableError(f"precooling does not help: {curve.obstacles[0]}")
    best = np.nanmax(values)
    at = int(np.flatnonzero(values >= best * (1.0 - WORTH))[-1])
    around = curve.temperatures[max(at - 1, 0)], curve.temperatures[min(at + 1, len(values) - 1)]

    def loss(temperature: float) -> float:
        point = _point_or_none(fluid, circuit, temperature, points)[0]
        return 0.0 if point is None else -(point.cop if aim == COP else point.solution.cooling_power)

    found = minimize_scalar(loss, bounds=around, method="bounded", options={"xatol": FINE})
    better = -found.fun > best * (1.0 + WORTH)
    temperature = float(found.x) if better else float(curve.temperatures[at])
    return solve_circuit(fluid, circuit.at(temperature), points), curve


def precooling_curve(
    fluid: Fluid,
    circuit: PrecooledCircuit,
    temperatures: tuple[float, float],
    count: int = TEMPERATURES,
    points: int = 64,
) -> PrecoolingCurve:
    """Cooling and powers at evenly spaced precooling temperatures.

    Temperatures that a limited precooler cannot reach are left out: the curve then begins at the lowest it
    can. Parameters as `best_precooling`.
    """
    low = max(temperatures[0], circuit.cold_temperature + circuit.recuperator_approach + 1.0)
    high = min(temperatures[1], circuit.warm_temperature)
    if not low < high:
        raise InputError(
            f"there is no precooling temperature to try between {low:.5g} K and {high:.5g} K: the range must lie "
            "between the cold end and the aftercooler outlet"
        )
    lowest, obstacles = None, []
    if circuit.precooler.limited:
        low, lowest = _reachable(fluid, circuit, low, high, points, obstacles)
    grid = np.linspace(low, high, count)
    found = []
    for temperature in grid:
        point, why = _point_or_none(fluid, circuit, float(temperature), points, found[-1] if found else None)
        found.append(point)
        obstacles += [why] if why else []
    return _curve(grid, found, lowest, tuple(obstacles))


def precooling_gain(result: PrecooledResult, plain: CircuitResult | None) -> PrecoolingGain:
    """Compare a precooled circuit with the plain one of the same blend, None where that does not cool."""
    if plain is None:
        return PrecoolingGain(None, None, None, None, None, None)
    conductance = result.recuperator_conductance / plain.recuperator_conductance
    cooling_power = result.cooling_power / plain.cooling_power
    return PrecoolingGain(
        capacity=result.cooling_capacity / plain.cooling_capacity,
        cooling_power=cooling_power,
        total_power=result.total_power / plain.total_power,
        cop=result.cop / plain.cop,
        conductance=conductance,
        conductance_per_cooling=conductance / cooling_power,
    )


def _reachable(fluid, circuit, low: float, high: float, points, obstacles) -> tuple[float, float | None]:
    """The lowest temperature to try, and again where the limit sets it."""
    try:
        usable = usable_temperature(fluid, circuit.at(low), points)
    except (UnreachableError, ConvergenceError) as error:
        obstacles.append(str(error))
        return low, None
    if not usable > low:
        return low, None
    return min(usable, high - 1e-3), usable


def _point_or_none(fluid, circuit, temperature: float, points, near=None) -> tuple[PrecooledPoint | None, str]:
    try:
        return precooled_point(fluid, circuit.at(temperature), points, near), ""
    except (UnreachableError, ConvergenceError) as error:
        return None, f"at {temperature:.4g} K: {error}"


def _curve(grid, found: list[PrecooledPoint | None], lowest, obstacles) -> PrecoolingCurve:
    def column(value) -> np.ndarray:
        return np.array([np.nan if point is None else value(point) for point in found])

    return PrecoolingCurve(
        temperatures=grid,
        capacity=column(lambda point: point.solution.cooling),
        precooler_heat=column(lambda point: point.precooler_heat),
        precooler_duty=column(lambda point: point.precooler_duty),
        cooling_power=column(lambda point: point.solution.cooling_power),
        compressor_power=column(lambda point: point.solution.compression.electrical_power),
        precooler_power=column(lambda point: point.precooler_power),
        cop=column(lambda point: point.cop),
        lowest=lowest,
        obstacles=obstacles,
    )
