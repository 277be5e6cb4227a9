"""Components of a vapour-compression stage for energy and exergy balances.

Heat of shell, desuperheater and a heat leak cross the boundary at ambient temperature, so what is lost on the
way to the air counts to the component.
"""

from __future__ import annotations

from mixjt.components import vapour_stage as place
from mixjt.components.component_balance import Balance, Component, balance
from mixjt.components.vapour_stage import StageResult


def inner_components(result: StageResult, ambient: float) -> tuple[Component, ...]:
    """All but evaporator and condenser, whose other side lies outside the stage.

    Parameters
    ----------
    result : StageResult
    ambient : float
        [K]
    """
    flow, at = result.molar_flow, result.points
    shell = ((-result.shell_heat, ambient),)
    air = ((-result.desuperheater_heat, ambient),)

    def line(start: str, end: str):
        return (flow, at[start], at[end])

    return (
        Component("suction line", (line(place.EXCHANGER_GAS_OUTLET, place.COMPRESSOR_INLET),)),
        Component("compressor", (line(place.COMPRESSOR_INLET, place.COMPRESSOR_OUTLET),), shell,
                  result.compressor_power),
        Component("discharge line", (line(place.COMPRESSOR_OUTLET, place.DESUPERHEATER_INLET),)),
        Component("desuperheater", (line(place.DESUPERHEATER_INLET, place.CONDENSER_INLET),), air),
        Component("suction-line exchanger", (line(place.CONDENSER_OUTLET, place.THROTTLE_INLET),
                                             line(place.EVAPORATOR_OUTLET, place.EXCHANGER_GAS_OUTLET))),
        Component("throttle", (line(place.THROTTLE_INLET, place.THROTTLE_OUTLET),)),
    )  # fmt: skip


def evaporator(result: StageResult, ambient: float, source: float) -> Component:
    """The evaporator with its load at a source temperature [K] and its heat leak at ambient [K]."""
    leak = result.evaporator_heat - result.load
    streams = ((result.molar_flow, result.points[place.THROTTLE_OUTLET], result.points[place.EVAPORATOR_OUTLET]),)
    return Component("evaporator", streams, ((result.load, source), (leak, ambient)))


def condenser(result: StageResult, ambient: float) -> Component:
    """The condenser, which rejects its heat to ambient air [K]."""
    streams = ((result.molar_flow, result.points[place.CONDENSER_INLET], result.points[place.CONDENSER_OUTLET]),)
    return Component("condenser", streams, ((-result.condenser_heat, ambient),))


def stage_balance(result: StageResult, ambient: float, source: float) -> Balance:
    """Energy and exergy of a stage that stands alone and rejects its heat to ambient air.

    Parameters
    ----------
    result : StageResult
    ambient, source : float
        Temperatures of the surroundings and of the load [K].
    """
    parts = (
        evaporator(result, ambient, source),
        *inner_components(result, ambient),
        condenser(result, ambient),
    )
    return balance(parts, result.compressor_power, result.load, source, ambient)
