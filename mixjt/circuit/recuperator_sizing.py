"""The approach at which a recuperator has the conductance stated, or that of its tubes, looked for along with the
pressure profile.

Conductance falls as the approach grows, down to what a circuit needs to cool at all. Secant steps in the logarithms of
both.
"""

from __future__ import annotations

import math

from mixjt.circuit.layout import Layout, Solution
from mixjt.errors import InputError, UnreachableError

SAME, NOISE = 3e-7, 1e-5  # of the logarithm of conductance; what the search for the pinch may leave of it
PATIENCE = 18  # solutions, after which that noise is let pass
STILL = 1e-7  # of a pressure: drops that move less stand still
SMALLEST = 1e-4  # K; a recuperator so large that this remains is as good as an endless one
LONGEST_STEP = 1.2  # in the logarithm of the approach
STEEPEST, FIRST_SLOPE, FLATTEST = -4.0, -0.5, -0.1  # of the logarithm of conductance with that of the approach
TELLING = 1e-3  # between two logarithms of approaches: closer ones tell no slope, as flow, leak and drops settle too
HOPELESS = 1e-5  # between approaches that leave some and no cooling


class Sizing:
    """One search for the approach of a circuit and the pressure drops of its tubes.

    With an approach stated, and no tubes, there is nothing to look for.
    """

    def __init__(self, layout: Layout):
        self.tried, self._slope = 0, FIRST_SLOPE
        self.fixed = not layout.circuit.of_stated_size
        self._last: tuple[float, float] | None = None  # logarithm of the approach, and the excess there
        self._useless = math.inf  # logarithm of the least approach known to leave no cooling

    def met(self, solution: Solution) -> bool:
        """Whether a solution has the conductance, or one that no longer matters, and the pressure drops."""
        if not _drops_fit(solution):
            return False
        if self.fixed:
            return True
        excess = self._excess(solution)
        return abs(excess) <= self._same or (excess < 0.0 and solution.layout.circuit.recuperator_approach <= SMALLEST)

    def next(self, solution: Solution) -> Layout:
        """What to solve after a solution."""
        layout = solution.layout
        if not _drops_fit(solution):
            layout = layout.with_drops(solution.rating)
        if self.fixed:
            return layout
        at, excess = math.log(layout.circuit.recuperator_approach), self._excess(solution)
        self.tried += 1
        if abs(excess) <= self._same:
            return layout
        if self._last is not None and abs(at - self._last[0]) > TELLING:
            self._slope = min(max((excess - self._last[1]) / (at - self._last[0]), STEEPEST), FLATTEST)
        self._last = at, excess
        step = min(max(-excess / self._slope, -LONGEST_STEP), LONGEST_STEP)
        return self._moved(layout, at + step)

    def closer(self, layout: Layout, error: UnreachableError) -> Layout:
        """What to solve after an approach that leaves no cooling.

        Raises
        ------
        UnreachableError
            Where no approach leaves any, or none that the conductance reaches.
        """
        if self.fixed:
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
                circuit, tubes = layout.circuit, ""
                if circuit.of_stated_length:
                    tubes = f" ({circuit.coil.length:.4g} m of its tubes)"
                raise UnreachableError(
                    f"a recuperator of {self._wanted:.4g} W/K{tubes} leaves no cooling at {circuit.cold_temperature:.5g} K; "
                    f"it takes {self._wanted * math.exp(excess):.4g} W/K to cool at all; take a larger one, a warmer cold "
                    "end or a wider pressure ratio"
                )
            to = 0.5 * (at + self._useless)
        try:
            return layout.at_approach(max(math.exp(to), SMALLEST))
        except InputError:  # so wide an approach leaves no recuperator
            self._useless = to
            return self._moved(layout, to)

    @property
    def _same(self) -> float:
        return SAME if self.tried < PATIENCE else NOISE

    def _excess(self, solution: Solution) -> float:
        circuit = solution.layout.circuit
        self._wanted = solution.rating.conductance if circuit.of_stated_length else circuit.recuperator_conductance
        return math.log(solution.conductance / self._wanted)


def _drops_fit(solution: Solution) -> bool:
    """Whether the pressure drops that a solution counts on are those of its tubes."""
    circuit, rating = solution.layout.circuit, solution.rating
    if rating is None:
        return True
    return (
        abs(rating.high_drop - circuit.high_side_drop) <= STILL * circuit.throttle_pressure
        and abs(rating.low_drop - circuit.low_side_drop) <= STILL * circuit.suction_pressure
    )
