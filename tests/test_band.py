"""The band beside a cooling figure, on sets of pair parameters whose distance is known."""

from dataclasses import replace
from math import hypot
from pathlib import Path

import numpy as np
import pytest
from toy_model import IdealBlend

from mixjt.case.case import read_case
from mixjt.circuit.solve import solve_circuit
from mixjt.errors import ConvergenceError, UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.pair_sets import PairSet
from mixjt.fluid.soundness import sound_from_pair, splitting_limit
from mixjt.report.circuit_report import BAND_FIGURES
from mixjt.report.figure import record_of
from mixjt.studies import band

CASE = read_case(Path(__file__).parent.parent / "mixtures-demo" / "receiver-120K.toml")
CIRCUIT = replace(CASE.circuit, insulation=None)  # a leak does not grow with the cooling
GASES = ("nitrogen", "methane", "ethane", "propane", "isobutane")
COMPOSITION = np.array([0.3, 0.18, 0.25, 0.12, 0.15])
NITROGEN, BUTANE = (("nitrogen", "methane"),), (("methane", "isobutane"), ("methane", "n-pentane"))


class Scaled(IdealBlend):
    """All enthalpies times a factor, and so all cooling."""

    def __init__(self, factor):
        super().__init__(GASES)
        self.factor = factor

    def sweep(self, z, pressures, temperatures, strict=True):
        states = super().sweep(z, pressures, temperatures)
        return replace(states, enthalpy=self.factor * states.enthalpy)


class Failing(IdealBlend):
    """Raises an error instead of giving states."""

    def __init__(self, error):
        super().__init__(GASES)
        self.error = error

    def sweep(self, *_, **__):
        raise self.error


@pytest.fixture(scope="module")
def result():
    return solve_circuit(Fluid(IdealBlend(GASES), COMPOSITION), CIRCUIT)


@pytest.fixture
def found(result, monkeypatch):
    """The band of the result with sets of (name, pairs, model) in the place of the plausible ones."""

    def band_with(*sets):
        members = [(PairSet(name, "", "", pairs), model) for name, pairs, model in sets]
        monkeypatch.setattr(band, "plausible_models", lambda model, z: members)
        return band.cooling_band(result, CIRCUIT)

    return band_with


def test_without_other_sets_the_floor_is_all(found, result):
    alone = found()
    assert alone.fraction == alone.floor == pytest.approx(band.FLOOR / result.cooling_capacity)
    assert alone.dominant is None and alone.pair is None and alone.warnings == ()
    assert alone.sentence.startswith("cooling is known to about") and "pure gases' equations" in alone.sentence


def test_sets_of_different_pairs_add_up_in_squares_and_of_the_same_pairs_the_farthest_counts(found):
    several = found(
        ("a", NITROGEN, Scaled(1.03)), ("b", NITROGEN, Scaled(0.96)), ("c", BUTANE, Scaled(1.12)), ("d", BUTANE, Scaled(0.95))
    )
    assert [one.difference for one in several.members] == pytest.approx([0.03, -0.04, 0.12, -0.05])
    assert several.fraction == pytest.approx(hypot(several.floor, 0.04, 0.12))


def test_the_pair_that_leaves_most_open_is_named_as_far_as_it_is_in_the_blend(found):
    several = found(("a", NITROGEN, Scaled(1.03)), ("lean", BUTANE, Scaled(0.88)))
    assert several.dominant.name == "lean" and several.pair == "methane + isobutane"  # no pentane here
    assert "the set lean finds 12 % less cooling" in several.sentence
    assert record_of(BAND_FIGURES, several) == {
        "cooling_band_fraction": several.fraction,
        "cooling_band_pair": "methane + isobutane",
        "cooling_band_basis": several.basis,
    }


def test_below_the_floor_no_pair_is_named(found):
    floor = found().floor
    small = found(("a", NITROGEN, Scaled(1.0 + 0.5 * floor)))
    assert small.pair is None and small.fraction == pytest.approx(hypot(floor, 0.5 * floor))


def test_a_set_without_an_answer_is_told_and_leaves_the_rest(found):
    lost = found(("lost", NITROGEN, Failing(ConvergenceError("flash"))), ("c", BUTANE, Scaled(1.12)))
    assert lost.fraction == pytest.approx(hypot(lost.floor, 0.12))
    (warning,) = lost.warnings
    assert "the pair parameters lost gave no answer" in warning


@pytest.mark.parametrize("nothing", [Scaled(-0.2), Failing(UnreachableError("nothing"))])
def test_a_set_by_which_nothing_is_cooled_is_a_warning(found, nothing):
    none = found(("cold", NITROGEN, nothing))
    assert none.members[0].difference == -1.0 and none.fraction > 1.0
    (warning,) = none.warnings
    assert warning == "with the plausible pair parameters cold there is no cooling at all: do not build on it"


def test_nothing_cooled_or_an_interruption_gives_no_band(monkeypatch):
    blend = IdealBlend(GASES)
    assert band.band_of(Fluid(blend, COMPOSITION), lambda model: -1.0, 0.01, 120.0) is None

    def interrupted(model):
        raise KeyboardInterrupt

    assert band.band_of(Fluid(blend, COMPOSITION), interrupted, 0.01, 120.0) is None
    assert record_of(BAND_FIGURES, None) == dict.fromkeys(("cooling_band_fraction", "cooling_band_pair", "cooling_band_basis"))


@pytest.mark.parametrize("pair", [("methane", "n-butane"), ("ethane", "isobutane"), ("nitrogen", "methane")])
def test_tabulated_sound_limits_are_the_models(pair):
    expected = splitting_limit(*pair) if "nitrogen" not in pair else 0.0
    assert sound_from_pair(*pair) == expected
