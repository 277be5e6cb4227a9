"""At which temperatures a search evaluates its blends."""

from __future__ import annotations

import numpy as np

from mixjt.circuit.machine import ThrottleCircuit
from mixjt.circuit.pinch import straight_line_bound
from mixjt.parts.compressor.shell import HOTTEST
from mixjt.parts.recuperator.side import Ends
from mixjt.studies.search.evaluate import Grid, Judgement, Samples
from mixjt.studies.search.precooled_search import section_boundary
from mixjt.studies.search.search_request import SearchRequest

ROUGH, COMMON, COARSE, FINE = 16, 32, 24, 48  # evenly spaced temperatures along the recuperator
NEARLY_LEAST = 2.0  # and where sides come within this share above their least distance
NEARLY_PINCHED = 0.25  # a local minimum within this share of the cooling above the least is looked at closely
AROUND_PINCH = {  # K, by the number of even points
    COARSE: np.array([-3.0, -1.2, -0.4, 0.0, 0.4, 1.2, 3.0]),
    FINE: np.array([-1.8, -0.8, -0.3, -0.1, 0.0, 0.1, 0.3, 0.8, 1.8]),
}
AROUND_DEW = np.array([-9.0, -5.0, -2.5, -1.2, -0.5, -0.15, 0.15, 1.5, 4.0, 8.0])  # K
ABOVE_WARM_END = np.array([5.0, 12.0, 25.0, 50.0, 85.0, 125.0])  # K; of a gas that the shell heats, or a dew point
DISCHARGE_SHARES = np.array([0.004, 0.06, 0.12, 0.18, 0.25, 0.33, 0.42, 0.54, 0.7, 1.0])
HIDDEN = 2e-3  # of the cooling, by which a pinch may lie below it unseen
MOST_HIDDEN = 3  # intervals looked at for it
APART = 0.05  # K, between neighbouring temperatures


def common_grid(request: SearchRequest, points: int) -> Grid:
    """One grid for all blends, even along the recuperator."""
    circuit = request.swept
    return _grid(request, _even(circuit, points), np.array([]), *circuit.ends())


def close_grid(request: SearchRequest, samples: Samples, judgement: Judgement, points: int) -> Grid:
    """A grid for the neighbourhood of a blend, the first of samples, dense at its pinches and dew point.

    points is COARSE or FINE. The pressure profiles are those of its throttle and compressor inlet temperatures.
    """
    circuit = request.swept
    cooling, warmest = samples.cooling[0], circuit.warm_temperature
    inlet = float(np.clip(judgement.suction_temperature[0], circuit.cold_temperature + 1.0, None))
    throttle = np.interp(samples.low.enthalpy[0, 0] - cooling - samples.leak[0, 0], samples.high[0], samples.grid.recuperator)
    high, low = circuit.ends(float(throttle), min(inlet, warmest - circuit.recuperator_approach))
    pinches = _pinches(samples, cooling)
    recuperator = _with(_even(circuit, points), (pinches[:, None] + AROUND_PINCH[points]).ravel(), warmest)
    close = [judgement.dew_temperature[0] + AROUND_DEW]
    if samples.apart.shape[1]:
        beside = pinches - np.interp(pinches, samples.grid.recuperator, samples.apart[0])
        close.append((beside[:, None] + AROUND_PINCH[points]).ravel())
    return _grid(request, recuperator, np.concatenate(close), high, low)


def _grid(request: SearchRequest, recuperator: np.ndarray, close: np.ndarray, high: Ends, low: Ends) -> Grid:
    """A grid with close low-side temperatures besides those that the recuperator's call for."""
    circuit = request.swept
    cold = recuperator - circuit.recuperator_approach
    above = cold[-1] + ABOVE_WARM_END
    temperatures = _with(cold, np.concatenate([close, above]), above[-1] + APART)
    warm, boundary = circuit.warm_temperature, section_boundary(circuit)
    return Grid(
        recuperator=recuperator,
        discharge=warm + DISCHARGE_SHARES * (HOTTEST - warm),
        low=temperatures,
        met=np.searchsorted(temperatures, cold),
        high_side=high,
        low_side=low,
        cold=recuperator.size if boundary is None else int(np.searchsorted(recuperator, boundary, side="right")),
        colder_suction=boundary is not None and not circuit.warm_section,
    )


def _even(circuit: ThrottleCircuit, points: int) -> np.ndarray:
    """Even temperatures along the recuperator; of two sections, the cold one gets `points`, the warm one fewer."""
    cold, boundary = np.linspace(*circuit.span, points), section_boundary(circuit)
    if boundary is None:
        return cold
    step = max((boundary - circuit.span[0]) / points, 1.0)
    count = int(np.clip((circuit.warm_temperature - boundary) / step, 4, points))
    return np.concatenate([cold, np.linspace(boundary, circuit.warm_temperature, count + 1)[1:]])


def _pinches(samples: Samples, cooling: float) -> np.ndarray:
    """Temperatures near the pinch of every section, seen or hidden between two points."""
    grid, warm = samples.grid, samples.warm_difference[0]
    if samples.apart.shape[1]:
        return _near_pinches(grid.recuperator, samples.apart[0], samples.apart[0].min(), NEARLY_LEAST)
    sections = [(grid.recuperator[: grid.cold], samples.difference[0], cooling)]
    if warm.size:
        sections.append((grid.recuperator[grid.cold - 1 :], warm, warm.min()))
    return np.concatenate([find(*section) for section in sections for find in (_near_pinches, _hidden_pinches)])


def _near_pinches(temperatures: np.ndarray, difference: np.ndarray, least: float, share: float = NEARLY_PINCHED) -> np.ndarray:
    padded = np.concatenate([[np.inf], difference, [np.inf]])
    local = (difference <= padded[:-2]) & (difference <= padded[2:])
    return temperatures[local & (difference <= least + share * abs(least))]


def _hidden_pinches(temperatures: np.ndarray, difference: np.ndarray, cooling: float) -> np.ndarray:
    """Middles of the intervals in which a kink may go deepest below the cooling, as far as straight lines tell."""
    bound = straight_line_bound(temperatures, difference)
    suspect = np.flatnonzero(bound < cooling - HIDDEN * abs(cooling))
    deepest = suspect[np.argsort(bound[suspect])[:MOST_HIDDEN]]
    return 0.5 * (temperatures[deepest] + temperatures[deepest + 1])


def _with(base: np.ndarray, more: np.ndarray, highest: float) -> np.ndarray:
    """Base and, in between and up to the highest, more temperatures as far as they lie apart."""
    more = np.sort(more[(more > base[0]) & (more < highest)])
    more = more[np.diff(more, prepend=-np.inf) > APART]
    apart = np.abs(more[:, None] - base).min(axis=1, initial=np.inf) > APART
    return np.sort(np.concatenate([base, more[apart]]))
