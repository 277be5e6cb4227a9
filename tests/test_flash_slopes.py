"""Derivatives of states with respect to amounts: central differences of the states themselves, and Euler's theorem."""

from functools import partialmethod

import numpy as np
import pytest

from mixjt.fluid.flash import engine
from mixjt.fluid.multi_fluid import MultiFluidModel

GASES = ("nitrogen", "methane", "ethane", "propane", "n-butane")
BLEND = np.array([0.45, 0.20, 0.15, 0.10, 0.10])
PRESSURE = 8e5
STATES = {  # temperature [K]: phases, liquids
    300.0: (1, 0), 200.0: (2, 1), 105.0: (3, 2), 90.0: (2, 2),
}  # fmt: skip


def extensive(sweep) -> dict[str, np.ndarray]:
    """What one mole holds, by the name of its slopes."""
    return {
        "enthalpy_slopes": sweep.enthalpy[0],
        "entropy_slopes": sweep.entropy[0],
        "volume_slopes": sweep.molar_volume[0],
        "liquid_slopes": 1.0 - sweep.vapour_fraction[0],
    }


@pytest.fixture
def exact(monkeypatch):
    """Sweeps solved as far as single states are."""
    solve = partialmethod(MultiFluidModel._solve, tolerance=engine.EXACT)
    monkeypatch.setattr(MultiFluidModel, "_solve", solve)
    return MultiFluidModel(GASES, threads=1)


@pytest.mark.parametrize("temperature", STATES)
def test_slopes_are_the_differences_of_states(exact, temperature):
    at = np.array([temperature])
    sweep = exact.sweep(BLEND, PRESSURE, at, gradients=True)
    assert (sweep.phase_count[0, 0], sweep.liquid_count[0, 0]) == STATES[temperature]
    for k, amount in enumerate(BLEND):
        step, held = 1e-5 * amount, []
        for n in (BLEND.copy(), BLEND.copy()):
            n[k] += step if not held else -step
            states = extensive(exact.sweep(n / n.sum(), PRESSURE, at))
            held.append({name: n.sum() * values[0] for name, values in states.items()})
        for name, more in held[0].items():
            slope = getattr(sweep, name)[0, 0]
            difference = (more - held[1][name]) / (2.0 * step)
            assert slope[k] == pytest.approx(difference, abs=1e-7 * np.abs(slope).max()), name


def test_amounts_times_slopes_are_the_whole(exact):
    """Euler's theorem for functions of first degree, at states that a sweep followed."""
    sweep = exact.sweep(BLEND, PRESSURE, np.array(list(STATES)), gradients=True)
    for name, whole in extensive(sweep).items():
        assert getattr(sweep, name)[0] @ BLEND == pytest.approx(whole, rel=1e-10, abs=1e-12)


def test_slopes_along_an_isobar_and_of_absent_gases():
    """States along a sweep are solved to first order, which their slopes miss by as much; an absent gas has none."""
    model, blend = MultiFluidModel(("argon", *GASES)), np.append(0.0, BLEND)
    sweep = model.sweep(blend, PRESSURE, np.linspace(80.0, 320.0, 40), gradients=True)
    alone = MultiFluidModel(GASES).sweep(BLEND, PRESSURE, np.linspace(80.0, 320.0, 40), gradients=True)
    for name, whole in extensive(sweep).items():
        slopes = getattr(sweep, name)[0]
        assert np.all(slopes[:, 0] == 0.0)
        assert np.array_equal(slopes[:, 1:], getattr(alone, name)[0])
        assert np.abs(slopes @ blend - whole).max() < 1e-3 * np.abs(slopes).max()


def test_slopes_are_not_worked_out_unasked():
    sweep = MultiFluidModel(GASES).sweep(BLEND, PRESSURE, np.array([200.0]))
    assert sweep.enthalpy_slopes is None
    assert sweep.liquid_slopes is None


def test_a_liquid_pure_gas_has_the_slopes_of_a_liquid():
    """Followed from its vapour; boiling at 111.67 K: Setzmann and Wagner (1991), 1 atm."""
    sweep = MultiFluidModel(("methane",)).sweep(np.ones(1), 101325.0, np.linspace(115.0, 109.0, 13), gradients=True)
    liquid = np.linspace(115.0, 109.0, 13) < 111.67
    for name, whole in extensive(sweep).items():
        assert getattr(sweep, name)[0, :, 0] == pytest.approx(whole, rel=1e-4)
    assert np.array_equal(sweep.liquid_slopes[0, :, 0] == 1.0, liquid)
    assert np.array_equal(sweep.enthalpy[0] < sweep.enthalpy[0, 0] - 8000.0, liquid)  # heat of vaporisation 8.2 kJ/mol
