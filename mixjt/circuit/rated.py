"""A recuperator of real tube in its circuit: what its tubes do at the circuit's own flow and inlet states.

With tubes, the conductance UA and the pressure drops of the recuperator follow from their rating
(`mixjt.parts.recuperator.tube_rating`) and not from the case; where no length is stated, the length follows from the UA
that the circuit has. All are repeated along with the circuit's own rounds until they fit each other. The duty and the
cooling are those of the circuit: its rating, which cuts the same UA into cells and knows the pressure all along, gives
them to a fraction of a percent of the duty.

Where the recuperator has two sections both are cut from the same tube. Each is rated with its own streams as they enter
it. A stated length is that of both, and is cut so that each has the same part of the UA asked of it: all of it, once the
circuit has the approach that both sections share. Energy and momentum balances of each section, and their sums.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from mixjt.circuit.machine import ThrottleCircuit
from mixjt.errors import ConvergenceError, UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.states import State
from mixjt.parts.recuperator.tube_rating import (
    EXPECTED_DROP,
    CutRating,
    Rating,
    StreamPair,
    all_sections,
    design_recuperator,
    rate_recuperator,
    stream_pair,
)
from mixjt.parts.recuperator.tubes import Coil, ExchangerTubes

MOST_WIDENED = 0.6  # of a pressure, between its two isobars
SAME_CUT = 1e-7  # between the parts of the UA asked that sections have,
ROUGH = 0.01  # or of what these parts miss, as long as the circuit has not come to its approach
CUTS = 40
UNEVEN = 9.0  # logarithm of two lengths, beyond which a section is hardly there
NEARLY = 1e-6  # of that logarithm: a cut at which a section can just not be rated
FLATTEST, STEEPEST = 0.3, 3.0  # of the logarithm of a section's UA with that of its length


@dataclass(frozen=True)
class Asked:
    """What a section of the recuperator asks of its tubes: a conductance [W/K] with its streams as they enter."""

    pair: StreamPair
    conductance: float


class CoilStreams:
    """The streams of a blend in the coil of a circuit; their property tables are kept over its rounds.

    Tables are placed by the two pressures that do not move, those of the aftercooler and the suction, so that what is
    read in them does not depend on the way there.
    """

    def __init__(self, fluid: Fluid):
        self.fluid = fluid
        self._pair: StreamPair | None = None
        self._shares = (EXPECTED_DROP, EXPECTED_DROP)
        self._cut: float | None = None  # logarithm of the cold section's length over the warm one's, in the last round

    def entering(self, circuit: ThrottleCircuit, cooled: State, evaporated: State, molar_flow: float) -> StreamPair:
        """Both streams as they enter, from the aftercooler and the evaporator, at a flow [mol/s]."""
        lost = (
            circuit.high_side_drop / circuit.aftercooler_pressure, circuit.low_side_drop / circuit.evaporator_pressure
        )  # fmt: skip
        shares = tuple(_wider(share, drop) for share, drop in zip(self._shares, lost, strict=True))
        known = self._pair is not None and cooled.temperature <= self._pair.high.isobars.temperatures.max()
        if not known or shares != self._shares:
            self._shares = shares
            self._pair = self._tables(circuit, cooled, evaporated, molar_flow)
        leaking = circuit.insulation
        return replace(
            self._pair, molar_flow=molar_flow, **_inlets(cooled, evaporated),
            leak_conductance=0.0 if leaking is None else leaking.along, ambient=circuit.ambient_temperature,
        )  # fmt: skip

    def rating(self, coil: Coil, asked: Sequence[Asked]) -> Rating | CutRating:
        """As `coil_rating`, begun at the cut of the round before."""
        found = coil_rating(coil, asked, self._cut)
        if len(asked) > 1:
            self._cut = math.log(found.sections[0].length / found.sections[1].length)
        return found

    def _tables(self, circuit, cooled: State, evaporated: State, molar_flow: float) -> StreamPair:
        high, low = self._shares
        inlet = self.fluid.tp(evaporated.temperature, circuit.suction_pressure / (1.0 - low))
        return stream_pair(self.fluid, molar_flow, cooled, inlet, high * cooled.pressure, low * inlet.pressure)


def asked_of_sections(
    whole: StreamPair, inlets: Sequence[tuple[State, State]], conductances: Sequence[float]
) -> tuple[Asked, ...]:
    """What sections, the coldest first, ask of the tubes between the streams of the whole.

    Parameters
    ----------
    whole : StreamPair
        With the leak along all of it, of which a section takes up its part of the conductance, as in the circuit.
    inlets : sequence of (State, State)
        Of high and low side.
    conductances : sequence of float
        [W/K]
    """
    total, even = sum(conductances), 1.0 / len(conductances)
    parts = [even if math.isinf(total) else one / total for one in conductances]
    return tuple(
        Asked(replace(whole, leak_conductance=part * whole.leak_conductance, **_inlets(*states)), one)
        for states, one, part in zip(inlets, conductances, parts, strict=True)
    )


def _inlets(high: State, low: State) -> dict[str, float]:
    return {
        "high_enthalpy": high.enthalpy, "high_pressure": high.pressure,
        "low_enthalpy": low.enthalpy, "low_pressure": low.pressure,
    }  # fmt: skip


def _wider(share: float, needed: float) -> float:
    while share < min(needed, MOST_WIDENED):
        share = min(2.0 * share, MOST_WIDENED)
    return share


def coil_rating(coil: Coil, asked: Sequence[Asked], guess: float | None = None) -> Rating | CutRating:
    """What a coil does for the sections of its circuit, the coldest first.

    Where its length is not stated, at the length that each section needs; else with that length cut between two. guess is
    the logarithm of the cold section's length over the warm one's, to start from.

    Raises
    ------
    UnreachableError, ConvergenceError
        From the ratings, and where no cut suits both sections.
    """
    if coil.length is None:
        return designed(asked, coil.tubes, coil.cells, coil.film_factor)
    if len(asked) == 1:
        return rate_recuperator(asked[0].pair, coil.tubes, coil.length, coil.cells, coil.film_factor)
    return all_sections(_cut(coil, asked, guess))


def designed(
    asked: Sequence[Asked], tubes: ExchangerTubes, cells: int, film_factor: float = 1.0
) -> Rating | CutRating:
    """Tubes just long enough for what the sections ask; errors as `coil_rating`."""
    how = {"cells": cells, "film_factor": film_factor}
    return all_sections([design_recuperator(one.pair, tubes, one.conductance, **how) for one in asked])


def _cut(coil: Coil, asked: Sequence[Asked], guess: float | None) -> tuple[Rating, Rating]:
    """Secant steps in the logarithm of cold length over warm one; a section that cannot be rated at all is too long."""
    (cold, warm), touching = asked, any(math.isinf(one.conductance) for one in asked)
    at = guess if guess is not None else 0.0 if touching else math.log(cold.conductance / warm.conductance)
    low, high, slope, last, lost = -math.inf, math.inf, 1.0, None, None
    for _ in range(CUTS):
        at = min(max(at, -UNEVEN), UNEVEN)
        share = 1.0 / (1.0 + math.exp(-at))
        found = [_rated(coil, one, part * coil.length) for one, part in ((cold, share), (warm, 1.0 - share))]
        failed = [one for one in found if isinstance(one, Exception)]
        if len(failed) == 2:
            raise failed[0]
        if failed:
            excess, last, lost = (1.0 if failed[0] is found[0] else -1.0), None, failed[0]
        elif touching:  # the streams of a round's circuit, before its grid is fine enough: any cut will do
            return tuple(found)
        else:
            parts = [rating.conductance / one.conductance for rating, one in zip(found, asked, strict=True)]
            excess = math.log(parts[0] / parts[1])
            if abs(excess) <= max(SAME_CUT, ROUGH * abs(math.log(parts[0]))):
                return tuple(found)
            if last is not None:
                slope = min(max((excess - last[1]) / (at - last[0]), FLATTEST), STEEPEST)
            last = at, excess
        low, high = (at, high) if excess < 0.0 else (low, at)
        at -= excess / slope
        if not low < at < high:
            at = 0.5 * (low + high)
    if high - low < NEARLY and lost is not None and abs(at) < UNEVEN:
        raise lost
    raise ConvergenceError(
        "the cut of the tubes between the two sections", "try a slightly different length", length=coil.length
    )


def _rated(coil: Coil, asked: Asked, length: float) -> Rating | UnreachableError | ConvergenceError:
    """A section of a length [m], or why there is none."""
    try:
        return rate_recuperator(asked.pair, coil.tubes, length, coil.cells, coil.film_factor)
    except (UnreachableError, ConvergenceError) as error:
        return error
