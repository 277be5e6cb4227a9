"""Liquefier: a throttle circuit whose recuperator has a third passage, for the gas to be liquefied.

The feed runs beside the blend's high side down the recuperator, is condensed and subcooled in the evaporator
to the cold end's temperature plus its own approach, and let down to the product's pressure. There part of it
flashes off; the liquid is drawn off, the vapour vented cold or, on request, led back through the recuperator
beside the low side (warmed to the cold end's temperature in the evaporator first). See
`mixjt.circuit.feed_passage` for the balance that fixes the greatest feed.

Assumptions besides those of `mixjt.circuit.throttle`: hot streams have one temperature in every section, and so
have cold ones; the feed's pressure drop is linear in its temperature; its throttle is isenthalpic; heat leaks
are part of the load.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from types import SimpleNamespace

import numpy as np

from mixjt.circuit import result as records
from mixjt.circuit.curves import pinch_curve
from mixjt.circuit.feed_passage import (
    ColdStreams,
    FeedStream,
    FlashStream,
    GreatestFeed,
    HotStreams,
    greatest_feed,
)
from mixjt.circuit.feed_states import feed_streams
from mixjt.circuit.liquefier_records import FeedPassage, LiquefierResult
from mixjt.circuit.liquefier_result import liquefier_outcome
from mixjt.circuit.machine import ThrottleCircuit
from mixjt.circuit.outcome import checked_blend
from mixjt.circuit.pinch import least_difference
from mixjt.circuit.result import PinchCurve
from mixjt.circuit.sections import solved_sections
from mixjt.errors import ConvergenceError, InputError
from mixjt.fluid.feed import FeedGas
from mixjt.fluid.states import PropertyModel, State
from mixjt.parts.compressor.compression import CompressionResult, compress
from mixjt.parts.recuperator.side import Side, temperature_from_enthalpy

ROUNDS = 40
SAME = 1e-10  # of load and ratio, between two rounds
JUMP = 1.0  # J/mol, more than the feed's enthalpy changes over the step below without boiling
STEP = 1e-9  # of the temperature
NEAR_LIMIT = 0.02  # by which a load may pass the first estimate of the circuit's cooling


@dataclass(frozen=True)
class Solution:
    """A liquefier at its greatest feed: streams, end states, and the compression that goes with them."""

    hot: HotStreams
    cold: ColdStreams
    greatest: GreatestFeed
    load: float  # J/mol of blend
    places: dict[str, State]
    feed_recuperator_outlet: State
    compression: CompressionResult

    @property
    def ratio(self) -> float:
        """Moles of feed per mole of blend."""
        return self.greatest.ratio

    @property
    def feed_flow(self) -> float:
        """[mol/s]"""
        return self.ratio * self.compression.molar_flow


def solve_liquefier(
    model: PropertyModel,
    z,
    circuit: ThrottleCircuit,
    gas: FeedGas,
    passage: FeedPassage,
    load: float = 0.0,
    points: int = 64,
) -> LiquefierResult:
    """Solve a liquefier for the greatest feed at the stated approaches.

    Parameters
    ----------
    model : PropertyModel
        Of the blend.
    z : array (c,)
        Mole fractions of the blend in circulation.
    circuit : ThrottleCircuit
    gas : FeedGas
        What is liquefied.
    passage : FeedPassage
    load : float
        Other heat that the evaporator takes up [W].
    points : int
        Temperatures in the first sweep of each side and in the curves; at least 8.

    Raises
    ------
    InputError
        For mole fractions that are not a blend, or a feed warmer than the aftercooler's outlet.
    UnreachableError
        Where the feed does not condense at the cold end, the blend does not cool, or the load takes it all.
    ConvergenceError
        Where a state cannot be found, or the finished recuperator undercuts its approach.
    """
    z = checked_blend(model, z)
    if points < 8:
        raise InputError(f"a liquefier needs at least 8 grid points, got {points}")
    stream, flash, feed_points = feed_streams(gas, passage, circuit)

    def solve(grid: int) -> tuple[Solution, tuple[PinchCurve]]:
        solution = find_greatest(model, z, circuit, stream, flash, load, grid)
        return solution, (_curve(model, z, solution, grid),)

    solution, (curve,) = solved_sections(solve, circuit.recuperator_approach, points)
    return liquefier_outcome(model, z, circuit, gas, passage, load, solution, curve, feed_points, points)


def find_greatest(
    model: PropertyModel,
    z: np.ndarray,
    circuit: ThrottleCircuit,
    stream: FeedStream,
    flash: FlashStream | None,
    load: float,
    points: int = 64,
    near: Solution | None = None,
    tolerance: float = SAME,
) -> Solution:
    """The greatest feed and the states around it; repeated until load and pressure profile fit the flow.

    Parameters
    ----------
    stream, flash
        From `mixjt.circuit.feed_states.feed_streams`.
    load : float
        [W]
    near : Solution, optional
        Of a similar machine, to start from.
    tolerance : float
        Relative change of load and feed at which the rounds end.
    """
    cooled = model.state_tp(z, circuit.warm_temperature, circuit.aftercooler_pressure)
    evaporated = model.state_tp(z, circuit.cold_temperature, circuit.evaporator_pressure)
    (high, low), share, before, start = circuit.sides(), 0.0, math.nan, None
    if near is None and load > 0.0:
        share = _plain_load(model, z, circuit, cooled, load, points)
    elif near is not None:
        high, low = circuit.sides(*_inner_ends(near.places))
        share, start = load / near.compression.molar_flow, near.ratio
    for _ in range(ROUNDS):
        greatest = greatest_feed(
            model, z, high, low, stream, flash, circuit.recuperator_approach, share, points, start
        )
        start = greatest.ratio
        hot, cold = HotStreams(high, stream, greatest.ratio), ColdStreams(low, flash, greatest.ratio)
        places, feed_outlet = _ends(model, z, circuit, hot, cold, cooled, evaporated, share, points)
        compression = compress(
            model, z, places[records.COMPRESSOR_INLET], circuit.discharge_pressure, circuit.compressor
        )
        solution = Solution(hot, cold, greatest, share, places, feed_outlet, compression)
        if _settled(solution, load, before, tolerance):
            return solution
        before, share = greatest.ratio, load / compression.molar_flow
        high, low = circuit.sides(*_inner_ends(places))
    raise ConvergenceError(
        "the liquefier's load and pressure profile", "try a slightly different load, pressure or pressure drop"
    )


def _plain_load(model, z, circuit: ThrottleCircuit, cooled: State, load: float, points: int) -> float:
    """The load per mole [J/mol] at the flow without feed, at most what the circuit then cools.

    A start from no load would take a flow so small that a bearable load looks too great.
    """
    high, low = circuit.sides()
    plain = least_difference(model, z, high, low, circuit.recuperator_approach, circuit.span, points).minimum
    if not plain > 0.0:
        return load
    suction = model.state_hp(z, cooled.enthalpy + plain, circuit.suction_pressure)
    flow = compress(model, z, suction, circuit.discharge_pressure, circuit.compressor).molar_flow
    share = load / flow
    return min(share, plain) if share <= (1.0 + NEAR_LIMIT) * plain else share


def _inner_ends(places: dict[str, State]) -> tuple[float, float]:
    """Temperatures [K] of throttle and compressor inlet, which the pressure profile depends on."""
    return places[records.THROTTLE_INLET].temperature, places[records.COMPRESSOR_INLET].temperature


def _settled(solution: Solution, load: float, before: float, tolerance: float) -> bool:
    """Whether the load per mole fits the flow, and the pressure profile, if any, no longer changes the feed."""
    flow = solution.compression.molar_flow
    fits = abs(load - solution.load * flow) <= tolerance * load
    high, low = solution.hot.side, solution.cold.side
    plain = high.cold_pressure == high.warm_pressure and low.cold_pressure == low.warm_pressure
    still = abs(solution.ratio - before) <= tolerance * max(solution.ratio, 1e-6)
    return fits and (plain or still)


def _ends(model, z, circuit: ThrottleCircuit, hot, cold, cooled, evaporated, load, points):
    """The blend's state points but those after compressor and throttle, and the feed's at the recuperator's outlet."""
    ratio = hot.ratio
    warm_low = circuit.warm_temperature - circuit.recuperator_approach
    low_table = np.linspace(circuit.cold_temperature, warm_low, points)
    high_table = np.linspace(*circuit.span, points)
    after = _heat(cold.flash, ratio, circuit.cold_temperature)
    target = evaporated.enthalpy + after - load
    before, feed_outlet = _cold_end(model, z, circuit, hot, target, high_table)
    warm_total = (
        cooled.enthalpy + ratio * float(hot.feed.heat(np.array([circuit.warm_temperature]))[0]) + load
    )
    if cold.flash is None or ratio == 0.0:
        suction = model.state_hp(z, warm_total, circuit.suction_pressure)
    else:
        known = cold.enthalpy(model, z, low_table)
        (reached,) = temperature_from_enthalpy(
            model, z, cold, [float(np.clip(warm_total, known[0], known[-1]))], low_table, known
        )
        suction = model.state_hp(z, warm_total - _heat(cold.flash, ratio, reached), circuit.suction_pressure)
    places = {
        records.COMPRESSOR_INLET: suction,
        records.AFTERCOOLER_OUTLET: cooled,
        records.THROTTLE_INLET: before,
        records.THROTTLE_OUTLET: model.state_hp(z, before.enthalpy, circuit.evaporator_pressure),
        records.EVAPORATOR_OUTLET: evaporated,
    }
    return places, feed_outlet


