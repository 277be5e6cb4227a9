"""States made of phases, and the lever rule where an isobar jumps."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from mixjt.fluid.states import LIQUID, VAPOUR, Phase, State

JUMP_WIDTHS = (1e-14, 1e-13, 1e-12, 1e-11, 1e-10, 1e-9, 1e-8, 1e-7, 1e-6)  # relative, around a jump's temperature
SAME_COMPOSITION = 1e-6


def assemble_state(temperature, pressure, z, phases) -> State:
    """A State from its phases, ordered from the lightest to the densest."""
    phases = sorted(phases, key=lambda phase: -phase.molar_volume)
    if len(phases) > 1 and all(phase.kind == VAPOUR for phase in phases):  # near a critical point
        phases[-1] = replace(phases[-1], kind=LIQUID)
    phases = tuple(phases)

    def total(name):
        return float(sum(phase.fraction * getattr(phase, name) for phase in phases))

    return State(
        temperature, pressure, z, total("enthalpy"), total("entropy"), total("molar_volume"), phases
    )


def across_jump(model, z, temperature: float, pressure: float, quantity: str, target: float) -> State | None:
    """State with a target enthalpy or entropy where the isobar jumps: a pure gas boiling, or a blend next to pure.

    None where the isobar does not jump across the target at that temperature.
    """
    for width in JUMP_WIDTHS:
        cold = model.state_tp(z, temperature * (1.0 - width), pressure)
        warm = model.state_tp(z, temperature * (1.0 + width), pressure)
        low, high = getattr(cold, quantity), getattr(warm, quantity)
        if low <= target <= high and high > low:
            return _mixed(cold, warm, (target - low) / (high - low), temperature)
    return None


def _mixed(cold: State, warm: State, share: float, temperature: float) -> State:
    """The lever rule between two states next to each other; a phase present in both is one phase."""
    phases = [replace(phase, fraction=phase.fraction * (1.0 - share)) for phase in cold.phases]
    for phase in warm.phases:
        added = replace(phase, fraction=phase.fraction * share)
        for k, other in enumerate(phases):
            if phase.kind == other.kind and np.allclose(phase.composition, other.composition, atol=SAME_COMPOSITION):
                phases[k] = _joined(other, added)
                break
        else:
            phases.append(added)
    return assemble_state(temperature, cold.pressure, cold.composition, phases)


def _joined(one: Phase, other: Phase) -> Phase:
    """Two amounts of what is one phase but for rounding."""
    total = one.fraction + other.fraction
    weight = other.fraction / total if total > 0.0 else 0.0

    def mean(name):
        return (1.0 - weight) * getattr(one, name) + weight * getattr(other, name)

    names = ("composition", "enthalpy", "entropy", "molar_volume", "log_fugacity_coefficients")
    return replace(one, fraction=total, **{name: mean(name) for name in names})
