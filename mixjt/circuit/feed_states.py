"""The feed on its own: whether it condenses at the cold end, and what its throttle makes of it."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from mixjt.circuit import liquefier_records as places
from mixjt.circuit.feed_passage import FeedStream, FlashStream
from mixjt.circuit.liquefier_records import FeedPassage
from mixjt.circuit.machine import ThrottleCircuit
from mixjt.errors import InputError, UnreachableError
from mixjt.fluid.feed import FeedGas
from mixjt.fluid.states import LIQUID, VAPOUR, State
from mixjt.parts.recuperator.side import Side

NITROGEN_FREEZES = 63.151  # K, triple point: Span et al., J. Phys. Chem. Ref. Data 29 (2000) 1361
CLOSE = 1e-3  # K, by which the feed must at least be below its bubble point


def feed_streams(
    gas: FeedGas, passage: FeedPassage, circuit: ThrottleCircuit
) -> tuple[FeedStream, FlashStream | None, dict[str, State]]:
    """The feed's stream, its flash vapour's where that is recovered, and the feed's states by place.

    Raises
    ------
    InputError
        For a feed that enters warmer than the blend's high side, or colder than it is to leave.
    UnreachableError
        Where the feed does not condense or would freeze at the cold end, or its throttle leaves no liquid.
    """
    end = circuit.cold_temperature + passage.approach
    _check_temperatures(gas, passage, circuit, end)
    model, z = gas.model, gas.z
    supply = model.state_tp(z, circuit.ambient_temperature, passage.supply_pressure)
    inlet = model.state_tp(z, passage.temperature, passage.pressure)
    cooled = model.state_tp(z, end, passage.throttle_pressure)
    flashed = model.state_hp(z, cooled.enthalpy, passage.product_pressure)
    if not flashed.liquids:
        raise UnreachableError(
            f"the feed leaves its throttle as gas at {flashed.temperature:.5g} K: nothing is liquefied; "
            "choose a colder cold end"
        )
    product, vapour = _parts(gas, flashed)
    states = {
        places.FEED_SUPPLY: supply,
        places.FEED_INLET: inlet,
        places.FEED_THROTTLE_INLET: cooled,
        places.FEED_THROTTLE_OUTLET: flashed,
        places.PRODUCT: product,
    }
    stream = FeedStream(
        gas, Side(end, passage.temperature, passage.throttle_pressure, passage.pressure), cooled.enthalpy
    )
    if vapour is None:
        return stream, None, states
    states[places.FLASH_VAPOUR] = vapour
    if not passage.recover_flash or vapour.temperature >= circuit.cold_temperature:
        return stream, None, states
    back = FlashStream(
        gas,
        flashed.vapour_fraction,
        vapour.composition,
        passage.product_pressure,
        vapour.enthalpy,
        vapour.temperature,
    )
    return stream, back, states


def least_pressure(gas: FeedGas, temperature: float) -> float:
    """Pressure [Pa] above which the feed is wholly liquid at a temperature [K]; its critical one if it is too warm."""
    bubble = float(gas.model.bubble_pressure(gas.z, temperature))
    if math.isfinite(bubble):
        return bubble
    facts = getattr(gas.model, "facts", None)
    return facts.critical_pressure if facts is not None else math.nan


def _check_temperatures(gas: FeedGas, passage: FeedPassage, circuit: ThrottleCircuit, end: float) -> None:
    if passage.temperature > circuit.warm_temperature:
        raise InputError(
            f"the feed enters at {passage.temperature:.5g} K, warmer than the blend behind its aftercooler "
            f"({circuit.warm_temperature:.5g} K): cool it in air first"
        )
    if not end < passage.temperature:
        raise InputError(
            f"the feed enters at {passage.temperature:.5g} K, colder than it is to leave ({end:.5g} K)"
        )
    if end < NITROGEN_FREEZES:
        raise UnreachableError(
            f"nitrogen freezes at {NITROGEN_FREEZES:.5g} K: a cold end that cools it to {end:.5g} K blocks; choose a "
            "warmer one"
        )
    bubble = float(gas.model.bubble_temperature(gas.z, passage.throttle_pressure))
    if not end < bubble - CLOSE and math.isfinite(bubble):
        raise UnreachableError(_no_condensation(gas, passage, circuit, end, bubble))


def _no_condensation(
    gas: FeedGas, passage: FeedPassage, circuit: ThrottleCircuit, end: float, bubble: float
) -> str:
    needed = least_pressure(gas, end)
    colder = f"lower the cold end below {bubble - passage.approach:.4g} K"
    pressure = f"raise the feed pressure above {(needed + passage.pressure_drop) / 1e5:.3g} bar, or "
    return (
        f"feed at {passage.throttle_pressure / 1e5:.3g} bar condenses completely only at {bubble:.4g} K, below the "
        f"{end:.4g} K that the cold end leaves it ({circuit.cold_temperature:.4g} K and an approach of "
        f"{passage.approach:.3g} K): {pressure if math.isfinite(needed) else ''}{colder}"
    )


def _parts(gas: FeedGas, flashed: State) -> tuple[State, State | None]:
    """Liquid and vapour of a flashed state as states of their own; no vapour where it is all liquid."""
    parts = {phase.kind: _alone(flashed, phase) for phase in flashed.phases}
    return parts[LIQUID], parts.get(VAPOUR)


def _alone(state: State, phase) -> State:
    return State(
        state.temperature,
        state.pressure,
        np.asarray(phase.composition),
        phase.enthalpy,
        phase.entropy,
        phase.molar_volume,
        (replace(phase, fraction=1.0),),
    )
