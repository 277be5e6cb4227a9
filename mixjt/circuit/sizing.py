"""The approach at which a recuperator has the conductance stated, looked for along with the pressure profile.

Conductance falls as the approach grows, down to what a circuit needs to cool at all. Secant steps in the logarithms of
both, which are nearly proportional.
"""

from __future__ import annotations

import math

from mixjt.circuit.layout import Layout, Solution
from mixjt.errors import UnreachableError

SAME = 1e-6  # of the logarithm of conductance
SMALLEST = 1e-4  # K; a recuperator so large that this remains is as good as an endless one
LONGEST_STEP = 1.2  # in the logarithm of the approach
STEEPEST, FLATTEST = -4.0, -0.1  # of the logarithm of conductance with that of the approach
HOPELESS = 1e-5  # between approaches that leave some and no cooling


class Sizing:
    """One search for the approach of a circuit; without a conductance stated there is nothing to look for."""

    def __init__(self, layout: Layout):
        self.wanted = layout.circuit.recuperator_conductance
        self._last: tuple[float, float] | None = None  # logarithm of the approach, and the excess there
        self._useless = math.inf  # logarithm of the least approach known to leave no cooling

    def met(self, solution: Solution) -> bool:
        """Whether a solution has the conductance, or one that no longer matters."""
        if self.wanted is None:
            return True
        excess = self._excess(solution)
        return abs(excess) <= SAME or (excess < 0.0 and solution.layout.circuit.recuperator_approach <= SMALLEST)

    def next(self, solution: Solution) -> Layout:
        """What to solve after a solution."""
        layout = solution.layout
        if self.wanted is None:
            return layout
        at, excess, slope = math.log(layout.circuit.recuperator_approach), self._excess(solution), -1.0
        if self._last is not None and abs(at - self._last[0]) > 1e-12:
            slope = min(max((excess - self._last[1]) / (at - self._last[0]), STEEPEST), FLATTEST)
        self._last = at, excess
        step = min(max(-excess / slope, -LONGEST_STEP), LONGEST_STEP)
        return self._moved(layout, at + step)

    def closer(self, layout: Layout, error: UnreachableError) -> Layout:
        """What to solve after an approach that leaves no cooling.

        Raises
        ------
        UnreachableError
            Where no approach leaves any, or none that the conductance reaches.
        """
        if self.wanted is None:
            raise error
        self._useless = min(self._useless, math.log(layout.circuit.recuperator_approach))
        if self._last is None:
            if layout.circuit.recuperator_approach <= SMALLEST:
                raise error
            return layout.at_approach(max(0.3 * layout.circuit.recuperator_approach, SMALLEST))
        return self._moved(layout, self._useless)

    def _moved(self, layout: Layout, to: float) -> Layout:
        at, excess = self._last
        if to >= self._useless:
            if self._useless - at < HOPELESS and excess > 0.0:
                circuit = layout.circuit
                raise UnreachableError(
                    f"a recuperator of {self.wanted:.4g} W/K leaves no cooling at {circuit.cold_temperature:.5g} K; it "
                    f"takes {self.wanted * math.exp(excess):.4g} W/K to cool at all; take a larger one, a warmer cold end "
                    "or a wider pressure ratio"
                )
            to = 0.5 * (at + self._useless)
        return layout.at_approach(max(math.exp(to), SMALLEST))

    def _excess(self, solution: Solution) -> float:
        return math.log(solution.conductance / self.wanted)
