"""Kernels of `mixjt.parts.compressor.shell`: what many machines do with shells of given temperatures.

Equations, symbols and sources are at its head. Everything of a machine's gas is read off two isobars, each a row of
temperatures and three tables (enthalpy, entropy, logarithm of the volume) along it.
"""

from __future__ import annotations

from math import exp, log

import numpy as np
from numba import carray, int64, types

from mixjt.compiled import compiled
from mixjt.fluid.table_kernels import REALS, WHOLES, reading
from mixjt.linked import inlined
from mixjt.parts.compressor.shell import ideal_work, volumetric_efficiency
from mixjt.parts.compressor.shell_memory import (
    ENTERING,
    ENTHALPY,
    ENTROPY,
    FLOW,
    LOG_VOLUME,
    MACHINE_TYPE,
    OUTLET,
    OUTPUTS,
    SURPLUS,
    TABLES,
    VALVE,
    WORK,
)
from mixjt.records import record

LEAST_FILLING = 1e-6  # keeps logarithms of the flow finite where none is moved
LEAST_IDEAL, LEAST_RISE = 1.0, 1e-3  # J/mol; of the logarithm of a volume; NaN passes all these bounds
MACHINE = record("MACHINE", MACHINE_TYPE)
_moved, _ideal_work = inlined(volumetric_efficiency), inlined(ideal_work)


@inlined
def _turn(machine, temperature, enthalpy, ratio, low_t, low, low_first, high_t, high, high_first, shell, out):
    """One machine with one shell; out takes what `Turn` has."""
    entering = temperature + machine.suction_heating * (shell - temperature)
    heated = reading(low_t, low[ENTHALPY], low_first, entering)
    log_volume = reading(low_t, low[LOG_VOLUME], low_first, entering)
    entropy = reading(low_t, low[ENTROPY], low_first, entering)
    isentropic = reading(high[ENTROPY], high[ENTHALPY], high_first, entropy)
    compressed = reading(high[ENTROPY], high[LOG_VOLUME], high_first, entropy)
    rise = log_volume - compressed
    exponent = log(ratio) / (LEAST_RISE if rise < LEAST_RISE else rise)
    filled = _moved(machine.clearance, ratio, exponent) - machine.leakage * (ratio - 1.0)
    filled = LEAST_FILLING if filled < LEAST_FILLING else filled
    per_mole = exp(log_volume) / filled
    swept = machine.swept_flow if np.isnan(machine.flow) else machine.flow * per_mole
    flow = swept / per_mole
    idle = (machine.idle_power + machine.idle_per_swept * swept) / flow
    if np.isnan(machine.power):
        ideal = _ideal_work(machine, ratio, filled, isentropic - heated)
        work = (LEAST_IDEAL if ideal < LEAST_IDEAL else ideal) / machine.isentropic_efficiency
    else:
        work = machine.motor_efficiency * (machine.power / flow - idle)
    electrical = work / machine.motor_efficiency + idle
    valve = reading(high[ENTHALPY], high_t, high_first, heated + work)
    outlet = valve - machine.discharge_cooling * (valve - shell)
    kept = flow * (electrical + enthalpy - reading(high_t, high[ENTHALPY], high_first, outlet))
    lost = (machine.shell_conductance + machine.conductance_per_swept * swept) * (shell - machine.ambient)
    out[ENTERING], out[WORK], out[VALVE], out[OUTLET] = entering, electrical, valve, outlet
    out[FLOW], out[SURPLUS] = flow, (kept - lost) / swept


@compiled(
    types.void, MACHINE, REALS, REALS, int64, REALS, WHOLES, REALS, int64, REALS, WHOLES, int64, int64, REALS, REALS,
)  # fmt: skip
def turns(m, gas, low_t, low_size, low_tables, low_first, high_t, high_size, high_tables, high_first, own, count, shells, out):
    """Machines (count,) with shells at temperatures (count,); with own 0 all of them have the first row's gas and isobars."""
    gases = carray(gas, (count if own else 1, 3))
    rows = count if own else 1
    low, high = carray(low_tables, (TABLES, rows, low_size)), carray(high_tables, (TABLES, rows, high_size))
    along, beyond, shell = carray(low_t, low_size), carray(high_t, high_size), carray(shells, count)
    smooth, dry, found = carray(low_first, rows), carray(high_first, rows), carray(out, (count, OUTPUTS))
    for k in range(count):
        r = k if own else 0
        _turn(
            m, gases[r, 0], gases[r, 1], gases[r, 2], along, low[:, r], smooth[r], beyond, high[:, r], dry[r], shell[k], found[k]
        )  # fmt: skip
