"""The lever rule where an isobar jumps, on a model whose jump is known."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from mixjt.fluid.invert import state_on_isobar
from mixjt.fluid.mixed_state import across_jump, assemble_state
from mixjt.fluid.states import LIQUID, VAPOUR, Phase

JUMP, PRESSURE = 100.0, 1e5  # K, Pa


def phase(kind, fraction, enthalpy, volume, x=0.3):
    composition = np.array([x, 1.0 - x])
    return Phase(kind, fraction, composition, enthalpy, enthalpy / JUMP, volume, np.zeros(2))


class Jumping:
    """Liquid with a tenth of vapour below the jump, with nine tenths above: the same two phases on both sides."""

    temperature_span = (60.0, 600.0)

    def sweep(self, z, pressure, temperatures, strict=True):
        states = [self.state_tp(z, t, pressure) for t in temperatures]
        return SimpleNamespace(enthalpy=np.array([[state.enthalpy for state in states]]))

    def state_tp(self, z, temperature, pressure):
        vapour = 0.1 if temperature < JUMP else 0.9
        rise = temperature - JUMP
        phases = [phase(LIQUID, 1.0 - vapour, rise, 5e-5), phase(VAPOUR, vapour, 5000.0 + rise, 8e-3)]
        return assemble_state(temperature, pressure, np.array([0.3, 0.7]), phases)


@pytest.mark.parametrize("target", [600.0, 2500.0, 4000.0])
def test_one_liquid_on_both_sides_of_a_jump_stays_one(target):
    state = state_on_isobar(Jumping(), [0.3, 0.7], "enthalpy", target, PRESSURE)
    assert state.temperature == pytest.approx(JUMP, abs=1e-6)
    assert len(state.liquids) == 1 and len(state.phases) == 2
    assert state.enthalpy == pytest.approx(target, abs=1e-6)
    assert state.vapour_fraction == pytest.approx(target / 5000.0, abs=1e-6)  # lever rule by hand


def test_two_liquids_of_different_composition_stay_two():
    class Splitting(Jumping):
        def state_tp(self, z, temperature, pressure):
            state = super().state_tp(z, temperature, pressure)
            if temperature < JUMP:
                return state
            other = [replace(one, composition=np.array([0.9, 0.1])) if one.kind == LIQUID else one for one in state.phases]
            return assemble_state(temperature, pressure, state.composition, other)

    state = across_jump(Splitting(), [0.3, 0.7], JUMP, PRESSURE, "enthalpy", 2500.0)
    assert len(state.liquids) == 2


def test_no_jump_at_all_is_no_state():
    assert across_jump(Jumping(), [0.3, 0.7], 200.0, PRESSURE, "enthalpy", 0.0) is None
