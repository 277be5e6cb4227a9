"""Roots of functions whose roots are known."""

import math

import pytest

from mixjt.errors import ConvergenceError
from mixjt.fluid.roots import root_between

ROOT = 0.7
FUNCTIONS = {
    "exponential": lambda x: math.exp(x) - math.exp(ROOT),
    "falling": lambda x: ROOT - x,
    "flat at its root": lambda x: (x - ROOT) ** 3,
    "steep at its root": lambda x: math.copysign(math.sqrt(abs(x - ROOT)), x - ROOT),
    "with a jump": lambda x: x - ROOT + 0.3 * ((x > ROOT) - (x < ROOT)),
    "flat outside": lambda x: math.atan(1e3 * (x - ROOT)),
}


@pytest.mark.parametrize("function", FUNCTIONS.values(), ids=FUNCTIONS)
@pytest.mark.parametrize("low, high", [(-1.0, 0.8), (0.1, 40.0), (40.0, 0.1), (ROOT, 3.0), (-3.0, ROOT)])
def test_finds_the_root_at_a_point_that_was_asked(function, low, high):
    asked = []

    def recorded(x):
        asked.append(x)
        return function(x)

    found = root_between(recorded, low, high, 1e-9)
    assert found in asked
    assert found == pytest.approx(ROOT, abs=1e-9)
    assert len(asked) < 80


def test_a_coarse_tolerance_is_met_with_fewer_calls():
    def calls(xtol):
        asked = []
        root_between(lambda x: asked.append(x) or FUNCTIONS["exponential"](x), -5.0, 2.0, xtol)
        return len(asked)

    assert calls(1e-2) < calls(1e-12)


def test_nothing_is_found_where_nothing_can_be():
    with pytest.raises(ConvergenceError, match="must differ"):
        root_between(lambda x: x * x + 1.0, -1.0, 1.0, 1e-9)
    with pytest.raises(ConvergenceError):
        root_between(lambda x: math.nan if 0.3 < x < 0.8 else x - ROOT, 0.0, 1.0, 1e-9)
