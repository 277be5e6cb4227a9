"""The steps to the greatest feed: a pinch search tells its minimum with some noise, and they end within it."""

from types import SimpleNamespace

import pytest

from mixjt.circuit.greatest_feed import _newton

LOAD, WANTED = 20.0, 0.3


def searches(noise: float):
    """D = 50 at the warm end, a least difference that falls by 100 J/mol per mole of feed; noise of both signs in turn."""
    signs = iter([1.0, -1.0, 0.5, -0.7] * 30)

    def search(ratio):
        exact = LOAD + 100.0 * (WANTED - ratio)
        return SimpleNamespace(minimum=exact + next(signs) * noise, temperature=180.0, difference=[50.0])

    return search


@pytest.mark.parametrize("noise", [0.0, 1e-7, 2e-6])
def test_the_steps_end_within_the_noise_of_the_search(noise):
    found = _newton(searches(noise), lambda temperature: 100.0, 0.9, LOAD)
    assert found.ratio == pytest.approx(WANTED, abs=max(2.0 * noise / 100.0, 1e-11))


def test_steps_that_come_no_nearer_from_afar_lead_nowhere():
    assert _newton(searches(1.0), lambda temperature: 100.0, 0.9, LOAD) is None
