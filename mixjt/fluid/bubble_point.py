"""Bubble pressure near a known one, by the equations of an incipient phase.

Much quicker than the search of mixjt.fluid.saturation, but it needs a guess and says nothing about a
second liquid; fits to measured equilibria and comparisons with them have the measured pressure as a guess.
Successive substitution: Michelsen and Mollerup, Thermodynamic Models (2007), section 12.2.
"""

from __future__ import annotations

import ctypes
from math import log, nan

import numpy as np

from mixjt.compiled import python_entry
from mixjt.fluid.flash.density import LIQUID_ROOT, VAPOUR_ROOT
from mixjt.fluid.flash.memory import PHASE_TYPE
from mixjt.fluid.flash.phase import FUGACITY

MOST_ROUNDS, SETTLED = 400, 1e-9
ON_ROOT = 1e-8  # of ln density
LEAST_CONTRAST = 0.05  # between ln densities of liquid and vapour; less is no vapour but the liquid again
LIFT = 1.1  # of the pressure, where it is too low for any liquid

_pointer = ctypes.c_void_p
_root = python_entry(
    "mixjt.fluid.flash.density.root", ctypes.c_int64, _pointer, _pointer, ctypes.c_double, ctypes.c_int64, ctypes.c_double
)
_evaluate = python_entry(
    "mixjt.fluid.flash.phase.evaluate", None, _pointer, _pointer, ctypes.c_double, ctypes.c_int64
)


def phase_on(record: np.ndarray, side: int, x, temperature: float, pressure: float) -> np.void | None:
    """A phase of mole fractions x (c,) on the root met from one side, stable or not; None where there is none.

    side is LIQUID_ROOT or VAPOUR_ROOT; record is an array of one, from blend_record.
    """
    phase = np.zeros(1, PHASE_TYPE)
    phase["x"][0, : len(x)] = x
    phase["T"] = temperature
    if not _root(record.ctypes.data, phase.ctypes.data, pressure, side, ON_ROOT):
        return None
    _evaluate(record.ctypes.data, phase.ctypes.data, pressure, FUGACITY)
    return phase[0]


def bubble_point(record: np.ndarray, x, temperature: float, guess: float) -> tuple[float, np.ndarray]:
    """Bubble pressure [Pa] of a liquid x (c,), all present, and the vapour's mole fractions; NaN where not found."""
    x = np.asarray(x, dtype=float)
    pressure, gases = guess, x.size
    first, second = record["wilson"][0, :, :gases]
    y = x * np.exp(first - second / temperature)
    y /= y.sum()
    for _ in range(MOST_ROUNDS):
        liquid = phase_on(record, LIQUID_ROOT, x, temperature, pressure)
        vapour = phase_on(record, VAPOUR_ROOT, y, temperature, pressure)
        if liquid is None and vapour is not None:
            pressure *= LIFT
            continue
        if vapour is None or liquid["lr"] - vapour["lr"] < LEAST_CONTRAST:
            break
        w = x * np.exp(liquid["ln_phi"][:gases] - vapour["ln_phi"][:gases])
        total = float(w.sum())
        moved, y = np.abs(w / total - y).max() + abs(log(total)), w / total
        pressure *= total
        if moved < SETTLED:
            return pressure, y
    return nan, np.full(gases, nan)
