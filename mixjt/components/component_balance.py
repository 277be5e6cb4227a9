"""Energy and exergy of one component in watts, from its streams, heats and work.

    energy               W + sum Q + sum n (h_in - h_out) = 0
    exergy destroyed     W + sum Q (1 - T0/T) + sum n (psi_in - psi_out),   psi = h - T0 s
    entropy generated    sum n (s_out - s_in) - sum Q/T,   times T0: the exergy destroyed again

The last two agree only where energy balances, so that their difference is a check that can fail.

Source: Kotas, The Exergy Method of Thermal Plant Analysis (1985), chapter 2 (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

from mixjt.properties.records import State


@dataclass(frozen=True)
class Component:
    """streams: (mol/s, state in, state out); heats: (W received, K at the boundary); work: W received."""

    name: str
    streams: tuple[tuple[float, State, State], ...]
    heats: tuple[tuple[float, float], ...] = ()
    work: float = 0.0

    @property
    def energy_misfit(self) -> float:
        """What is left over of its energy balance [W]."""
        streams = sum(flow * (_enthalpy(entering) - _enthalpy(leaving)) for flow, entering, leaving in self.streams)
        return self.work + sum(heat for heat, _ in self.heats) + streams

    def exergy_destroyed(self, ambient: float) -> float:
        """From the entropy generated, at an ambient temperature [K], in W."""
        streams = sum(flow * (_entropy(leaving) - _entropy(entering)) for flow, entering, leaving in self.streams)
        return ambient * (streams - sum(heat / at for heat, at in self.heats))

    def exergy_lost(self, ambient: float) -> float:
        """From the exergy of all that enters and leaves, at an ambient temperature [K], in W."""
        streams = sum(
            flow * (_exergy(entering, ambient) - _exergy(leaving, ambient))
            for flow, entering, leaving in self.streams
        )
        return self.work + sum(heat * (1.0 - ambient / at) for heat, at in self.heats) + streams


@dataclass(frozen=True)
class Balance:
    """exergy: (component, W destroyed) in order, last ("load", W carried out by the load).

    The residuals are sums of absolute misfits over the components, relative to the electrical power.
    """

    exergy: tuple[tuple[str, float], ...]
    energy_residual: float
    exergy_residual: float


def balance(components, power: float, load: float, cold: float, ambient: float) -> Balance:
    """Balance of a whole made of components.

    Parameters
    ----------
    components : sequence of Component
    power, load : float
        Electrical power put in, and heat taken up at the cold temperature [W].
    cold, ambient : float
        Temperatures of load and surroundings [K].
    """
    destroyed = [part.exergy_destroyed(ambient) for part in components]
    delivered = load * (ambient / cold - 1.0)
    misfit = sum(abs(part.exergy_lost(ambient) - lost) for part, lost in zip(components, destroyed, strict=True))
    whole = power - delivered - sum(destroyed)
    items = [(part.name, lost) for part, lost in zip(components, destroyed, strict=True)]
    return Balance(
        exergy=(*items, ("load", delivered)),
        energy_residual=sum(abs(part.energy_misfit) for part in components) / power,
        exergy_residual=max(misfit, abs(whole)) / power,
    )


def _enthalpy(state: State) -> float:
    """Summed over the phases, so that a state that merely repeats what was asked of it is found out."""
    return sum(phase.fraction * phase.enthalpy for phase in state.phases)


def _entropy(state: State) -> float:
    return sum(phase.fraction * phase.entropy for phase in state.phases)


def _exergy(state: State, ambient: float) -> float:
    return _enthalpy(state) - ambient * _entropy(state)
