"""The result of a circuit with a phase separator: balances, freezing, and what is special about it."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from mixjt.circuit import result as records
from mixjt.circuit.accounting import Account, Component, account, passing
from mixjt.circuit.balance import cold_parts, compressor_parts, delivered
from mixjt.circuit.curves import difference_curve
from mixjt.circuit.freezing import FreezingReport, path_freezing
from mixjt.circuit.machine import ThrottleCircuit
from mixjt.circuit.outcome import circuit_outcome
from mixjt.circuit.result import CircuitResult, DifferenceCurve, PinchCurve
from mixjt.circuit.sections import joined
from mixjt.fluid.states import PropertyModel, State
from mixjt.parts.compressor.compression import CompressionResult


@dataclass(frozen=True)
class Split:
    """What a separator makes of a blend: state as it enters, moles and mole fractions of vapour and liquid.

    Flows are per mole of blend; x is None where there is no liquid.
    """

    state: State
    vapour_flow: float
    y: np.ndarray
    liquid_flow: float
    x: np.ndarray | None


@dataclass(frozen=True)
class SeparatorResult(CircuitResult):
    """A circuit with a phase separator solved for its greatest cooling.

    All molar quantities are per mole of blend that the compressor moves. vapour_fraction is what leaves the
    separator as vapour, of vapour_composition (c,), and reaches the cold end; the rest, of liquid_composition,
    joins the return at intermediate_temperature [K] of the high side. pinch holds both sections one after
    the other; sections holds the cold one and the warm one. difference is that of the vapour, per mole of
    blend, from the cold end to the intermediate temperature. Dew and bubble points are the blend's.
    """

    intermediate_temperature: float = math.nan
    vapour_fraction: float = 1.0
    vapour_composition: np.ndarray | None = None
    liquid_composition: np.ndarray | None = None
    sections: tuple[PinchCurve, ...] = ()


def separator_outcome(
    model: PropertyModel,
    z,
    circuit: ThrottleCircuit,
    cooling: float,
    between: float,
    compression: CompressionResult,
    places: dict[str, State],
    split: Split,
    sections: tuple[PinchCurve, ...],
    points: int,
) -> SeparatorResult:
    """The result of a solved separator circuit; see `mixjt.circuit.separator`."""
    notes = ()
    if split.x is None:
        notes = ("nothing condenses before the separator: the circuit is a plain one",)
    return circuit_outcome(
        model,
        z,
        circuit,
        cooling,
        compression,
        places,
        joined(sections),
        _difference(model, circuit, split, between, points),
        _balance(circuit, cooling, compression, places, split),
        separator_freezing(model, z, places, split),
        kind=SeparatorResult,
        notes=notes,
        intermediate_temperature=between,
        vapour_fraction=split.vapour_flow,
        vapour_composition=split.y,
        liquid_composition=split.x,
        sections=sections,
    )


def separator_freezing(model: PropertyModel, z, places: dict[str, State], split: Split) -> FreezingReport:
    """Freezing along the paths of vapour, liquid and return, each with its own composition."""
    legs = [
        ("vapour", split.y, places, records.THROTTLE_INLET, records.SEPARATED_VAPOUR),
        ("evaporator", split.y, places, records.THROTTLE_OUTLET, records.EVAPORATOR_OUTLET),
        ("cold section's low side", split.y, places, records.EVAPORATOR_OUTLET, records.JUNCTION_INLET),
        ("warm section's low side", z, places, records.JUNCTION_OUTLET, records.COMPRESSOR_INLET),
    ]
    if split.x is not None:
        liquid, throttled = records.LIQUID_THROTTLE_INLET, records.LIQUID_THROTTLE_OUTLET
        legs.append(("liquid", split.x, places, liquid, records.SEPARATED_LIQUID))
        legs.append(("liquid throttle outlet", split.x, places, throttled, throttled))
    return path_freezing(model, legs)


def _difference(model, circuit: ThrottleCircuit, split: Split, between: float, points: int) -> DifferenceCurve:
    low, high = circuit.suction_pressure, circuit.discharge_pressure
    curve = difference_curve(model, split.y, low, high, (circuit.cold_temperature, between), points)
    flow = split.vapour_flow
    return DifferenceCurve(
        curve.temperatures, flow * curve.difference, flow * curve.minimum, curve.minimum_temperature
    )


def _balance(circuit: ThrottleCircuit, cooling, compression, places: dict[str, State], split: Split) -> Account:
    vapour, liquid = split.vapour_flow, split.liquid_flow
    ambient, cold = circuit.ambient_temperature, circuit.cold_temperature
    drawn = _streams(places, split, records.SEPARATED_VAPOUR, records.SEPARATED_LIQUID)
    between = _streams(places, split, records.VAPOUR_BETWEEN, records.LIQUID_THROTTLE_INLET)
    joining = _streams(places, split, records.JUNCTION_INLET, records.LIQUID_THROTTLE_OUTLET)
    mixed, suction = (1.0, places[records.JUNCTION_OUTLET]), (1.0, places[records.COMPRESSOR_INLET])
    cold_high = (places[records.VAPOUR_BETWEEN], places[records.THROTTLE_INLET])
    cold_low = (places[records.EVAPORATOR_OUTLET], places[records.JUNCTION_INLET])
    parts = [
        *compressor_parts(places, compression, ambient),
        Component("separator", ((1.0, places[records.AFTERCOOLER_OUTLET]),), drawn),
        Component("warm recuperator", (*drawn, mixed), (*between, suction)),
        passing("cold recuperator", cold_high, cold_low, flow=vapour),
        *cold_parts(places, cooling, cold, flow=vapour),
        Component("junction", joining, (mixed,)),
    ]
    if liquid > 0.0:
        before, after = places[records.LIQUID_THROTTLE_INLET], places[records.LIQUID_THROTTLE_OUTLET]
        parts.insert(-1, passing("liquid throttle", (before, after), flow=liquid))
    return account(parts, ambient, delivered(cooling, ambient, cold), compression.work)


def _streams(places, split: Split, vapour: str, liquid: str) -> tuple[tuple[float, State], ...]:
    """The vapour stream and, where there is one, the liquid stream at their places."""
    found = ((split.vapour_flow, places[vapour]),)
    return found if split.x is None else (*found, (split.liquid_flow, places[liquid]))
