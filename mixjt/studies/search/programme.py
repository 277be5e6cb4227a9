"""The linear programme of one step of a climb, and many of them solved side by side."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from mixjt.studies.search.landscape import PENALTY, Landscape, Place, View, log_cooling_slope

LEAST_SCALE = 100.0  # J/mol
LOOSE = 1e-6
OFFSET = 0.2  # a fraction x may move by radius (x + this), so that small ones move less
PRESSURE_SHARE = 2.0  # how much further a logarithm of pressure may move
TOGETHER = 32  # programmes solved as one


@dataclass(frozen=True)
class Programme:
    """Maximise objective @ v with rows @ v <= limits, balance @ v = 0 and low <= v <= high.

    The variables v are the steps of fractions and of logarithms of pressure, the change of cooling over
    its scale, and the steps by which each constraint is missed; stay is the v of not moving. The first of the rows,
    as many as there are levels, keep the cooling within what the recuperator allows. scale is in J/mol.
    """

    objective: np.ndarray
    rows: np.ndarray
    limits: np.ndarray
    balance: np.ndarray
    low: np.ndarray
    high: np.ndarray
    stay: np.ndarray
    levels: int
    scale: float

    def loose(self, answer: np.ndarray) -> bool:
        """Whether less cooling than there is would pay, so that no level holds it."""
        room = self.limits - self.rows @ answer
        return bool(np.all(room[: self.levels] > LOOSE * LEAST_SCALE))

    def held(self) -> Programme:
        """The same with the cooling kept up to the lowest level."""
        lowest = np.argmin(self.limits[: self.levels])
        return replace(
            self, rows=np.vstack([self.rows, -self.rows[lowest]]), limits=np.append(self.limits, -self.limits[lowest])
        )

    def corrected(self, answer: np.ndarray, margins: np.ndarray, cooling: float) -> Programme:
        """The same with limits as they turned out where an answer led, by its changes of margins (k,), in steps, and of
        cooling [J/mol].
        """
        count = margins.size
        held = slice(self.levels, self.levels + count)
        found = answer[:-count].copy()
        found[-1] = cooling / self.scale
        off = margins + self.rows[held, :-count] @ found
        limits = self.limits.copy()
        limits[: self.levels] += min(cooling - self.scale * answer[-count - 1], 0.0)
        limits[held] += np.where(np.isfinite(off), np.minimum(off, 0.0), 0.0)
        return replace(self, limits=limits)

    def promised(self, answer: np.ndarray) -> float:
        """By how much the linear model gains."""
        return float(self.objective @ (answer - self.stay))


def build_programme(landscape: Landscape, place: Place, view: View, slopes, radius: float) -> Programme:
    """The linear model of the merit within a trust region around a place.

    Parameters
    ----------
    view : View
        Of the place alone.
    slopes : Slopes
        See `mixjt.studies.search.climb`.
    """
    unit, missed = landscape.evaluator.steps, view.missed[0]
    cooling = float(view.samples.cooling[0])
    scale = max(abs(cooling), LEAST_SCALE)

    below = np.hstack(
        [-slopes.difference, np.full((slopes.level.size, 1), scale), np.zeros((slopes.level.size, unit.size))]
    )
    held = np.hstack(
        [
            -slopes.margins / unit[:, None],
            -scale * (slopes.margins_cooling / unit)[:, None],
            -np.eye(unit.size),
        ]
    )
    rows = np.vstack([below, held])
    limits = np.concatenate([slopes.level - cooling, view.judgement.margins[0] / unit - landscape.safety])
    low, high = _trust_region(landscape, place, slopes, radius)
    steps = low.size
    return Programme(
        objective=np.concatenate(
            [slopes.gain, [scale * (log_cooling_slope(cooling) + slopes.gain_cooling)], np.full(unit.size, -PENALTY)]
        ),
        rows=rows,
        limits=limits,
        balance=np.concatenate([np.ones(slopes.bottles.size), np.zeros(rows.shape[1] - slopes.bottles.size)]),
        low=np.concatenate([low, [-np.inf], np.zeros(unit.size)]),
        high=np.concatenate([high, [np.inf], np.full(unit.size, np.inf)]),
        stay=np.concatenate([np.zeros(steps + 1), missed]),
        levels=slopes.level.size,
        scale=scale,
    )


def _trust_region(landscape: Landscape, place: Place, slopes, radius: float):
    """Smallest and largest step of each variable, within the bounds of the request."""
    request, bottles, free = landscape.request, slopes.bottles, slopes.free
    now = np.concatenate([place.amounts[bottles], place.log_pressures[free]])
    ranges = np.log(request.pressure_ranges)[free]
    least = np.concatenate([request.lowest[bottles], ranges[:, 0]])
    most = np.concatenate([request.highest[bottles], ranges[:, 1]])
    reach = np.concatenate(
        [radius * (place.amounts[bottles] + OFFSET), np.full(free.size, PRESSURE_SHARE * radius)]
    )
    return np.minimum(np.maximum(least - now, -reach), 0.0), np.maximum(np.minimum(most - now, reach), 0.0)


def solve_side_by_side(programmes: list[Programme]) -> list[np.ndarray | None]:
    """Answers of independent programmes, None where one has none, with the cooling held where it would be loose."""
    answers = _solved_together(programmes)
    loose = [k for k, answer in enumerate(answers) if answer is not None and programmes[k].loose(answer)]
    for k, answer in zip(loose, _solved_together([programmes[k].held() for k in loose]), strict=True):
        answers[k] = answer
    return answers


def _solved_together(programmes: list[Programme]) -> list[np.ndarray | None]:
    """Which saves overhead."""
    answers: list[np.ndarray | None] = []
    for start in range(0, len(programmes), TOGETHER):
        some = programmes[start : start + TOGETHER]
        answer = _solved(some)
        if answer is None and len(some) > 1:
            answers += [_only(_solved([one])) for one in some]
        else:
            answers += [None] * len(some) if answer is None else answer
    return answers


def _only(answer: list[np.ndarray] | None) -> np.ndarray | None:
    return None if answer is None else answer[0]


def _solved(programmes: list[Programme]) -> list[np.ndarray] | None:
    import highspy

    if not all(np.all(np.isfinite(part)) for one in programmes for part in (one.objective, one.rows)):
        return None  # the solver would not end
    solver = highspy.Highs()
    solver.setOptionValue("output_flag", False)
    solver.setOptionValue("threads", 1)
    if solver.passModel(_side_by_side(programmes)) == highspy.HighsStatus.kError:
        return None
    solver.run()
    if solver.getModelStatus() != highspy.HighsModelStatus.kOptimal:
        return None
    answer = np.array(solver.getSolution().col_value)
    return np.split(answer, np.cumsum([one.objective.size for one in programmes])[:-1])


def _side_by_side(programmes: list[Programme]):
    """Independent programmes as one of the solver's, block below block, the balance of each its first row."""
    import highspy

    blocks = [np.vstack([one.balance, one.rows]) for one in programmes]
    columns = np.cumsum([0, *(block.shape[1] for block in blocks)])
    lowest = [np.concatenate([[0.0], np.full(one.limits.size, -np.inf)]) for one in programmes]
    found = highspy.HighsLp()
    found.num_row_, found.num_col_ = sum(len(block) for block in blocks), int(columns[-1])
    found.col_cost_ = -np.concatenate([one.objective for one in programmes])
    found.col_lower_ = np.concatenate([one.low for one in programmes])
    found.col_upper_ = np.concatenate([one.high for one in programmes])
    found.row_lower_ = np.concatenate(lowest)
    found.row_upper_ = np.concatenate([part for one in programmes for part in ([0.0], one.limits)])
    found.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    found.a_matrix_.start_ = np.cumsum([0, *(block.shape[1] for block in blocks for _ in block)])
    found.a_matrix_.index_ = np.concatenate([np.tile(np.arange(*ends), len(block)) for ends, block in zip(pairwise(columns), blocks)])
    found.a_matrix_.value_ = np.concatenate([block.ravel() for block in blocks])
    return found
