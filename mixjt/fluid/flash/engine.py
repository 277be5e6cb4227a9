"""What Python calls: states of a blend along falling temperatures, and a single phase."""

from __future__ import annotations

import ctypes
import threading

import numpy as np

from mixjt.compiled import python_entry
from mixjt.fluid.flash.columns import OUTPUTS, PHASES
from mixjt.fluid.flash.memory import PHASE_TYPE, WORK_TYPE

ALONG, EXACT = 3e-4, 1e-8  # last step of Newton's method along a sweep (errors go with its square), and for one state

_pointer = ctypes.c_void_p
_sweep = python_entry(
    "mixjt.fluid.flash.sweep.sweep", None, _pointer, _pointer, _pointer, _pointer, ctypes.c_int64, ctypes.c_double, _pointer, _pointer
)
_least_root = python_entry(
    "mixjt.fluid.flash.density.least_root", ctypes.c_int64, _pointer, _pointer, ctypes.c_double
)
_scratch = threading.local()


def solve_states(
    record: np.ndarray, z, temperatures, pressures, span: float, tolerance: float, out, gradients=None
) -> np.void:
    """States of a blend at falling temperatures [K] and their pressures [Pa] into out (m, OUTPUTS + c).

    Parameters
    ----------
    record : ndarray (1,) of BLEND_TYPE
    z : array (c,)
        Mole fractions of the record's gases, none zero.
    temperatures, pressures : arrays (m,)
        Contiguous; temperatures do not rise.
    span : float
        Kelvin between tests of stability; negative tests every state.
    tolerance : float
        ALONG or EXACT.
    out : array (m, OUTPUTS + c)
        Columns as in `sweep`, the last c for the gases; a state that was not solved, or is colder than the equation of one of its gases
        allows, is NaN and has no phases.
    gradients : array (m, QUANTITIES, c), optional
        Takes the derivatives with respect to the amounts, rows as in `slopes`; left as it is where not solved.

    Returns
    -------
    void of WORK_TYPE
        This thread's scratch record, which holds the phases of the last state until the next call.
    """
    if out.shape != (len(temperatures), OUTPUTS + len(z)):  # the kernel writes as far as that
        raise ValueError(f"states of {len(z)} gases need {OUTPUTS + len(z)} columns, not {out.shape[-1]}")
    work = _work()
    work["z"][0, : len(z)] = z
    work["tolerance"], work["graded"] = tolerance, gradients is not None
    size = int(np.count_nonzero(temperatures >= record["lowest_temperature"]))
    out[size:] = np.nan
    out[size:, PHASES] = 0
    if size:
        _sweep(
            record.ctypes.data, work.ctypes.data, temperatures.ctypes.data, pressures.ctypes.data, size, span,
            out.ctypes.data, None if gradients is None else gradients.ctypes.data,
        )  # fmt: skip
    return work[0]


def single_phase(record: np.ndarray, x, temperature: float, pressure: float) -> np.void | None:
    """One phase of mole fractions x (c,) on its density root of least Gibbs energy; None where it has none."""
    phase = np.zeros(1, PHASE_TYPE)
    phase["x"][0, : len(x)] = x
    phase["T"] = temperature
    return phase[0] if _least_root(record.ctypes.data, phase.ctypes.data, pressure) else None


def _work() -> np.ndarray:
    if not hasattr(_scratch, "work"):
        _scratch.work = np.zeros(1, WORK_TYPE)
    return _scratch.work


__all__ = ["ALONG", "EXACT", "OUTPUTS", "single_phase", "solve_states"]
