"""Machines, and checks of recuperators, that the tests of several kinds of circuit share."""

import dataclasses

import numpy as np

from mixjt.circuit.machine import ThrottleCircuit
from mixjt.parts.compressor.compression import Compressor

COMPRESSOR = Compressor(
    "rotary", 10e-6, 50.0, isentropic_efficiency=0.62, motor_efficiency=0.82, largest_discharge_temperature=388.15
)
TEXTBOOK = {"suction_heating": 0.0, "discharge_cooling": 1.0, "leakage": 0.0, "idle_power": 0.0, "shell_conductance": 0.0}
IDEAL = Compressor(
    "rotary", 10e-6, 50.0, clearance=0.0, isentropic_efficiency=1.0, motor_efficiency=1.0, **TEXTBOOK
)
FILLED_IN = Compressor("rotary", displacement=10e-6, speed=50.0, supply_voltage=230.0)  # what else it needs, by kind
DROPS = {"high_side_drop": 0.5e5, "low_side_drop": 0.1e5, "aftercooler_drop": 0.2e5}


def machine(**changes) -> ThrottleCircuit:
    plain = ThrottleCircuit(
        ambient_temperature=295.0,
        suction_pressure=2e5,
        discharge_pressure=16e5,
        cold_temperature=120.0,
        aftercooler_approach=8.0,
        recuperator_approach=3.0,
        high_side_drop=0.0,
        low_side_drop=0.0,
        compressor=COMPRESSOR,
    )
    return dataclasses.replace(plain, **changes)


def compact(**changes) -> ThrottleCircuit:
    """With a compressor of which little is stated, and a smaller approach of the aftercooler."""
    plain = machine(
        suction_pressure=1.5e5, discharge_pressure=18e5, cold_temperature=110.0, aftercooler_approach=5.0, compressor=FILLED_IN
    )
    return dataclasses.replace(plain, **changes)


def enthalpies(model, z, pressure, low, high, count=4000):
    """Temperatures and enthalpies of one stream at one pressure, straight from the model."""
    temperatures = np.linspace(low, high, count)
    return temperatures, model.sweep(np.atleast_2d(z), pressure, temperatures).enthalpy[0]


def smallest_approach(hot, cold):
    """Of two streams given as (temperatures, enthalpies), both counted from their common cold end."""
    heat = np.union1d(hot[1] - hot[1][0], cold[1] - cold[1][0])
    heat = heat[heat <= min(np.ptp(hot[1]), np.ptp(cold[1]))]
    warm, cool = (np.interp(heat, side[1] - side[1][0], side[0]) for side in (hot, cold))
    return float(np.min(warm - cool))
