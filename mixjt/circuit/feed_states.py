"""The feed on its own: whether it condenses at the cold end, and what its throttle makes of it."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from mixjt.circuit.liquefier_result import FeedPassage
from mixjt.circuit.machine import ThrottleCircuit
from mixjt.errors import InputError, UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.states import LIQUID, VAPOUR, State
from mixjt.parts import places
from mixjt.parts.recuperator.side import Ends, Stream

NITROGEN_FREEZES = 63.151  # K, triple point: Span et al., J. Phys. Chem. Ref. Data 29 (2000) 1361
CLOSE = 1e-3  # K, by which the feed must at least be below its bubble point


@dataclass(frozen=True, eq=False)
class Feed:
    """A feed on its own: its states by place, and per mole of feed what exchanges heat in the recuperator.

    down is the feed on its way to the cold end, back the flash vapour that returns, None where none does.
    """

    states: dict[str, State]
    down: Stream
    back: Stream | None

    @property
    def flash_fraction(self) -> float:
        """What flashes off at its throttle [mol/mol]."""
        return self.states[places.FEED_THROTTLE_OUTLET].vapour_fraction


def feed_of(gas: Fluid, passage: FeedPassage, circuit: ThrottleCircuit) -> Feed:
    """The feed's states, and its streams in the recuperator.

    Raises
    ------
    InputError
        For a feed that enters warmer than the blend's high side, or colder than it is to leave.
    UnreachableError
        Where the feed does not condense or would freeze at the cold end, or its throttle leaves no liquid.
    """
    end = circuit.cold_temperature + passage.approach
    _check_temperatures(gas, passage, circuit, end)
    cooled = gas.tp(end, passage.throttle_pressure)
    flashed = gas.hp(cooled.enthalpy, passage.product_pressure)
    if not flashed.liquids:
        raise UnreachableError(
            f"the feed leaves its throttle as gas at {flashed.temperature:.5g} K: nothing is liquefied; "
            "choose a colder cold end"
        )
    product, vapour = _parts(flashed)
    states = {
        places.FEED_SUPPLY: gas.tp(circuit.ambient_temperature, passage.supply_pressure),
        places.FEED_INLET: gas.tp(passage.temperature, passage.pressure),
        places.FEED_THROTTLE_INLET: cooled,
        places.FEED_THROTTLE_OUTLET: flashed,
        places.PRODUCT: product,
    }
    ends = Ends(end, passage.temperature, passage.throttle_pressure, passage.pressure)
    down = Stream(gas, ends=ends, origin=cooled)
    if vapour is None:
        return Feed(states, down, None)
    states[places.FLASH_VAPOUR] = vapour
    if not passage.recover_flash or vapour.temperature >= circuit.cold_temperature:
        return Feed(states, down, None)
    warming = Ends(vapour.temperature, math.inf, passage.product_pressure, passage.product_pressure)
    return Feed(states, down, Stream(gas.of(vapour.composition), flashed.vapour_fraction, warming, vapour))


def least_pressure(gas: Fluid, temperature: float) -> float:
    """Pressure [Pa] above which the feed is wholly liquid at a temperature [K]; its critical one if it is too warm."""
    bubble = float(gas.bubble_pressure(temperature))
    if math.isfinite(bubble):
        return bubble
    facts = gas.model.facts
    return facts.critical_pressure if facts is not None else math.nan


def _check_temperatures(gas: Fluid, passage: FeedPassage, circuit: ThrottleCircuit, end: float) -> None:
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
    bubble = float(gas.bubble_temperature(passage.throttle_pressure))
    if not end < bubble - CLOSE and math.isfinite(bubble):
        raise UnreachableError(_no_condensation(gas, passage, circuit, end, bubble))


def _no_condensation(
    gas: Fluid, passage: FeedPassage, circuit: ThrottleCircuit, end: float, bubble: float
) -> str:
    needed = least_pressure(gas, end)
    colder = f"lower the cold end below {bubble - passage.approach:.4g} K"
    pressure = f"raise the feed pressure above {(needed + passage.pressure_drop) / 1e5:.3g} bar, or "
    return (
        f"feed at {passage.throttle_pressure / 1e5:.3g} bar condenses completely only at {bubble:.4g} K, below the "
        f"{end:.4g} K that the cold end leaves it ({circuit.cold_temperature:.4g} K and an approach of "
        f"{passage.approach:.3g} K): {pressure if math.isfinite(needed) else ''}{colder}"
    )


def _parts(flashed: State) -> tuple[State, State | None]:
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
