"""Blends: checking, averages, and ingredients that are mixtures."""

import numpy as np
import pytest

from mixjt.blend import Blend, Ingredient, composition_matrix, expand, pure_ingredient
from mixjt.errors import InputError, UnknownGasError


def message(function, *arguments, error=InputError):
    """The text of the error that the call raises, which must be one line."""
    with pytest.raises(error) as caught:
        function(*arguments)
    text = str(caught.value)
    assert text and "\n" not in text
    return text


# --- checking


def test_names_become_the_catalogue_s_and_keep_their_order():
    blend = Blend(["R-290", "N2", "butane"], [0.2, 0.5, 0.3])
    assert blend.gases == ("propane", "nitrogen", "n-butane")
    assert blend.fractions == (0.2, 0.5, 0.3)
    assert blend.to_dict() == {"propane": 0.2, "nitrogen": 0.5, "n-butane": 0.3}


def test_fractions_may_be_an_array_and_blends_compare_and_hash():
    first = Blend(("methane", "ethane"), np.array([0.25, 0.75]))
    second = Blend(("R-50", "R-170"), (0.25, 0.75))
    assert first == second and hash(first) == hash(second)
    assert first != Blend(("methane", "ethane"), (0.75, 0.25))
    assert first.composition.tolist() == [0.25, 0.75]


def test_a_blend_does_not_change():
    blend = Blend(("methane", "ethane"), (0.25, 0.75))
    blend.composition[0] = 9.0
    assert blend.fractions == (0.25, 0.75)
    with pytest.raises(AttributeError):
        blend.fractions = (1.0, 0.0)


def test_small_error_of_the_sum_is_scaled_away():
    blend = Blend(("methane", "ethane", "propane"), (0.3333334, 0.3333333, 0.3333334))
    assert abs(sum(blend.fractions) - 1.0) <= 2e-16
    assert blend.fractions[1] / blend.fractions[0] == pytest.approx(0.3333333 / 0.3333334, rel=1e-15)


@pytest.mark.parametrize("excess", [2e-6, -2e-6])
def test_larger_error_of_the_sum_is_refused(excess):
    assert "sum" in message(Blend, ("methane", "ethane"), (0.5, 0.5 + excess))
    Blend(("methane", "ethane"), (0.5, 0.5 + 0.4 * excess))  # the limit is 1e-6


def test_wrong_sum_is_stated_with_a_way_out():
    text = message(Blend, ("nitrogen", "methane"), (36, 64))
    assert "sum to 100," in text and "divide each by 100" in text
    assert "sum to 0," in message(Blend, ("nitrogen", "methane"), (0, 0))


@pytest.mark.parametrize("bad", [float("nan"), float("inf"), -0.1])
def test_bad_fraction_is_refused_by_gas(bad):
    assert "methane" in message(Blend, ("nitrogen", "methane"), (1.1, bad))


def test_other_bad_blends():
    assert "methane is given twice" in message(Blend, ("methane", "R-50"), (0.5, 0.5))
    assert "no gas" in message(Blend, (), ())
    assert "2 names but 1" in message(Blend, ("nitrogen", "methane"), (1.0,))
    assert "numbers" in message(Blend, ("nitrogen", "methane"), ("half", "half"))
    assert "did you mean nitrogen" in message(Blend, ("nitrogn",), (1.0,), error=UnknownGasError)


def test_absent_gases_are_kept_until_dropped():
    blend = Blend(("nitrogen", "methane", "ethane"), (0.4, 0.0, 0.6))
    assert blend.to_dict()["methane"] == 0.0
    assert blend.without_absent() == Blend(("nitrogen", "ethane"), (0.4, 0.6))


# --- text


def test_text_for_people():
    assert Blend(("nitrogen", "methane", "propane"), (0.36, 0.15, 0.49)).text == (
        "36 % nitrogen, 15 % methane, 49 % propane (mole)"
    )
    assert Blend(("neon", "argon", "methane"), (0.00125, 0.0, 0.99875)).text == (
        "0.12 % neon, 99.9 % methane (mole)"
    )


# --- averages


