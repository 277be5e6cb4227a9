"""Energy and exergy balance of a throttle circuit, per mole of blend.

For every component, with streams in and out, heat Q received at a boundary temperature T and work W:

    energy               W + sum Q + sum (h_in - h_out) = 0
    exergy destroyed     W + sum Q (1 - T0/T) + sum (psi_in - psi_out),   psi = h - T0 s
    entropy generated    sum (s_out - s_in) - sum Q/T,   times T0: the exergy destroyed again

The two ways agree only where the energy of each component balances, so their difference is a check that
can fail. Heat leaves shell and aftercooler at ambient temperature T0, so what is lost on the way to the
air counts to the component; the load is taken up at the evaporator outlet temperature.

Source: Kotas, The Exergy Method of Thermal Plant Analysis (1985), chapter 2 (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

from mixjt.components.compressor import CompressionResult
from mixjt.cycles import records
from mixjt.cycles.records import BalanceItem
from mixjt.properties.records import State


@dataclass(frozen=True)
class _Component:
    name: str
    streams: tuple[tuple[State, State], ...]  # in, out
    heats: tuple[tuple[float, float], ...] = ()  # J/mol received, K at the boundary
    work: float = 0.0  # J/mol received


@dataclass(frozen=True)
class CircuitBalance:
    """exergy lists what each component destroys and, last, what the load carries away.

    aftercooler_heat [J/mol] is rejected to ambient; the residuals are sums of absolute misfits over the
    components, relative to the compressor work.
    """

    exergy: tuple[BalanceItem, ...]
    aftercooler_heat: float
    energy_residual: float
    exergy_residual: float


def circuit_balance(
    points: dict[str, State], compression: CompressionResult, cooling: float, ambient: float, cold: float
) -> CircuitBalance:
    """Balance a solved circuit.

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
    compressed, cooled = points[records.COMPRESSOR_OUTLET], points[records.AFTERCOOLER_OUTLET]
    aftercooler_heat = _enthalpy(compressed) - _enthalpy(cooled)
    parts = _components(points, compression, cooling, aftercooler_heat, ambient, cold)
    destroyed = [_exergy_from_entropy(part, ambient) for part in parts]
    energy_misfit = sum(abs(_energy_misfit(part)) for part in parts)
    exergy_misfit = sum(
        abs(_exergy_from_streams(part, ambient) - by_entropy) for part, by_entropy in zip(parts, destroyed)
    )
    delivered = cooling * (ambient / cold - 1.0)
    whole = compression.electrical_work - delivered - sum(destroyed)
    items = [BalanceItem(part.name, value) for part, value in zip(parts, destroyed)]
    return CircuitBalance(
        exergy=(*items, BalanceItem("load", delivered)),
        aftercooler_heat=aftercooler_heat,
        energy_residual=energy_misfit / compression.work,
        exergy_residual=max(exergy_misfit, abs(whole)) / compression.work,
    )


def _components(points, compression, cooling, aftercooler_heat, ambient, cold) -> tuple[_Component, ...]:
    inlet, outlet = points[records.COMPRESSOR_INLET], points[records.COMPRESSOR_OUTLET]
    cooled = points[records.AFTERCOOLER_OUTLET]
    before, after = points[records.THROTTLE_INLET], points[records.THROTTLE_OUTLET]
    evaporated = points[records.EVAPORATOR_OUTLET]
    shell = ((-compression.shell_heat, ambient),)
    return (
        _Component("compressor", ((inlet, outlet),), shell, compression.electrical_work),
        _Component("aftercooler", ((outlet, cooled),), ((-aftercooler_heat, ambient),)),
        _Component("recuperator", ((cooled, before), (evaporated, inlet))),
        _Component("throttle", ((before, after),)),
        _Component("evaporator", ((after, evaporated),), ((cooling, cold),)),
    )


def _enthalpy(state: State) -> float:
    """Summed over the phases, so that a state that merely repeats what was asked of it is found out."""
    return sum(phase.fraction * phase.enthalpy for phase in state.phases)


def _entropy(state: State) -> float:
    return sum(phase.fraction * phase.entropy for phase in state.phases)


def _energy_misfit(part: _Component) -> float:
    streams = sum(_enthalpy(entering) - _enthalpy(leaving) for entering, leaving in part.streams)
    return part.work + sum(heat for heat, _ in part.heats) + streams


def _exergy_from_streams(part: _Component, ambient: float) -> float:
    streams = sum(
        _exergy(entering, ambient) - _exergy(leaving, ambient) for entering, leaving in part.streams
    )
    return part.work + sum(heat * (1.0 - ambient / at) for heat, at in part.heats) + streams


def _exergy_from_entropy(part: _Component, ambient: float) -> float:
    streams = sum(_entropy(leaving) - _entropy(entering) for entering, leaving in part.streams)
    return ambient * (streams - sum(heat / at for heat, at in part.heats))


def _exergy(state: State, ambient: float) -> float:
    return _enthalpy(state) - ambient * _entropy(state)
