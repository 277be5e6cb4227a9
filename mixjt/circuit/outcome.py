"""From a solved circuit to its result: what is read off the states, in the same way for every kind of circuit."""

from __future__ import annotations

import math

import numpy as np

from mixjt.blend import refuse_oxygen_with_fuel
from mixjt.circuit import result as records
from mixjt.circuit.accounting import Account
from mixjt.circuit.balance import aftercooler_heat
from mixjt.circuit.checks import circuit_warnings
from mixjt.circuit.freezing import FreezingReport
from mixjt.circuit.machine import ThrottleCircuit
from mixjt.circuit.result import CircuitResult, DifferenceCurve, PinchCurve
from mixjt.errors import ConvergenceError, InputError
from mixjt.fluid.states import PropertyModel, State
from mixjt.parts.compressor.compression import CompressionResult


def checked_blend(model: PropertyModel, z) -> np.ndarray:
    """Mole fractions (c,) that add up to exactly 1.

    Raises
    ------
    InputError
        For mole fractions that are not a blend of the model's gases, and for oxygen with a gas that burns.
    """
    z = np.array(z, dtype=float)
    count = len(model.gases)
    if z.shape != (count,):
        raise InputError(f"the blend needs {count} mole fractions, one for each gas, got shape {z.shape}")
    if not np.all(np.isfinite(z)) or np.any(z < 0.0) or abs(z.sum() - 1.0) > 1e-6:
        raise InputError(f"mole fractions must be at least 0 and add up to 1; they add up to {z.sum():.8g}")
    refuse_oxygen_with_fuel(name for name, x in zip(model.gases, z, strict=True) if x > 0.0)
    return z / z.sum()


def circuit_outcome(
    model: PropertyModel,
    z: np.ndarray,
    circuit: ThrottleCircuit,
    cooling: float,
    compression: CompressionResult,
    places: dict[str, State],
    curve: PinchCurve,
    difference: DifferenceCurve,
    balance: Account,
    freezing: FreezingReport,
    kind: type[CircuitResult] = CircuitResult,
    other_work: float = 0.0,
    notes: tuple[str, ...] = (),
    **more,
) -> CircuitResult:
    """The result of a solved circuit.

    Parameters
    ----------
    cooling : float
        [J/mol]
    kind : type
        CircuitResult, or a kind of it that takes `more` besides.
    other_work : float
        Electrical work besides the compressor's [J/mol], counted in the COP.
    notes : tuple of str
        Further warnings.
    """
    ambient, cold = circuit.ambient_temperature, circuit.cold_temperature
    bubble_low, dew_low, lost_low = _phase_boundary(model, z, circuit.suction_pressure)
    bubble_high, dew_high, lost_high = _phase_boundary(model, z, circuit.discharge_pressure)
    suction = places[records.COMPRESSOR_INLET].temperature
    superheat = None if dew_low is None else suction - dew_low
    cop = cooling / (compression.electrical_work + other_work)
    return kind(
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
        supply_current=compression.supply_current,
        cop=cop,
        carnot_fraction=cop * (ambient / cold - 1.0),
        molar_flow=compression.molar_flow,
        mass_flow=compression.mass_flow,
        volumetric_efficiency=compression.volumetric_efficiency,
        discharge_temperature=compression.discharge_temperature,
        valve_temperature=compression.valve_temperature,
        suction_superheat=superheat,
        dew_point_low=dew_low,
        bubble_point_low=bubble_low,
        dew_point_high=dew_high,
        bubble_point_high=bubble_high,
        points=places,
        pinch=curve,
        difference=difference,
        aftercooler_heat=aftercooler_heat(places),
        shell_heat=compression.shell_heat,
        exergy=balance.exergy,
        energy_residual=balance.energy_residual,
        exergy_residual=balance.exergy_residual,
        warnings=(
            *circuit_warnings(places, compression, circuit.compressor, superheat, lambda points: freezing.warnings),
            *notes,
            *lost_low,
            *lost_high,
        ),
        freezing_gas=freezing.gas,
        freezing_margin=freezing.margin,
        freezing_place=freezing.place,
        own_freezing_margin=freezing.own_margin,
        **more,
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
