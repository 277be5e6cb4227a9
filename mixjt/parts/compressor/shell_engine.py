"""What Python calls of the kernels of the compressor's shell."""

from __future__ import annotations

import ctypes
from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np

from mixjt.compiled import python_entry
from mixjt.parts.compressor.shell_memory import ENTHALPY, MACHINE_TYPE, OUTPUTS

if TYPE_CHECKING:
    from mixjt.parts.compressor.shell import Compressions, GasIsobar

_pointer, _whole = ctypes.c_void_p, ctypes.c_int64
_readings = python_entry("mixjt.fluid.table_kernels.readings", None, *[_pointer] * 4, _whole, _whole, _pointer)
_turns = python_entry(
    "mixjt.parts.compressor.shell_kernels.turns", None, *[_pointer] * 3, _whole, *[_pointer] * 3, _whole, _pointer, _pointer,
    _whole, _whole, _pointer, _pointer,
)  # fmt: skip


def temperatures(isobar: GasIsobar, enthalpy: np.ndarray) -> np.ndarray:
    """Temperatures [K] (n,) of gases on their isobars at enthalpies (n,)."""
    found, along = np.empty(len(enthalpy)), _table(isobar.tables[ENTHALPY])
    taken = along, _table(isobar.temperatures), _columns(isobar), _table(enthalpy)
    _readings(*(each.ctypes.data for each in taken), *along.shape, found.ctypes.data)
    return found


def turning(machines: Compressions) -> Callable[[np.ndarray], np.ndarray]:
    """What gives the fields of `Turn` (OUTPUTS, n) of machines for shells at temperatures (n,)."""
    gas, record = np.column_stack([machines.temperature, machines.enthalpy, machines.ratio]), _machine(machines)
    sides = [(_table(side.temperatures), _table(side.tables), _columns(side)) for side in (machines.low, machines.high)]

    def turn(shell: np.ndarray) -> np.ndarray:
        shells, found, of_its_own = _table(shell), np.empty((len(shell), OUTPUTS)), len(gas) == len(shell)
        if not of_its_own and len(gas) != 1:  # the kernel reads as far as that
            raise ValueError(f"{len(gas)} gases and {len(shell)} shells do not go together")
        along = [
            each
            for temperature, tables, first in sides
            for each in (temperature.ctypes.data, temperature.size, tables.ctypes.data, first.ctypes.data)
        ]
        _turns(record.ctypes.data, gas.ctypes.data, *along, of_its_own, len(shell), shells.ctypes.data, found.ctypes.data)
        return found.T

    return turn


def _machine(machines: Compressions) -> np.ndarray:
    """The record of its compressor; what is not stated of powers and conductances goes with the swept flow."""
    compressor, record = machines.compressor, np.zeros(1, MACHINE_TYPE)
    for name in ("clearance", "leakage", "suction_heating", "discharge_cooling", "isentropic_efficiency", "motor_efficiency", "swept_flow"):
        record[name] = getattr(compressor, name)
    for name, each, at in (
        ("idle_power", "idle_per_swept", compressor.idle_at), ("shell_conductance", "conductance_per_swept", compressor.conductance_at)
    ):  # fmt: skip
        record[name], record[each] = at(0.0), at(1.0) - at(0.0)
    record["ambient"] = machines.ambient
    for name in ("flow", "power"):
        stated = getattr(machines, name)
        record[name] = np.nan if stated is None else stated
    return record


def _table(values) -> np.ndarray:
    return np.ascontiguousarray(values, dtype=float)


def _columns(isobar: GasIsobar) -> np.ndarray:
    return np.ascontiguousarray(isobar.first, dtype=np.int64)
