"""From a solved liquefier to its result, warnings included."""

from __future__ import annotations

import math
from dataclasses import replace

from mixjt.circuit import liquefier_records as feed_places
from mixjt.circuit import result as records
from mixjt.circuit.curves import difference_curve
from mixjt.circuit.feed_states import NITROGEN_FREEZES
from mixjt.circuit.freezing import circuit_freezing
from mixjt.circuit.liquefier_balance import FeedAccount, liquefier_balance
from mixjt.circuit.liquefier_records import FeedPassage, LiquefierResult
from mixjt.circuit.machine import ThrottleCircuit
from mixjt.circuit.outcome import circuit_outcome
from mixjt.circuit.result import PinchCurve
from mixjt.fluid.feed import FeedGas
from mixjt.fluid.states import State

# More than 23.5 % by volume is an oxygen-enriched atmosphere: 29 CFR 1910.146(b) (from memory).
ENRICHED = 0.235
TRACES = (
    "water and carbon dioxide must be removed from the feed (to about 1 ppm each; common practice, no source): "
    "they freeze in its passage. Nitrogen, oxygen and argon themselves do not freeze at these temperatures"
)

REMAINDER = (
    "hydrocarbons and oil mist, from the feed or through a leak, collect in the oxygen-rich remainder of the liquid, "
    "which can explode: feed compressor without oil, leak test between the passages, analyse the liquid, never boil "
    "it to dryness (common practice, no source)"
)


def liquefier_outcome(
    model,
    z,
    circuit: ThrottleCircuit,
    gas: FeedGas,
    passage: FeedPassage,
    load: float,
    solution,
    curve: PinchCurve,
    feed_points: dict[str, State],
    points: int,
) -> LiquefierResult:
    """The result of a solved liquefier; solution is that of `mixjt.circuit.liquefier.find_greatest`."""
    ambient, cold = circuit.ambient_temperature, circuit.cold_temperature
    compression, ratio = solution.compression, solution.ratio
    places = _with_discharge(solution.places, compression.discharge)
    feed_points = _all_feed_points(solution, passage, gas, feed_points, places)
    balance = liquefier_balance(
        gas, passage, places, feed_points, compression, ratio, solution.load, ambient, cold
    )
    cooling = places[records.COMPRESSOR_INLET].enthalpy - places[records.AFTERCOOLER_OUTLET].enthalpy
    flash = feed_points[feed_places.FEED_THROTTLE_OUTLET].vapour_fraction
    duty = places[records.EVAPORATOR_OUTLET].enthalpy - places[records.THROTTLE_OUTLET].enthalpy
    bubble, dew = _boundary(gas, passage.throttle_pressure)
    product_bubble, product_dew = _boundary(gas, passage.product_pressure)
    result = circuit_outcome(
        model,
        z,
        circuit,
        cooling,
        compression,
        places,
        curve,
        difference_curve(
            model,
            z,
            circuit.suction_pressure,
            circuit.discharge_pressure,
            (cold, circuit.warm_temperature),
            points,
        ),
        balance.account,
        circuit_freezing(model, z, places),
        kind=LiquefierResult,
        feed_gas=gas,
        passage=passage,
        feed_points=feed_points,
        feed_ratio=ratio,
        load=load,
        evaporator_duty=duty * compression.molar_flow,
        product_fraction=1.0 - flash,
        flash_fraction=flash,
        feed_work=balance.feed_work,
        product_least_work=balance.product_least_work,
        loss_duty=balance.vented * flash * ratio * compression.molar_flow,
        feed_bubble_point=bubble,
        feed_dew_point=dew,
        product_bubble_point=product_bubble,
        product_dew_point=product_dew,
    )
    result = replace(result, carnot_fraction=_carnot_fraction(balance, result))
    return replace(result, warnings=(*result.warnings, *_warnings(result)))


def _with_discharge(places: dict[str, State], discharge: State) -> dict[str, State]:
    """The state points in flow order, the compressor's outlet second."""
    inlet = records.COMPRESSOR_INLET
    return {inlet: places[inlet], records.COMPRESSOR_OUTLET: discharge} | places


def _all_feed_points(solution, passage: FeedPassage, gas: FeedGas, known, places) -> dict[str, State]:
    """The feed's states in flow order."""
    order = [feed_places.FEED_SUPPLY, feed_places.FEED_INLET]
    found = {place: known[place] for place in order}
    found[feed_places.FEED_RECUPERATOR_OUTLET] = solution.feed_recuperator_outlet
    found |= {place: state for place, state in known.items() if place not in order}
    if solution.cold.flash is None:
        return found
    z = known[feed_places.FLASH_VAPOUR].composition
    for place, end in (
        (feed_places.FLASH_VAPOUR_COLD_END, records.EVAPORATOR_OUTLET),
        (feed_places.FLASH_VAPOUR_OUTLET, records.COMPRESSOR_INLET),
    ):
        found[place] = gas.model.state_tp(z, places[end].temperature, passage.product_pressure)
    return found


def _boundary(gas: FeedGas, pressure: float) -> tuple[float | None, float | None]:
    """Bubble and dew temperature [K]; None above the critical pressure."""
    found = (gas.model.bubble_temperature(gas.z, pressure), gas.model.dew_temperature(gas.z, pressure))
    return tuple(float(value) if math.isfinite(value) else None for value in found)


def _carnot_fraction(balance: FeedAccount, result: LiquefierResult) -> float:
    useful = {item.component: item.exergy for item in balance.account.exergy}
    exergy = useful["load"] + useful["product"]
    return exergy * result.molar_flow / result.total_power


def _warnings(result: LiquefierResult) -> list[str]:
    found = []
    coldest = min(state.temperature for state in result.points.values())
    if coldest < NITROGEN_FREEZES:
        found.append(
            f"the coldest point of the evaporator, {coldest:.1f} K, is below the {NITROGEN_FREEZES:.1f} K where nitrogen "
            "freezes: the feed may block its passage"
        )
    found += _oxygen_warnings(result)
    if result.feed_ratio > 0.0 and result.pinch.conductance == float("inf"):
        found.append("the recuperator touches: at zero approach it would have to be infinitely large")
    found.append(TRACES)
    return found


def _oxygen_warnings(result: LiquefierResult) -> list[str]:
    liquid = result.oxygen(feed_places.PRODUCT)
    feed = result.oxygen(feed_places.FEED_SUPPLY)
    if not feed:
        return []
    text = (
        f"the liquid holds {100 * liquid:.3g} mol% oxygen, more than the feed's {100 * feed:.3g} mol%, and what is "
        "left after boil-off holds ever more"
    )
    if liquid > ENRICHED:
        text += f": beyond {100 * ENRICHED:.3g} % it is oxygen-enriched, and makes oil, cloth and insulation burn fiercely"
    return [REMAINDER, text]
