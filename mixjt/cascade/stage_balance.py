"""Components of a vapour-compression stage for `mixjt.circuit.accounting`, in watts: flows in mol/s.

Heat of shell, suction line, desuperheater, air-cooled condenser and heat leaks crosses the boundary at ambient temperature,
so what is lost on the way to the air counts to the component.
"""

from __future__ import annotations

from mixjt.circuit.accounting import Component, passing
from mixjt.parts import places as place
from mixjt.parts.vapour_stage import StageResult


def inner_components(result: StageResult, ambient: float) -> tuple[Component, ...]:
    """All but evaporator and condenser, whose other side lies outside the stage.

    Parameters
    ----------
    result : StageResult
    ambient : float
        [K]
    """

    def part(name: str, *ends: tuple[str, str], heat: float = 0.0, work: float = 0.0) -> Component:
        streams = [(result.points[start], result.points[end]) for start, end in ends]
        return passing(name, *streams, flow=result.molar_flow, heats=((-heat, ambient),), work=work)

    return (
        part("suction line", (place.HOT_GAS_EXCHANGER_OUTLET, place.COMPRESSOR_INLET), heat=-result.suction_heat),
        part("compressor", (place.COMPRESSOR_INLET, place.COMPRESSOR_OUTLET),
             heat=result.shell_heat, work=result.compressor_power),
        part("discharge line", (place.COMPRESSOR_OUTLET, place.DESUPERHEATER_INLET)),
        part("desuperheater", (place.DESUPERHEATER_INLET, place.DESUPERHEATER_OUTLET), heat=result.desuperheater_heat),
        part("hot-gas exchanger", (place.DESUPERHEATER_OUTLET, place.CONDENSER_INLET),
             (place.EXCHANGER_GAS_OUTLET, place.HOT_GAS_EXCHANGER_OUTLET)),
        part("suction-line exchanger", (place.CONDENSER_OUTLET, place.THROTTLE_INLET),
             (place.EVAPORATOR_OUTLET, place.EXCHANGER_GAS_OUTLET)),
        part("throttle", (place.THROTTLE_INLET, place.THROTTLE_OUTLET)),
    )  # fmt: skip


def evaporator(result: StageResult, ambient: float, source: float) -> Component:
    """The evaporator with its load at a source temperature [K] and its heat leak at ambient [K]."""
    heats = ((result.load, source), (heat_leak(result), ambient))
    ends = (result.points[place.THROTTLE_OUTLET], result.points[place.EVAPORATOR_OUTLET])
    return passing("evaporator", ends, flow=result.molar_flow, heats=heats)


def condenser(result: StageResult, ambient: float) -> Component:
    """The condenser that rejects its heat to ambient air [K]."""
    ends = (result.points[place.CONDENSER_INLET], result.points[place.CONDENSER_OUTLET])
    return passing("condenser", ends, flow=result.molar_flow, heats=((-result.condenser_heat, ambient),))


def cascade_condenser(colder: StageResult, warmer: StageResult, ambient: float) -> Component:
    """Condenser of one stage and evaporator of the next in one; the warmer stage's heat leak is at ambient [K]."""
    return Component(
        "cascade condenser",
        entering=((colder.molar_flow, colder.points[place.CONDENSER_INLET]),
                  (warmer.molar_flow, warmer.points[place.THROTTLE_OUTLET])),
        leaving=((colder.molar_flow, colder.points[place.CONDENSER_OUTLET]),
                 (warmer.molar_flow, warmer.points[place.EVAPORATOR_OUTLET])),
        heats=((heat_leak(warmer), ambient),),
    )  # fmt: skip


def heat_leak(result: StageResult) -> float:
    """Heat the evaporator takes up besides the load [W]."""
    return result.evaporator_heat - result.load
