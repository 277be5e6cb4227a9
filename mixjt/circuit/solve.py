"""Any kind of circuit for one blend: solved in full, or its cooling alone on a fixed grid."""

from __future__ import annotations

from dataclasses import fields, replace

from mixjt.circuit.capacity import greatest_cooling
from mixjt.circuit.machine import ThrottleCircuit
from mixjt.circuit.precooled import PrecooledCircuit, PrecooledResult, solve_precooled_circuit
from mixjt.circuit.result import CircuitResult
from mixjt.circuit.separator import SeparatorCircuit, separator_cooling, solve_separator_circuit
from mixjt.circuit.separator_result import SeparatorResult
from mixjt.circuit.throttle import solve_throttle_circuit
from mixjt.errors import InputError
from mixjt.fluid.states import PropertyModel
from mixjt.parts.precooler import Precooler

PLAIN, PRECOOLED, SEPARATOR = "plain", "precooled", "separator"
KINDS = (PLAIN, PRECOOLED, SEPARATOR)
SOLVERS = {
    ThrottleCircuit: solve_throttle_circuit,
    PrecooledCircuit: solve_precooled_circuit,
    SeparatorCircuit: solve_separator_circuit,
}


def solve_circuit(model: PropertyModel, z, circuit: ThrottleCircuit, points: int = 64) -> CircuitResult:
    """Solve a plain, precooled or separator circuit for its greatest cooling.

    Every result has cooling_power, total_power, cop, carnot_fraction, recuperator_conductance, suction and
    discharge pressure and discharge_temperature. Parameters and errors as those of the circuit's own
    solver; InputError for any other kind.
    """
    if type(circuit) not in SOLVERS:
        raise InputError(f"there is no solver for a {type(circuit).__name__}")
    return SOLVERS[type(circuit)](model, z, circuit, points)


def grid_cooling(model: PropertyModel, z, circuit: ThrottleCircuit, points: int) -> float:
    """Cooling [J/mol] on a fixed grid of temperatures, to compare property models by; may be negative or NaN.

    The circuit must be that of `circuit_of` a result: precooling and intermediate temperature are taken as
    they stand.
    """
    if isinstance(circuit, SeparatorCircuit):
        return separator_cooling(model, z, circuit, points)
    return float(greatest_cooling(model, z, circuit, points).capacity[0])


def circuit_of(result: CircuitResult, circuit: ThrottleCircuit) -> ThrottleCircuit:
    """The circuit with all that was chosen for a result: pressures, precooling or intermediate temperature."""
    circuit = replace(
        circuit, suction_pressure=result.suction_pressure, discharge_pressure=result.discharge_pressure
    )
    if isinstance(result, PrecooledResult):
        return circuit.at(result.precooler_temperature)
    if isinstance(result, SeparatorResult):
        return replace(circuit, intermediate_temperature=result.intermediate_temperature)
    return circuit


def with_precooler(circuit: ThrottleCircuit, precooler: Precooler, warm_section: bool = True) -> PrecooledCircuit:
    """A plain circuit with a precooler added."""
    return PrecooledCircuit(**_plain_values(circuit), precooler=precooler, warm_section=warm_section)


def with_separator(
    circuit: ThrottleCircuit, temperature: float | None = None, intermediate: float | None = None
) -> SeparatorCircuit:
    """A plain circuit with a phase separator added.

    Parameters
    ----------
    temperature : float, optional
        Of the separator, where a partial condenser sets it [K]; by default that of the aftercooler outlet.
    intermediate : float, optional
        High-side temperature at which liquid joins the return [K]; by default the best.
    """
    values = _plain_values(circuit)
    if temperature is not None:
        values["aftercooler_approach"] = temperature - circuit.ambient_temperature
    return SeparatorCircuit(**values, intermediate_temperature=intermediate)


def _plain_values(circuit: ThrottleCircuit) -> dict:
    return {entry.name: getattr(circuit, entry.name) for entry in fields(ThrottleCircuit)}
