"""Energy and exergy balance of a throttle circuit, per mole of blend; see `mixjt.circuit.accounting`.

Heat leaves shell and aftercooler at ambient temperature, so what is lost on the way to the air counts to
the component; the load is taken up at the evaporator outlet temperature.
"""

from __future__ import annotations

from mixjt.circuit import result as records
from mixjt.circuit.accounting import Account, Component, account, enthalpy, passing
from mixjt.fluid.states import State
from mixjt.parts.compressor.compression import CompressionResult


def circuit_balance(
    points: dict[str, State], compression: CompressionResult, cooling: float, ambient: float, cold: float
) -> Account:
    """Balance a solved plain circuit.

    Parameters
    ----------
    points : dict
        The six states by place.
    compression : CompressionResult
    cooling : float
        Heat taken up by the evaporator [J/mol].
    ambient, cold : float
        Temperatures of the room and of the load [K].
    """
    cooled, inlet = points[records.AFTERCOOLER_OUTLET], points[records.COMPRESSOR_INLET]
    before, evaporated = points[records.THROTTLE_INLET], points[records.EVAPORATOR_OUTLET]
    parts = (
        *compressor_parts(points, compression, ambient),
        passing("recuperator", (cooled, before), (evaporated, inlet)),
        *cold_parts(points, cooling, cold),
    )
    return account(parts, ambient, delivered(cooling, ambient, cold), compression.work)


def delivered(cooling: float, ambient: float, cold: float) -> float:
    """Exergy of the cooling [J/mol]."""
    return cooling * (ambient / cold - 1.0)


def aftercooler_heat(points: dict[str, State]) -> float:
    """Heat rejected between the compressor and the aftercooler's outlet [J/mol]."""
    return enthalpy(points[records.COMPRESSOR_OUTLET]) - enthalpy(points[records.AFTERCOOLER_OUTLET])


def compressor_parts(
    points: dict[str, State], compression: CompressionResult, ambient: float
) -> tuple[Component, Component]:
    """Compressor and aftercooler."""
    inlet, outlet = points[records.COMPRESSOR_INLET], points[records.COMPRESSOR_OUTLET]
    shell = ((-compression.shell_heat, ambient),)
    rejected = ((-aftercooler_heat(points), ambient),)
    return (
        passing("compressor", (inlet, outlet), heats=shell, work=compression.electrical_work),
        passing("aftercooler", (outlet, points[records.AFTERCOOLER_OUTLET]), heats=rejected),
    )


def cold_parts(
    points: dict[str, State], cooling: float, cold: float, flow: float = 1.0
) -> tuple[Component, Component]:
    """Throttle and evaporator, of a flow per mole of blend; cooling is per mole of blend too."""
    before, after = points[records.THROTTLE_INLET], points[records.THROTTLE_OUTLET]
    evaporated = points[records.EVAPORATOR_OUTLET]
    return (
        passing("throttle", (before, after), flow=flow),
        passing("evaporator", (after, evaporated), flow=flow, heats=((cooling, cold),)),
    )
