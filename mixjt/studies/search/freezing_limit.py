"""A smallest freezing margin as a constraint of the search."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from mixjt.circuit.machine import ThrottleCircuit
from mixjt.circuit.result import CircuitResult
from mixjt.fluid.freezing_points import FARTHEST, margin_from_index
from mixjt.fluid.saturation_index import index_of, solids_of
from mixjt.keys import key

# K; close together, because enthalpy bends where vapour or a second liquid appears. The far ones take a third of the
# time, and few blends need them.
BELOW_COLD_END = np.array([*range(13), 14.0, 17.0, 20.0, 25.0, 32.0])
FEW = 13
LEAST_REACH = 1.0  # K


@dataclass(frozen=True)
class FreezingConstraint:
    """No gas may freeze out on the cold path, with so many kelvin to spare.

    Batches are judged at the throttle outlet alone, as a rule the coldest point and the one where the liquid
    holds most of the heavy gases, and by the search's model; a circuit solved in full is judged all along its cold
    path, by every plausible set of pair parameters.

    Parameters
    ----------
    circuit : ThrottleCircuit
    smallest : float
        [K]
    allowance : float
        What batches must keep besides [K]; that of other pair parameters is known from a blend nearby.
    """

    circuit: ThrottleCircuit
    smallest: float = key(
        "temperature_difference", "how far above its first solid the cold path must stay",
        at="smallest_freezing_margin", within="[0, 40]", otherwise="freezing only warned of",
    )
    allowance: float = 0.0
    name: str = "freezing margin"
    unit: str = "K"
    step: float = 1.0

    def columns(self, model) -> int:
        """One for every gas, each of whose margins is smooth in the blend; the least of them is not."""
        return len(model.gases)

    def margins(self, model, z: np.ndarray, suction, discharge, cooling) -> np.ndarray:
        """Margin of every gas (n, c) above the smallest one [K], at a throttle outlet interpolated between states."""
        margins = np.full(z.shape, FARTHEST)
        coldest = self.circuit.cold_temperature - BELOW_COLD_END[-1]
        melting = np.where(z > 0.0, solids_of(model).melting, 0.0).max(axis=1)
        rows = np.flatnonzero(coldest - self.smallest < melting + 1.0)
        if rows.size:
            pressure = suction + self.circuit.low_side_drop
            for below in (BELOW_COLD_END[:FEW], BELOW_COLD_END):
                margins[rows] = self._near(model, z[rows], pressure[rows], cooling[rows], below)
                rows = rows[np.isnan(margins[rows, 0])]
                if not rows.size:
                    break
        return margins - self.smallest - self.allowance

    def solved_margin(self, result: CircuitResult) -> float:
        """Margin above the smallest one [K]; -60 where it could not be found."""
        report = result.freezing
        if report.margin is None:
            return -FARTHEST if report.warnings else FARTHEST - self.smallest
        return report.margin - self.smallest

    def _near(self, model, z, pressure, cooling, below) -> np.ndarray:
        """Margins (n, c) [K] of blends that may freeze; NaN where the outlet lies deeper, or the model has no answer."""
        reach, coldest = max(self.smallest + self.allowance, LEAST_REACH), solids_of(model).floor
        temperatures = np.unique(np.maximum(self.circuit.cold_temperature - below, coldest))
        blends, which = np.unique(np.column_stack([z, pressure]), axis=0, return_inverse=True)  # one may come twice
        swept = model.sweep(blends[:, :-1], blends[:, -1:], temperatures, strict=False, gradients=True)
        which, outlets = which.ravel(), np.full(len(z), np.nan)
        for row, enthalpy in enumerate(swept.enthalpy[which]):
            first = np.flatnonzero(np.isnan(enthalpy)).max(initial=-1) + 1  # of what is solved down from the warm end
            known, wanted = enthalpy[first:], enthalpy[-1] - cooling[row]
            if known.size > 1 and wanted >= known[0]:
                outlets[row] = np.interp(wanted, known, temperatures[first:])
        if below.size == FEW:
            outlets[outlets - reach < temperatures[0]] = np.nan
        found = np.flatnonzero(np.isfinite(outlets))
        at = np.array([outlets[found] - reach, outlets[found]])
        log_f = np.array([_between(temperatures, swept.log_fugacities[which[found]], each) for each in at])
        log_f = log_f.reshape(2 * found.size, z.shape[1])
        index = index_of(model, log_f, at.ravel(), np.tile(pressure[found], 2)).reshape(2, found.size, z.shape[1])
        margins = np.full(z.shape, np.nan)
        margins[found] = margin_from_index(index[1], index[0], reach)
        return margins


def _between(temperatures, log_f, at) -> np.ndarray:
    """Rows (n, c) of log_f (n, m, c), straight between temperatures (m,), at those given (n,); beyond an end, its value."""
    right = np.clip(np.searchsorted(temperatures, at), 1, temperatures.size - 1)
    share = np.clip((at - temperatures[right - 1]) / (temperatures[right] - temperatures[right - 1]), 0.0, 1.0)[:, None]
    rows = np.arange(len(at))
    there = np.isfinite(log_f[:, -1])  # not of gases that are absent
    left, right = (np.where(there, log_f[rows, k], 0.0) for k in (right - 1, right))
    return np.where(there, (1.0 - share) * left + share * right, -np.inf)
