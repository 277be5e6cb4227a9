"""The table of vapour pressures against the reference equations it was made from."""

import numpy as np
import pytest

from mixjt.errors import UnreachableError
from mixjt.fluid.pure import fluid_names, pure_model
from mixjt.fluid.vapour_pressure import vapour_pressure


@pytest.mark.parametrize("fluid", fluid_names())
def test_table_against_the_reference_equation(fluid):
    model = pure_model(fluid)
    critical, triple = model.facts.critical_temperature, model.facts.triple_temperature
    for temperature in np.linspace(max(1.01 * triple, 0.52 * critical), 0.95 * critical, 7):
        assert vapour_pressure(fluid, temperature) == pytest.approx(model.saturation_pressure(temperature), rel=3e-4)


def test_below_the_table():
    with pytest.raises(UnreachableError, match="R-22"):
        vapour_pressure("R-22", 100.0)
