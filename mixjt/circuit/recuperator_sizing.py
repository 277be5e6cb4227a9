"""The approach at which a recuperator has the conductance stated, or that of its tubes, looked for along with the
pressure profile.

Conductance falls as the approach grows, down to what a circuit needs to cool at all. A recuperator of one section with two
streams tells by its own two curves what approach would do, leak and pressures kept. Elsewhere, and from the first such
step on that gains little, secant steps in the logarithms of both.
"""

from __future__ import annotations

import math

import numpy as np

from mixjt.circuit.layout import Expected, Layout, Solution
from mixjt.errors import InputError, UnreachableError
from mixjt.parts.insulation import spread_leak
from mixjt.parts.recuperator.coils import coils

SAME, NOISE = 3e-7, 1e-5  # of the logarithm of conductance; what the search for the pinch may leave of it
CLOSE = 0.2  # of that logarithm
PATIENCE = 18  # solutions, after which that noise is let pass
STILL = 2e-8  # of a pressure: drops that move less stand still
SMALLEST = 1e-4  # K; a recuperator so large that this remains is as good as an endless one
LONGEST_STEP = 1.2  # in the logarithm of the approach
STEEPEST, FIRST_SLOPE, FLATTEST = -4.0, -0.5, -0.1  # of the logarithm of conductance with that of the approach
TELLING = 1e-3  # between two logarithms of approaches: closer ones tell no slope, as flow, leak and drops settle too
HOPELESS = 1e-5  # between approaches that leave some and no cooling
FORECAST = 1e-10  # of a logarithm
GAINING, FREE = 0.8, 2  # of an excess, that a step by a forecast leaves at most; solutions before which that is not asked
FEWEST, SETTLING = 8, 3  # points of a curve; forecasts, each with the flow and the leak of the one before


class Sizing:
    """One search for the approach of a circuit and the pressure drops of its tubes.

    With an approach stated, and no tubes, there is nothing to look for.
    """

    def __init__(self, layout: Layout):
        self.tried, self._slope = 0, FIRST_SLOPE
        self.fixed, self._foresees = not layout.circuit.of_stated_size, not layout.circuit.three_streams
        self._last: tuple[float, float] | None = None  # logarithm of the approach, and the excess there
        self._useless = math.inf  # logarithm of the least approach known to leave no cooling

    def met(self, solution: Solution) -> bool:
        """Whether a solution has the conductance, or one that no longer matters, and the pressure drops."""
        return _drops_fit(solution) and self._within(solution, self._same)

    def close(self, solution: Solution) -> bool:
        """Whether a solution comes near the conductance."""
        return self._within(solution, CLOSE)

    @property
    def _same(self) -> float:
        return SAME if self.tried < PATIENCE else NOISE

    def _within(self, solution: Solution, most: float) -> bool:
        if self.fixed:
            return True
        excess = self._excess(solution)
        return abs(excess) <= most or (excess < 0.0 and solution.layout.circuit.recuperator_approach <= SMALLEST)

    def next(self, solution: Solution) -> Layout:
        """What to solve after a solution."""
        layout = solution.layout.expecting(None)
        if not _drops_fit(solution):
            layout = layout.with_drops(solution.rating)
        if self.fixed:
            return layout
        at, excess = math.log(layout.circuit.recuperator_approach), self._excess(solution)
        self.tried += 1
        if self._within(solution, self._same):
            return layout
        if self._last is not None and abs(at - self._last[0]) > TELLING:
            self._slope = min(max((excess - self._last[1]) / (at - self._last[0]), STEEPEST), FLATTEST)
        self._foresees &= self.tried <= FREE or abs(excess) < GAINING * abs(self._last[1])
        self._last = at, excess
        foreseen = _foreseen(solution, self._wanted) if self._foresees else None
        step, expected = foreseen or (-excess / self._slope, None)
        step = math.copysign(min(abs(step), LONGEST_STEP), step)
        moved = self._moved(layout, at + step)
        as_foreseen = abs(math.log(moved.circuit.recuperator_approach) - at - (foreseen or (math.inf,))[0]) < FORECAST
        return moved.expecting(expected if as_foreseen else None)

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

    def _excess(self, solution: Solution) -> float:
        circuit = solution.layout.circuit
        self._wanted = solution.rating.conductance if circuit.of_stated_length else circuit.recuperator_conductance
        return math.log(solution.conductance / self._wanted)


