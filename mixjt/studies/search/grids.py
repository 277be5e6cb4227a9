"""At which temperatures a search evaluates its blends."""

from __future__ import annotations

import numpy as np

from mixjt.studies.search.evaluate import HIGHEST_TEMPERATURE, Grid, Judgement, Samples
from mixjt.studies.search.request import SearchRequest

ROUGH, COMMON, COARSE, FINE = 16, 32, 24, 48  # evenly spaced temperatures along the recuperator
NEARLY_PINCHED = 0.25  # a local minimum within this share of the cooling above the least is looked at closely
AROUND_PINCH = {  # K, by the number of even points
    COARSE: np.array([-3.0, -1.2, -0.4, 0.0, 0.4, 1.2, 3.0]),
    FINE: np.array([-1.8, -0.8, -0.3, -0.1, 0.0, 0.1, 0.3, 0.8, 1.8]),
}
AROUND_DEW = np.array([-9.0, -5.0, -2.5, -1.2, -0.5, -0.15, 0.15, 1.5, 4.0, 8.0])  # K
BELOW_WARM_END = np.array([80.0, 60.0, 45.0, 35.0, 28.0, 22.0, 16.0, 11.0, 7.0, 3.0, 0.0])  # K
ABOVE_WARM_END = np.array([5.0, 12.0, 25.0])  # K; not reached, but a dew point may lie there
DISCHARGE_SHARES = np.array([0.0, 0.06, 0.12, 0.18, 0.25, 0.33, 0.42, 0.54, 0.7, 1.0])


def common_grid(request: SearchRequest, points: int) -> Grid:
    """One grid for all blends, even along the recuperator."""
    circuit = request.circuit
    high, low = circuit.sides()
    return Grid(
        recuperator=np.linspace(*circuit.span, points),
        suction=_suction(request),
        discharge=_discharge(request),
        high=high,
        low=low,
    )


def close_grid(request: SearchRequest, samples: Samples, judgement: Judgement, points: int) -> Grid:
    """A grid for the neighbourhood of a blend, the first of samples, dense at its pinches and dew point.

    points is COARSE or FINE. The pressure profiles are those of its throttle and compressor inlet temperatures.
    """
    circuit = request.circuit
    cooling = samples.cooling[0]
    span = circuit.span
    inlet = float(np.clip(judgement.suction_temperature[0], circuit.cold_temperature + 1.0, None))
    throttle = np.interp(samples.low[0, 0] - cooling, samples.high[0], samples.grid.recuperator)
    high, low = circuit.sides(float(throttle), min(inlet, span[1] - circuit.recuperator_approach))
    pinches = _near_pinches(samples.grid.recuperator, samples.difference[0], cooling)
    close = (pinches[:, None] + AROUND_PINCH[points]).ravel()
    return Grid(
        recuperator=_merged(np.linspace(*span, points), close, span),
        suction=_suction(request, judgement.dew_temperature[0]),
        discharge=_discharge(request),
        high=high,
        low=low,
    )


def _near_pinches(temperatures: np.ndarray, difference: np.ndarray, cooling: float) -> np.ndarray:
    padded = np.concatenate([[np.inf], difference, [np.inf]])
    local = (difference <= padded[:-2]) & (difference <= padded[2:])
    return temperatures[local & (difference <= cooling + NEARLY_PINCHED * abs(cooling))]


def _suction(request: SearchRequest, dew: float | None = None) -> np.ndarray:
    circuit = request.circuit
    warm = circuit.warm_temperature - circuit.recuperator_approach
    grid = np.concatenate([warm - BELOW_WARM_END, warm + ABOVE_WARM_END])
    lowest = min(grid[0], warm - request.suction_superheat - 25.0)
    span = (max(min(lowest, warm - 80.0), 60.0), grid[-1])
    if lowest < grid[0]:
        grid = np.concatenate([np.arange(lowest, grid[0], 20.0), grid])
    grid = grid[grid >= span[0]]
    return grid if dew is None else _merged(grid, dew + AROUND_DEW, span)


def _discharge(request: SearchRequest) -> np.ndarray:
    warm = request.circuit.warm_temperature
    return warm + DISCHARGE_SHARES * (HIGHEST_TEMPERATURE - warm)


def _merged(even: np.ndarray, close: np.ndarray, span: tuple[float, float]) -> np.ndarray:
    """Both sets within the span, without neighbours that nearly coincide."""
    both = np.unique(np.concatenate([even, close[(close > span[0]) & (close < span[1])]]))
    kept = np.concatenate([[True], np.diff(both) > 0.05])
    kept[-1] = True
    if len(both) > 1 and both[-1] - both[-2] <= 0.05:
        kept[-2] = False
    return both[kept]
