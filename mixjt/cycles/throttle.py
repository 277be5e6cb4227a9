"""The plain throttle circuit: compressor, aftercooler, recuperator, throttle, evaporator.

Assumptions: steady flow of one composition; an adiabatic recuperator whose pressure drops are linear in
the temperature of each side (see `mixjt.components.recuperator`); no pressure drop in the evaporator; an
isenthalpic throttle. The cold temperature is that of the evaporator outlet, the warmest point of the
load; the throttle outlet is colder by the glide.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from mixjt.components.compressor import CompressionResult, compress
from mixjt.components.recuperator import Side
from mixjt.cycles import records
from mixjt.cycles.balance import circuit_balance
from mixjt.cycles.capacity import GreatestCooling, greatest_cooling
from mixjt.cycles.checks import circuit_warnings
from mixjt.cycles.circuit import ThrottleCircuit
from mixjt.cycles.curves import difference_curve, pinch_curve
from mixjt.cycles.freezing import circuit_freezing
from mixjt.cycles.pinch import LeastDifference, least_difference
from mixjt.cycles.records import CircuitResult, PinchCurve
from mixjt.errors import ConvergenceError, InputError, UnreachableError
from mixjt.properties.records import PropertyModel, State

__all__ = ["GreatestCooling", "ThrottleCircuit", "greatest_cooling", "solve_throttle_circuit"]

APPROACH_TOLERANCE = 1e-3  # K, by which the finished recuperator may undercut its stated approach
FINEST = 1024  # grid points, where a recuperator that undercuts it is given up
DROP_ROUNDS = 30


@dataclass(frozen=True)
class _Solution:
    """A recuperator at its greatest cooling, with the states around it."""

    high: Side
    low: Side
    least: LeastDifference
    aftercooler_outlet: State
    throttle_inlet: State
    evaporator_outlet: State
    compressor_inlet: State


def solve_throttle_circuit(
    model: PropertyModel, z, circuit: ThrottleCircuit, points: int = 64
) -> CircuitResult:
    """Solve a throttle circuit for its greatest cooling at the stated recuperator approach.

    Parameters
    ----------
    model : PropertyModel
    z : array (c,)
        Mole fractions of the blend in circulation.
    circuit : ThrottleCircuit
    points : int
        Temperatures in the first sweep of each side and in the curves; at least 8.

    Returns
    -------
    CircuitResult

    Raises
    ------
    InputError
        For mole fractions that are not a blend.
    UnreachableError
        Where the blend does not cool at all, or the compressor moves no gas.
    ConvergenceError
        Where a state cannot be found, or the finished recuperator undercuts its approach.

    Source: see `mixjt.cycles.pinch` for the pinch formula.
    """
    z = _composition(model, z)
    if points < 8:
        raise InputError(f"a circuit needs at least 8 grid points, got {points}")
    solution, curve = _recuperator(model, z, circuit, points)
    compression = compress(
        model, z, solution.compressor_inlet, circuit.discharge_pressure, circuit.compressor
    )
    throttle_outlet = model.state_hp(z, solution.throttle_inlet.enthalpy, circuit.evaporator_pressure)
    places = {
        records.COMPRESSOR_INLET: solution.compressor_inlet,
        records.COMPRESSOR_OUTLET: compression.discharge,
        records.AFTERCOOLER_OUTLET: solution.aftercooler_outlet,
        records.THROTTLE_INLET: solution.throttle_inlet,
        records.THROTTLE_OUTLET: throttle_outlet,
        records.EVAPORATOR_OUTLET: solution.evaporator_outlet,
    }
    return _result(model, z, circuit, points, solution, curve, compression, places)


def _recuperator(model, z, circuit: ThrottleCircuit, points: int) -> tuple[_Solution, PinchCurve]:
    """Greatest cooling and pinch curve, on a finer grid where the coarse one missed the pinch."""
    while True:
        solution = _greatest(model, z, circuit, points)
        high_ends = (solution.throttle_inlet, solution.aftercooler_outlet)
        low_ends = (solution.evaporator_outlet, solution.compressor_inlet)
        curve = pinch_curve(
            model, z, solution.high, solution.low, high_ends, low_ends, solution.least.temperature, points
        )
        if curve.smallest_approach >= circuit.recuperator_approach - APPROACH_TOLERANCE:
            return solution, curve
        if 4 * points > FINEST:
            break
        points = 4 * points
    raise ConvergenceError(
        "the recuperator",
        "try the other property model or a slightly different blend",
        approach=curve.smallest_approach,
        temperature=curve.pinch_temperature,
    )


def _greatest(model, z, circuit: ThrottleCircuit, points: int) -> _Solution:
    """Find the pinch; with pressure drops, repeat until their profile fits the ends it leads to."""
    cooled = model.state_tp(z, circuit.warm_temperature, circuit.aftercooler_pressure)
    evaporated = model.state_tp(z, circuit.cold_temperature, circuit.evaporator_pressure)
    high, low = circuit.sides()
    before = math.inf
    for _ in range(DROP_ROUNDS):
        least = least_difference(model, z, high, low, circuit.recuperator_approach, circuit.span, points)
        cooling = least.minimum
        if not cooling > 0.0:
            raise UnreachableError(_no_cooling(circuit, least))
        before_throttle = model.state_hp(z, evaporated.enthalpy - cooling, circuit.throttle_pressure)
        suction = model.state_hp(z, cooled.enthalpy + cooling, circuit.suction_pressure)
        if high.cold_pressure == high.warm_pressure and low.cold_pressure == low.warm_pressure:
            high, low = circuit.sides(before_throttle.temperature, suction.temperature)
            break
        if abs(cooling - before) <= 1e-9 * cooling:
            break
        before = cooling
        high, low = circuit.sides(before_throttle.temperature, suction.temperature)
    else:
        raise ConvergenceError("the pressure profile of the recuperator", "state smaller pressure drops")
    return _Solution(high, low, least, cooled, before_throttle, evaporated, suction)


def _no_cooling(circuit: ThrottleCircuit, least: LeastDifference) -> str:
    return (
        f"no cooling at {circuit.cold_temperature:.5g} K: at the pinch, where the high side has "
        f"{least.temperature:.5g} K, the blend falls short by {-least.minimum:.4g} J/mol; try a warmer cold end, "
        "a smaller approach, a wider pressure ratio, or more of a gas that boils near the pinch temperature"
    )


def _composition(model: PropertyModel, z) -> np.ndarray:
    z = np.array(z, dtype=float)
    count = len(model.gases)
    if z.shape != (count,):
        raise InputError(f"the blend needs {count} mole fractions, one for each gas, got shape {z.shape}")
    if not np.all(np.isfinite(z)) or np.any(z < 0.0) or abs(z.sum() - 1.0) > 1e-6:
        raise InputError(f"mole fractions must be at least 0 and add up to 1; they add up to {z.sum():.8g}")
    return z / z.sum()


def _result(
    model,
    z,
    circuit: ThrottleCircuit,
    points: int,
    solution: _Solution,
    curve: PinchCurve,
    compression: CompressionResult,
    places: dict[str, State],
) -> CircuitResult:
    cooling = solution.least.minimum
    ambient, cold = circuit.ambient_temperature, circuit.cold_temperature
    balance = circuit_balance(places, compression, cooling, ambient, cold)
    bubble_low, dew_low, lost_low = _phase_boundary(model, z, circuit.suction_pressure)
    bubble_high, dew_high, lost_high = _phase_boundary(model, z, circuit.discharge_pressure)
    superheat = None if dew_low is None else solution.compressor_inlet.temperature - dew_low
    cop = cooling / compression.electrical_work
    freezing = circuit_freezing(model, z, places)
    span = (cold, circuit.warm_temperature)
    return CircuitResult(
        gases=tuple(model.gases),
        composition=z,
        model=model.name,
        cold_temperature=cold,
        warm_temperature=circuit.warm_temperature,
        ambient_temperature=ambient,
        suction_pressure=circuit.suction_pressure,
        discharge_pressure=circuit.discharge_pressure,
        cooling_capacity=cooling,
        cooling_power=cooling * compression.molar_flow,
        compressor_work=compression.work,
        compressor_power=compression.electrical_power,
        supply_current=compression.current,
        cop=cop,
        carnot_fraction=cop * (ambient / cold - 1.0),
        molar_flow=compression.molar_flow,
        mass_flow=compression.mass_flow,
        volumetric_efficiency=compression.volumetric_efficiency,
        discharge_temperature=compression.discharge.temperature,
        suction_superheat=superheat,
        dew_point_low=dew_low,
        bubble_point_low=bubble_low,
        dew_point_high=dew_high,
        bubble_point_high=bubble_high,
        points=places,
        pinch=curve,
        difference=difference_curve(
            model, z, circuit.suction_pressure, circuit.discharge_pressure, span, points
        ),
        aftercooler_heat=balance.aftercooler_heat,
        shell_heat=compression.shell_heat,
        exergy=balance.exergy,
        energy_residual=balance.energy_residual,
        exergy_residual=balance.exergy_residual,
        warnings=(
            *circuit_warnings(places, circuit.compressor, superheat, lambda points: freezing.warnings),
            *lost_low,
            *lost_high,
        ),
        freezing_gas=freezing.gas,
        freezing_margin=freezing.margin,
        freezing_place=freezing.place,
    )


def _phase_boundary(model, z, pressure: float) -> tuple[float | None, float | None, list[str]]:
    """Bubble and dew temperature [K], None where there is none or, with a warning, where none was found."""
    found, lost = [], []
    for name in ("bubble", "dew"):
        try:
            temperature = getattr(model, f"{name}_temperature")(z, pressure)
        except ConvergenceError:
            temperature = math.nan
            lost.append(f"the {name} point at {1e-5 * pressure:.4g} bar could not be found; it is left empty")
        found.append(float(temperature) if math.isfinite(temperature) else None)
    return found[0], found[1], lost
