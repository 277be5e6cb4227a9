"""A straight line through readings over time, and how well it is known.

Least squares with equal weights. Neighbouring readings are seldom independent (the room drifts, a controller hunts),
so the standard error counts n (1 - r) / (1 + r) readings instead of n, r being the lag-1 autocorrelation of
the residuals where that is positive (Santer et al. 2000, J. Geophys. Res. 105, 7337, eqs. 3-6; from
memory). A reading that is shown in steps may creep within one: the rounding of both ends, each evenly
spread over a step, adds step / sqrt(6) over the duration.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

LEAST = 5  # readings of a line that is judged
CONFIDENCE = 0.975  # one-sided
SURE = 3.0  # standard errors from which a bend or a step is none of chance, among the many looked at
BEND_SHARE = 0.05  # of the change along a line, that it may bend


@dataclass(frozen=True, eq=False)
class Line:
    """A straight line through readings (n,) without NaN, at times (n,) [s], shown in steps of `step` [their unit]."""

    times: np.ndarray
    values: np.ndarray
    step: float = 0.0

    @property
    def count(self) -> int:
        return self.times.size

    @property
    def mean(self) -> float:
        return float(self.values.mean()) if self.count else np.nan

    @cached_property
    def _away(self) -> np.ndarray:
        return self.times - self.times.mean()

    @cached_property
    def slope(self) -> float:
        """[per s], NaN for fewer than two readings."""
        return (
            float(self._away @ (self.values - self.mean) / (self._away @ self._away))
            if self.count > 1
            else np.nan
        )

    @cached_property
    def residuals(self) -> np.ndarray:
        return self.values - self.mean - self.slope * self._away

    @cached_property
    def scatter(self) -> float:
        """Standard deviation about the line; NaN for fewer than three readings."""
        return (
            float(np.sqrt(self.residuals @ self.residuals / (self.count - 2))) if self.count > 2 else np.nan
        )

    @cached_property
    def autocorrelation(self) -> float:
        """Of neighbouring residuals, not below zero."""
        square = float(self.residuals @ self.residuals)
        return max(float(self.residuals[1:] @ self.residuals[:-1]) / square, 0.0) if square > 0.0 else 0.0

    @property
    def independent(self) -> float:
        """How many independent readings would tell as much."""
        return self.count * (1.0 - self.autocorrelation) / (1.0 + self.autocorrelation)

    @cached_property
    def slope_error(self) -> float:
        """Standard error of the slope [per s]."""
        random = self.scatter / np.sqrt(self._away @ self._away * self.independent / self.count)
        return float(np.hypot(random, self.step / np.sqrt(6.0) / np.ptp(self.times)))

    @property
    def largest_slope(self) -> float:
        """What the slope does not exceed, either way, with CONFIDENCE [per s]."""
        return abs(self.slope) + self._quantile * self.slope_error

    @property
    def slopes(self) -> bool:
        """Whether the slope is not zero, with CONFIDENCE."""
        return abs(self.slope) > self._quantile * self.slope_error

    @property
    def _quantile(self) -> float:
        from scipy.special import stdtrit  # Student's t; slow to import

        return float(stdtrit(max(self.independent - 2.0, 1.0), CONFIDENCE))

    def bends(self, least: float) -> bool:
        """Whether the readings leave the line by more than chance and more than `least` [their unit].

        That is, those of the middle half from those of the two ends, on average; chance is told from the
        differences of neighbours (von Neumann's estimate), which a bend leaves alone.
        """
        quarter = self.count // 4
        middle, ends = (
            self.residuals[quarter : -quarter or None],
            np.r_[self.residuals[:quarter], self.residuals[-quarter:]],
        )
        bend = abs(middle.mean() - ends.mean()) if quarter else 0.0
        noise = np.sqrt(np.mean(np.diff(self.residuals) ** 2) / 2.0)
        chance = SURE * noise * np.sqrt(1.0 / middle.size + 1.0 / max(ends.size, 1))
        return bool(bend > max(chance, least + BEND_SHARE * abs(self.slope) * np.ptp(self.times)))

    def leaves(self, times: np.ndarray, values: np.ndarray, least: float) -> bool:
        """Whether further readings step off the line, by more than chance and more than `least` [their unit].

        Their median counts, which a single wild reading does not move.
        """
        away = times.mean() - self.times.mean()
        step = abs(np.median(values) - self.mean - self.slope * away)
        spread = self.scatter * np.sqrt(1.0 / values.size + 1.0 / self.independent)
        return bool(step > max(SURE * np.hypot(spread, away * self.slope_error), least))
