"""The band beside a cooling figure: what it follows from, and that it never understates a difference seen."""

import pytest

from mixjt.properties.band import cooling_band, held_out_table
from mixjt.properties.reference_sound import sound_from_pair, splitting_limit

ROW = held_out_table()["sets"]["calibrated-srk"]


def test_sound_blend_gets_the_band_of_sound_blends():
    band = cooling_band("calibrated-srk", ("nitrogen", "methane", "ethane"), [0.3, 0.4, 0.3], 120.0)
    assert band.fraction == ROW["sound"]["ninety"]
    assert str(ROW["sound"]["blends"]) in band.basis


def test_below_the_sound_range_the_wide_band_holds():
    band = cooling_band("calibrated-srk", ("methane", "n-butane"), [0.7, 0.3], 120.0)
    assert band.fraction == ROW["full"]["ninety"]
    assert "sound range" in band.basis


def test_pairs_that_nothing_is_fitted_for_widen_the_band():
    band = cooling_band("calibrated-srk", ("argon", "isopentane"), [0.5, 0.5], 200.0)
    assert band.fraction == ROW["full"]["ninety"]
    assert "nothing is fitted" in band.basis


def test_what_the_narrow_band_left_out_has_the_wide_one():
    """The sound blends of the comparison hold none of these pairs, and none of the second below 155 K."""
    assert cooling_band("calibrated-srk", ("argon", "n-butane"), [0.5, 0.5], 200.0).fraction == ROW["full"]["ninety"]
    for coldest, span in ((150.0, "full"), (160.0, "sound")):
        band = cooling_band("calibrated-srk", ("methane", "n-butane"), [0.7, 0.3], coldest)
        assert band.fraction == ROW[span]["ninety"]


def test_a_difference_seen_is_inside_the_band():
    band = cooling_band("calibrated-srk", ("nitrogen", "methane"), [0.5, 0.5], 120.0, difference=-0.5)
    assert band.fraction == pytest.approx(0.5)


def test_held_out_percentiles_are_in_order():
    for spans in held_out_table()["sets"].values():
        for row in spans.values():
            assert 0.0 < row["median"] < row["ninety"] < row["worst"]


@pytest.mark.parametrize("pair", [("methane", "n-butane"), ("ethane", "isobutane"), ("nitrogen", "methane")])
def test_tabulated_sound_limits_are_the_models(pair):
    expected = splitting_limit(*pair) if "nitrogen" not in pair else 0.0
    assert sound_from_pair(*pair) == expected