def _cold_end(
    model, z, circuit: ThrottleCircuit, hot: HotStreams, target: float, table
) -> tuple[State, State]:
    """States of blend and feed where the hot streams together have an enthalpy [J/mol of blend].

    Where the feed boils at that temperature the energy balance tells how much of it has condensed.
    """
    gas, side, pressure = hot.feed.gas, hot.feed.side, circuit.throttle_pressure
    if hot.ratio == 0.0:
        before = model.state_hp(z, target, pressure)
        return before, _feed_at(gas, side, before.temperature)
    known = hot.enthalpy(model, z, table)
    clipped = float(np.clip(target, known[0], known[-1]))
    (temperature,) = temperature_from_enthalpy(model, z, hot, [clipped], table, known)
    around = hot.feed.heat(temperature * np.array([1.0 - STEP, 1.0 + STEP]))
    if around[1] - around[0] < JUMP:
        heat = float(hot.feed.heat(np.array([temperature]))[0])
        return model.state_hp(z, target - hot.ratio * heat, pressure), _feed_at(gas, side, temperature)
    before = model.state_tp(z, temperature, pressure)
    enthalpy = (target - before.enthalpy) / hot.ratio + hot.feed.outlet_enthalpy
    return before, gas.model.state_hp(gas.z, enthalpy, float(side.pressure(temperature)))


