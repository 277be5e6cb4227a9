"""What the phases study makes of the states it is given."""

import numpy as np
import pytest
from toy_model import IdealBlend

from mixjt.fluid.fluid import Fluid
from mixjt.studies.phases import Isobar, isobars

GASES, COMPOSITION = ("nitrogen", "methane", "propane"), [0.3, 0.3, 0.4]


def isobar(phases, liquids, bubble=90.0, dew=250.0):
    temperatures = 100.0 + 10.0 * np.arange(len(phases))
    nothing = np.zeros(len(phases))
    return Isobar(1e5, temperatures, nothing, nothing, np.array(phases), np.array(liquids), bubble, dew)


def test_spans_of_two_liquids():
    assert isobar([2, 3, 2, 1, 2], [2, 2, 1, 1, 2]).two_liquids == ((100.0, 110.0), (140.0, 140.0))
    assert isobar([2, 1], [1, 0]).two_liquids == ()


def test_phase_texts():
    texts = isobar([1, 1, 2, 2, 3], [0, 1, 1, 2, 2]).phase_texts
    assert texts == ("vapour", "liquid", "vapour + liquid", "liquid + liquid", "vapour + liquid + liquid")


def test_glide_needs_both_points():
    assert isobar([1], [0]).glide == pytest.approx(160.0)
    assert isobar([1], [0], bubble=None).glide is None


def test_states_change_at_the_saturation_points():
    (line,) = isobars(Fluid(IdealBlend(GASES), COMPOSITION), [5e5], np.arange(80.0, 300.0, 5.0))
    inside = (line.temperatures > line.bubble_point) & (line.temperatures < line.dew_point)
    assert np.array_equal(line.phase_count == 2, inside)
    assert np.array_equal(line.vapour_fraction == 1.0, line.temperatures > line.dew_point)


