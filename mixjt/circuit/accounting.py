"""Energy and exergy balance of a machine made of components, per mole of blend.

For every component, with streams in and out, heat Q received at a boundary temperature T and work W:

    energy               W + sum Q + sum h_in - sum h_out = 0
    exergy destroyed     W + sum Q (1 - T0/T) + sum psi_in - sum psi_out,   psi = h - T0 s
    entropy generated    sum s_out - sum s_in - sum Q/T,   times T0: the exergy destroyed again

A stream counts by its flow per mole of blend. Streams of different composition may meet or part in a
component: the zeros of enthalpy and entropy cancel as long as each gas is conserved.

The two ways agree only where the energy of each component balances, so their difference is a check that
can fail.

Source: Kotas, The Exergy Method of Thermal Plant Analysis (1985), chapter 2 (from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from mixjt.circuit.result import BalanceItem
from mixjt.fluid.states import State

FlowingState = tuple[float, State]  # moles per mole of blend, state


@dataclass(frozen=True)
class Component:
    """A component with its streams, the heats (J/mol received, K at the boundary) and the work [J/mol] it takes."""

    name: str
    entering: tuple[FlowingState, ...] = ()
    leaving: tuple[FlowingState, ...] = ()
    heats: tuple[tuple[float, float], ...] = ()
    work: float = 0.0


@dataclass(frozen=True)
class Account:
    """exergy lists what each component destroys and, last, what the load carries away.

    The residuals are sums of absolute misfits over the components, relative to the compressor work.
    """

    exergy: tuple[BalanceItem, ...]
    energy_residual: float
    exergy_residual: float


def passing(name: str, *streams: tuple[State, State], flow: float = 1.0, heats=(), work: float = 0.0) -> Component:
    """A component through which streams pass, each from its state in to its state out, all with one flow."""
    return Component(
        name,
        tuple((flow, entering) for entering, _ in streams),
        tuple((flow, leaving) for _, leaving in streams),
        tuple(heats),
        work,
    )


def account(parts: Sequence[Component], ambient: float, delivered: float, scale: float) -> Account:
    """Balance a machine.

    Parameters
    ----------
    parts : sequence of Component
    ambient : float
        Temperature T0 of the room [K].
    delivered : float
        Exergy that the load carries away [J/mol].
    scale : float
        Work that residuals are relative to [J/mol].
    """
    destroyed = [_exergy_from_entropy(part, ambient) for part in parts]
    energy_misfit = sum(abs(_energy_misfit(part)) for part in parts)
    exergy_misfit = sum(
        abs(_exergy_from_streams(part, ambient) - by_entropy) for part, by_entropy in zip(parts, destroyed)
    )
    whole = sum(part.work for part in parts) - delivered - sum(destroyed)
    items = [BalanceItem(part.name, value) for part, value in zip(parts, destroyed)]
    return Account(
        exergy=(*items, BalanceItem("load", delivered)),
        energy_residual=energy_misfit / scale,
        exergy_residual=max(exergy_misfit, abs(whole)) / scale,
    )


def enthalpy(state: State) -> float:
    """Summed over the phases, so that a state that merely repeats what was asked of it is found out."""
    return sum(phase.fraction * phase.enthalpy for phase in state.phases)


def entropy(state: State) -> float:
    """Summed over the phases."""
    return sum(phase.fraction * phase.entropy for phase in state.phases)


def _gain(part: Component, quantity) -> float:
    """What leaves with the streams less what enters with them."""
    leaving = sum(flow * quantity(state) for flow, state in part.leaving)
    return leaving - sum(flow * quantity(state) for flow, state in part.entering)


def _energy_misfit(part: Component) -> float:
    return part.work + sum(heat for heat, _ in part.heats) - _gain(part, enthalpy)


def _exergy_from_streams(part: Component, ambient: float) -> float:
    streams = _gain(part, lambda state: enthalpy(state) - ambient * entropy(state))
    return part.work + sum(heat * (1.0 - ambient / at) for heat, at in part.heats) - streams


def _exergy_from_entropy(part: Component, ambient: float) -> float:
    return ambient * (_gain(part, entropy) - sum(heat / at for heat, at in part.heats))