def _feed_at(gas: FeedGas, side: Side, temperature: float) -> State:
    within = min(max(temperature, side.cold_temperature), side.warm_temperature)
    return gas.model.state_tp(gas.z, within, float(side.pressure(within)))


def _heat(flash: FlashStream | None, ratio: float, temperature: float) -> float:
    """Heat that the flash vapour has taken up at a temperature [J/mol of blend]."""
    return 0.0 if flash is None or ratio == 0.0 else ratio * float(flash.heat(np.array([temperature]))[0])


def _curve(model, z, solution: Solution, points: int) -> PinchCurve:
    """All hot against all cold streams; heat per mole of blend."""
    hot, cold = solution.hot, solution.cold
    ends = {}
    for place in (records.THROTTLE_INLET, records.AFTERCOOLER_OUTLET):
        ends[place] = solution.places[place]
    feed_out = solution.feed_recuperator_outlet.enthalpy - hot.feed.outlet_enthalpy
    feed_in = float(hot.feed.heat(np.array([hot.side.warm_temperature]))[0])
    high_ends = tuple(
        SimpleNamespace(
            temperature=ends[place].temperature, enthalpy=ends[place].enthalpy + solution.ratio * heat
        )
        for place, heat in ((records.THROTTLE_INLET, feed_out), (records.AFTERCOOLER_OUTLET, feed_in))
    )
    low_ends = tuple(
        SimpleNamespace(
            temperature=state.temperature,
            enthalpy=state.enthalpy + _heat(cold.flash, solution.ratio, state.temperature),
        )
        for state in (solution.places[records.EVAPORATOR_OUTLET], solution.places[records.COMPRESSOR_INLET])
    )
    return pinch_curve(model, z, hot, cold, high_ends, low_ends, solution.greatest.least.temperature, points)
