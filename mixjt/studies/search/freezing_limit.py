"""A smallest freezing margin as a constraint of the search."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from mixjt.circuit.machine import ThrottleCircuit
from mixjt.circuit.result import CircuitResult
from mixjt.fluid.freezing_points import FARTHEST, STEP
from mixjt.fluid.models import plausible_models
from mixjt.fluid.saturation_index import index_of, saturation_index, solids_of
from mixjt.keys import key
from mixjt.parts.places import THROTTLE_OUTLET

# K; close together, because enthalpy bends where vapour or a second liquid appears. The far ones take a third of the
# time, and few blends need them.
BELOW_COLD_END = np.array([*range(13), 14.0, 17.0, 20.0, 25.0, 32.0])
FEW = 13
INDEX_PER_KELVIN = 0.06  # heats of fusion of 4 to 5 kJ/mol over R T^2 at 95 K
NONE = -INDEX_PER_KELVIN * FARTHEST  # of a gas that is absent, or so cold that its pure liquid is not known


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
    step: float = 0.25

    def columns(self, model) -> int:
        """One for every gas, each of whose margins is smooth in the blend; the least of them is not."""
        return len(model.gases)

    def margins(self, model, z: np.ndarray, suction, discharge, cooling) -> np.ndarray:
        """Margin of every gas (n, c) above the smallest one [K], from its greatest saturation index between the cold end
        and the smallest margin below the throttle outlet.

        Unlike the temperature of the first solid, which jumps where a solid is stable over a narrow stretch only, this
        is continuous in the blend. Where it is 0 it is exact but for the straight lines between the temperatures looked at.
        """
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
        return margins

    def solved_margin(self, result: CircuitResult) -> float:
        """Margin above the smallest one [K], like that of batches, by the least favourable set of pair parameters; -60
        where it could not be found.
        """
        kept, outlet = result.freezing.margin, result.points[THROTTLE_OUTLET]
        if kept is None:
            return -FARTHEST if result.freezing.warnings else FARTHEST
        cold = result.cold_temperature
        temperatures = np.append(np.arange(outlet.temperature - self.smallest, cold, STEP), cold)
        z, pressures = np.tile(outlet.composition, (temperatures.size, 1)), np.full(temperatures.size, outlet.pressure)
        models = [result.fluid.model, *(model for _, model in plausible_models(result.fluid.model, outlet.composition))]
        found = [saturation_index(model, z, temperatures, pressures) for model in models]
        margin = -np.nan_to_num(found, nan=NONE, neginf=NONE).max() / INDEX_PER_KELVIN
        if kept >= self.smallest:
            return max(margin, 0.0)
        return margin if margin < 0.0 else kept - self.smallest

    def _near(self, model, z, pressure, cooling, below) -> np.ndarray:
        """Margins (n, c) [K] of blends that may freeze; NaN where the outlet lies deeper, or the model has no answer."""
        temperatures = np.unique(np.maximum(self.circuit.cold_temperature - below, solids_of(model).floor))
        blends, which = np.unique(np.column_stack([z, pressure]), axis=0, return_inverse=True)  # one may come twice
        swept = model.careful().sweep(blends[:, :-1], blends[:, -1:], temperatures, strict=False, gradients=True)
        at = np.tile(temperatures, len(blends)), np.repeat(blends[:, -1], temperatures.size)
        index = index_of(model, swept.log_fugacities.reshape(-1, z.shape[1]), *at).reshape(swept.log_fugacities.shape)
        margins = np.full(z.shape, np.nan)
        for row, blend in enumerate(which.ravel()):
            enthalpy = swept.enthalpy[blend]
            first = np.flatnonzero(np.isnan(enthalpy)).max(initial=-1) + 1  # of what is solved down from the warm end
            known, wanted = enthalpy[first:], enthalpy[-1] - cooling[row]
            if known.size < 2 or wanted < known[0]:
                continue
            coldest = np.interp(wanted, known, temperatures[first:]) - self.smallest - self.allowance
            if coldest >= temperatures[first] or below.size > FEW:
                margins[row] = -_greatest(temperatures[first:], index[blend, first:], coldest) / INDEX_PER_KELVIN
        return np.minimum(margins, FARTHEST)


def _greatest(temperatures, index, coldest) -> np.ndarray:
    """The greatest (c,) of indices (m, c), straight between temperatures (m,), from the coldest temperature on."""
    right = int(np.clip(np.searchsorted(temperatures, coldest), 1, temperatures.size - 1))
    share = np.clip((coldest - temperatures[right - 1]) / (temperatures[right] - temperatures[right - 1]), 0.0, 1.0)
    warmer = np.nan_to_num(index[right - 1 :], nan=NONE, neginf=NONE)
    return np.maximum((1.0 - share) * warmer[0] + share * warmer[1], warmer[1:].max(axis=0))