def test_molar_mass_and_mass_fractions_of_air():
    # Dry air without its argon: 28.85 g/mol; oxygen 23.3 % by mass (hand calculation, 31.999 and 28.013).
    air = Blend(("nitrogen", "oxygen"), (0.79, 0.21))
    assert air.molar_mass == pytest.approx(0.79 * 28.0134e-3 + 0.21 * 31.9988e-3, rel=1e-5)
    assert air.mass_fractions == pytest.approx([0.7671, 0.2329], abs=1e-4)


def test_flammable_limit_of_a_natural_gas():
    # Le Chatelier by hand with IEC 60079-20-1 limits: 1 / (0.20455 + 0.02500 + 0.02353) in percent.
    natural_gas = Blend(("methane", "ethane", "propane"), (0.9, 0.06, 0.04))
    assert 100 * natural_gas.lower_flammable_limit == pytest.approx(3.9514, abs=1e-4)


def test_inert_gas_raises_the_flammable_limit_in_proportion():
    assert Blend(("propane",), (1.0,)).lower_flammable_limit == pytest.approx(0.017)
    half = Blend(("propane", "nitrogen"), (0.5, 0.5))
    assert half.lower_flammable_limit == pytest.approx(0.034)


def test_no_flammable_limit_without_enough_fuel():
    assert Blend(("nitrogen", "argon"), (0.5, 0.5)).lower_flammable_limit is None
    assert Blend(("nitrogen", "propane"), (0.99, 0.01)).lower_flammable_limit is None


def test_warming_potential_is_weighted_by_mass():
    # R-508A is 39 % R-23 by mass; here R-23 in ethane at the same mass share, by hand with AR6 values.
    moles = np.array([0.39 / 70.014, 0.61 / 30.069])
    blend = Blend(("R-23", "ethane"), moles / moles.sum())
    assert blend.gwp100 == pytest.approx(0.39 * 14600 + 0.61 * 0.437, rel=1e-4)


# --- ingredients


def test_expand_adds_a_gas_that_several_ingredients_contain():
    lpg = Ingredient("bottled LPG", ("propane", "butane"), (0.6, 0.4))
    blend = expand([pure_ingredient("N2"), lpg, pure_ingredient("R-290")], [0.3, 0.5, 0.2])
    assert blend.gases == ("nitrogen", "propane", "n-butane")
    assert blend.fractions == pytest.approx((0.3, 0.5, 0.2), abs=1e-15)


def test_matrix_times_amounts_is_the_blend():
    lpg = Ingredient("LPG", ("propane", "n-butane", "isobutane"), (0.5, 0.3, 0.2))
    lighter = Ingredient("lighter gas", ("isobutane", "propane"), (0.75, 0.25))
    names, matrix = composition_matrix([lpg, lighter])
    assert names == ("propane", "n-butane", "isobutane")
    assert matrix.sum(axis=1) == pytest.approx([1.0, 1.0], abs=1e-15)
    amounts = np.array([0.2, 0.8])
    assert amounts @ matrix == pytest.approx(expand([lpg, lighter], amounts).fractions, abs=1e-15)
    assert amounts @ matrix == pytest.approx([0.3, 0.06, 0.64], abs=1e-15)


def test_an_absent_ingredient_leaves_zeros():
    lpg = Ingredient("LPG", ("propane", "n-butane"), (0.5, 0.5))
    blend = expand([pure_ingredient("methane"), lpg], (1.0, 0.0))
    assert blend.to_dict() == {"methane": 1.0, "propane": 0.0, "n-butane": 0.0}


def test_bad_ingredients():
    assert "'LPG'" in message(Ingredient, "LPG", ("propane", "n-butane"), (0.5, 0.6))
    assert "'LPG'" in message(Ingredient, "LPG", ("propan",), (1.0,), error=UnknownGasError)
    assert "name" in message(Ingredient, " ", ("propane",), (1.0,))
    same = [pure_ingredient("methane"), pure_ingredient("R-50")]
    assert "methane is given twice" in message(expand, same, (0.5, 0.5))
    assert "sum to 0.9" in message(expand, [pure_ingredient("methane")], (0.9,))
    assert "no ingredient" in message(expand, [], [])
    lpg = Ingredient("LPG", ("propane",), (1.0,))
    assert "LPG is -1" in message(expand, [pure_ingredient("methane"), lpg], (2.0, -1.0))
