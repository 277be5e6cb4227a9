"""Void fraction by slip, against the library `fluids` and in its limits."""

import numpy as np
import pytest
from fluids.two_phase_voidage import Steiner, Zivi, homogeneous

from mixjt.errors import InputError
from mixjt.parts.slip import NONE, ROUHANI, SLIPS, ZIVI, slip_ratio, void_fraction

QUALITY = np.array([0.01, 0.1, 0.4, 0.8, 0.99])
VAPOUR, LIQUID = 12.0, 540.0  # kg/m3, propane near 4 bar
FLUX, TENSION, DIAMETER = 90.0, 0.009, 4e-3


@pytest.mark.parametrize("kind, library", [(NONE, homogeneous), (ZIVI, Zivi)])
def test_against_library(kind, library):
    expected = [library(x, LIQUID, VAPOUR) for x in QUALITY]
    assert void_fraction(kind, QUALITY, VAPOUR, LIQUID) == pytest.approx(expected, rel=1e-12)


def test_drift_against_library():
    """The library's form for horizontal tubes, which takes the mass flow and a diameter."""
    flow = FLUX * np.pi / 4.0 * DIAMETER**2
    expected = [Steiner(x, LIQUID, VAPOUR, TENSION, flow, DIAMETER) for x in QUALITY]
    found = void_fraction(ROUHANI, QUALITY, VAPOUR, LIQUID, FLUX, TENSION)
    assert found == pytest.approx(expected, rel=1e-6)  # the library's g has fewer digits


def test_zivi_by_hand():
    """X = 0.1, densities 1000 and 1.2 kg/m3: Zivi's a = 1/(1 + 9 (0.0012)**(2/3)), by hand."""
    assert void_fraction(ZIVI, 0.1, 1.2, 1000.0) == pytest.approx(1.0 / (1.0 + 9.0 * 0.0012 ** (2.0 / 3.0)), rel=1e-12)


@pytest.mark.parametrize("kind", SLIPS)
def test_one_phase_fills_all(kind):
    found = void_fraction(kind, np.array([0.0, 1.0]), VAPOUR, LIQUID, FLUX, TENSION)
    assert found.tolist() == [0.0, 1.0]


def test_equal_densities_do_not_slip():
    assert slip_ratio(ZIVI, 0.5, 300.0, 300.0) == pytest.approx(1.0)
    assert void_fraction(ZIVI, 0.3, 300.0, 300.0) == pytest.approx(0.3)


def test_more_slip_more_liquid():
    none, zivi = (void_fraction(kind, QUALITY, VAPOUR, LIQUID) for kind in (NONE, ZIVI))
    assert np.all(zivi < none)


@pytest.mark.parametrize(
    "given", [("some", 0.5, 1.0, 2.0), (ZIVI, 1.5, 1.0, 2.0), (ZIVI, 0.5, 3.0, 2.0), (ROUHANI, 0.5, 1.0, 2.0)]
)
def test_refused(given):
    with pytest.raises(InputError):
        slip_ratio(*given)
