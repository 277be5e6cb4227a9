"""The aftercooler's approach, which follows from its size together with the compressor's outlet."""

from __future__ import annotations

from dataclasses import replace

from mixjt.circuit.layout import Solution
from mixjt.circuit.machine import ThrottleCircuit
from mixjt.fluid.fluid import Fluid
from mixjt.parts.aftercooler import aftercooler_outlet
from mixjt.parts.compressor.compression import CompressionResult, compress

SAME = 1e-4  # K, between two rounds
FIRST_ROUNDS = 4  # each leaves a tenth or less of the error, where an aftercooler is of any use


def approach_after(fluid: Fluid, circuit: ThrottleCircuit, compression: CompressionResult) -> float:
    """Approach [K] of a circuit's aftercooler with the flow and the hot gas of its compressor; that stated without a size."""
    if circuit.aftercooler is None:
        return circuit.aftercooler_approach
    ambient = circuit.ambient_temperature
    outlet = aftercooler_outlet(
        fluid, compression.discharge, circuit.aftercooler_pressure, compression.molar_flow, circuit.aftercooler, ambient
    )
    return outlet - ambient


def approach_found(solution: Solution) -> float:
    """The same of a solution."""
    return approach_after(solution.layout.fluid, solution.layout.circuit, solution.compression)


def first_approach(fluid: Fluid, circuit: ThrottleCircuit) -> float:
    """The same [K] before anything is solved: of gas that comes back as warm as the recuperator's approach allows."""
    for _ in range(0 if circuit.aftercooler is None else FIRST_ROUNDS):
        suction = fluid.tp(circuit.warm_temperature - circuit.recuperator_approach, circuit.suction_pressure)
        compression = compress(fluid, suction, circuit.discharge_pressure, circuit.compressor, circuit.ambient_temperature)
        circuit = replace(circuit, aftercooler_approach=approach_after(fluid, circuit, compression))
    return circuit.aftercooler_approach


def with_approach_held(fluid: Fluid, circuit: ThrottleCircuit) -> ThrottleCircuit:
    """The circuit with an aftercooler of that first approach in the place of its size, for what needs one for many blends."""
    if circuit.aftercooler is None:
        return circuit
    return replace(circuit, aftercooler=None, aftercooler_approach=first_approach(fluid, circuit))
