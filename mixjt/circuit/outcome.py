"""From a solved circuit to its result: what is read off the states, in the same way for every kind of circuit."""

from __future__ import annotations

import math

from mixjt.bounds import finite_or_none
from mixjt.circuit.checks import circuit_warnings
from mixjt.circuit.freezing import legs_that_may_freeze, path_freezing
from mixjt.circuit.layout import AFTERCOOLER, Solution
from mixjt.circuit.recuperator_sizing import needless_size
from mixjt.circuit.result import CircuitResult
from mixjt.circuit.section import joined
from mixjt.errors import ConvergenceError
from mixjt.fluid.fluid import Fluid
from mixjt.parts import places
from mixjt.parts.aftercooler import conductance_to_ambient


def circuit_outcome(solution: Solution) -> CircuitResult:
    """The result of a solved circuit, of the kind that its layout states."""
    layout, curves = solution.layout, solution.curves
    circuit, fluid, compression = layout.circuit, layout.fluid, solution.compression
    ambient, cold, cooling = circuit.ambient_temperature, circuit.cold_temperature, layout.capacity(solution)
    bubble_low, dew_low, lost_low = _phase_boundary(fluid, circuit.suction_pressure)
    bubble_high, dew_high, lost_high = _phase_boundary(fluid, circuit.discharge_pressure)
    suction = solution.states[places.COMPRESSOR_INLET].temperature
    superheat = None if dew_low is None else suction - dew_low
    cop = cooling / (compression.electrical_work + layout.other_work(solution))
    balance = layout.balance(solution)
    freezing = path_freezing(fluid.model, legs_that_may_freeze(layout, solution))
    ((rejected, _),) = layout.heats(solution)[AFTERCOOLER]
    found = circuit_warnings(solution.points, compression, circuit.compressor, superheat, freezing.warnings)
    found += needless_size(solution)
    values = {
        "fluid": fluid,
        "cold_temperature": cold,
        "warm_temperature": circuit.warm_temperature,
        "ambient_temperature": ambient,
        "suction_pressure": circuit.suction_pressure,
        "discharge_pressure": circuit.discharge_pressure,
        "cooling_capacity": cooling,
        "cooling_power": cooling * compression.molar_flow,
        "compressor_work": compression.work,
        "compressor_power": compression.electrical_power,
        "supply_current": compression.supply_current,
        "cop": cop,
        "carnot_fraction": cop * (ambient / cold - 1.0),
        "molar_flow": compression.molar_flow,
        "mass_flow": compression.mass_flow,
        "volumetric_efficiency": compression.volumetric_efficiency,
        "discharge_temperature": compression.discharge_temperature,
        "valve_temperature": compression.valve_temperature,
        "shell_temperature": compression.shell_temperature,
        "cylinder_inlet_temperature": compression.entering.temperature,
        "leakage": compression.leakage,
        "suction_superheat": superheat,
        "dew_point_low": dew_low,
        "bubble_point_low": bubble_low,
        "dew_point_high": dew_high,
        "bubble_point_high": bubble_high,
        "points": solution.points,
        "pinch": joined(curves),
        "difference": layout.difference(solution, solution.grid),
        "aftercooler_heat": -rejected,
        "aftercooler_conductance": finite_or_none(
            conductance_to_ambient(fluid, compression.discharge, layout.cooled, compression.molar_flow, ambient)
        ),
        "shell_heat": compression.shell_heat,
        "exergy": balance.exergy,
        "energy_residual": balance.energy_residual,
        "exergy_residual": balance.exergy_residual,
        "freezing": freezing,
        "warnings": (*found, *layout.notes(solution, curves), *lost_low, *lost_high),
        "circuit": circuit,
        "rating": solution.rating,
    }
    return layout.kind(**(values | _leak(solution) | layout.more(solution, curves)))


def _leak(solution: Solution) -> dict[str, float]:
    """Fields of the heat leak [W/K, W], none where no insulation is stated."""
    insulation, flow = solution.layout.circuit.insulation, solution.compression.molar_flow
    if insulation is None:
        return {}
    leak = solution.leak
    return {
        "insulation_conductance": insulation.conductance,
        "heat_leak": leak.total * flow,
        "cold_end_leak": leak.at_cold_end * flow,
    }


def _phase_boundary(fluid: Fluid, pressure: float) -> tuple[float | None, float | None, list[str]]:
    """Bubble and dew temperature [K], None where there is none or, with a warning, where none was found."""
    found, lost = [], []
    for name in ("bubble", "dew"):
        try:
            temperature = getattr(fluid, f"{name}_temperature")(pressure)
        except ConvergenceError:
            temperature = math.nan
            lost.append(f"the {name} point at {1e-5 * pressure:.4g} bar could not be found; it is left empty")
        found.append(finite_or_none(temperature))
    return found[0], found[1], lost