def needless_size(solution: Solution) -> tuple[str, ...]:
    """A sentence where a recuperator of stated size is larger than its streams can use."""
    circuit = solution.layout.circuit
    if not circuit.of_stated_size or circuit.recuperator_approach > SMALLEST:
        return ()
    stated = solution.rating.conductance if circuit.of_stated_length else circuit.recuperator_conductance
    return (
        f"the recuperator is larger than its streams can use: with {solution.conductance:.4g} of its {stated:.4g} W/K they come "
        f"within {SMALLEST:g} K of each other, and more of it buys no cooling",
    )


def _foreseen(solution: Solution, conductance: float) -> tuple[float, Expected] | None:
    """By how much the logarithm of the approach moves where the conductance is another [W/K], and what is expected there.

    None for several sections.
    """
    if len(solution.curves) > 1:
        return None
    (curve,), leak, circuit = solution.curves, solution.leak, solution.layout.circuit
    rising = np.flatnonzero(np.diff(curve.high_temperature, prepend=-np.inf) * np.diff(curve.low_temperature, prepend=-np.inf) > 0.0)
    hot, heat, cold = curve.high_temperature[rising], curve.heat[rising], curve.low_temperature[rising]
    if len(rising) < FEWEST:
        return None
    cooling, flow = solution.cooling, solution.compression.molar_flow
    low = heat + cooling + leak.before(hot)
    for _ in range(SETTLING):
        sides = hot, heat[None], leak.before(hot)[None], cold, low[None], len(hot), False, False
        other = coils(*sides, np.array([cooling]), np.array([conductance / flow]), FORECAST)
        flow = _flow_of_warmer(solution, other.low[0, -1] - cold[-1])
        inlet = _continued(cooling - other.cooling[0], heat, hot)  # of the throttle
        if solution.layout.leaking:
            from_there = inlet + (hot - hot[0]) * (hot[-1] - inlet) / (hot[-1] - hot[0])
            leak = spread_leak(
                circuit.insulation, circuit.ambient_temperature, flow, circuit.cold_temperature, other.shares[0], from_there, other.low[0]
            )
    then, now = min(other.apart.min(), inlet - cold[0]), curve.smallest_approach
    if not (now > 0.0 and then > 0.0):
        return None
    return math.log(then / now), Expected((inlet, float(other.low[0, -1])), leak)


def _flow_of_warmer(solution: Solution, warmer: float) -> float:
    """Molar flow [mol/s] where the gas comes back so many kelvin warmer, by its density alone."""
    done, entering = solution.compression, solution.compression.entering.temperature
    return done.molar_flow * entering / (entering + (1.0 - solution.layout.circuit.compressor.suction_heating) * warmer)


def _continued(at: float, x, y) -> float:
    """Of y at a place of x, straight on below its first one."""
    return float(np.interp(at, x, y)) if at > x[0] else float(y[0] + (at - x[0]) * (y[1] - y[0]) / (x[1] - x[0]))


def _drops_fit(solution: Solution) -> bool:
    """Whether the pressure drops that a solution counts on are those of its tubes."""
    circuit, rating = solution.layout.circuit, solution.rating
    if rating is None:
        return True
    return (
        abs(rating.high_drop - circuit.high_side_drop) <= STILL * circuit.throttle_pressure
        and abs(rating.low_drop - circuit.low_side_drop) <= STILL * circuit.suction_pressure
    )
