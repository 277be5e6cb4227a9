"""How far two models are apart: on models whose distance is known."""

from dataclasses import replace
from pathlib import Path

import pytest
from toy_model import IdealBlend

from mixjt.cycles.throttle import solve_throttle_circuit
from mixjt.errors import ConvergenceError, MissingDataError, UnreachableError
from mixjt.files.case import read_case
from mixjt.studies.agreement import agreements

CASE = read_case(Path(__file__).parent.parent / "mixtures-demo" / "receiver-120K.toml")
GASES = ("nitrogen", "methane", "ethane", "propane", "isobutane")
COMPOSITION = [0.3, 0.18, 0.25, 0.12, 0.15]


class Scaled(IdealBlend):
    """All enthalpies times a factor, and so all cooling."""

    def __init__(self, factor):
        super().__init__(GASES)
        self.name, self.factor = "scaled", factor

    def sweep(self, z, pressures, temperatures):
        states = super().sweep(z, pressures, temperatures)
        return replace(states, enthalpy=self.factor * states.enthalpy)


class Failing(IdealBlend):
    """Raises an error instead of giving states."""

    def __init__(self, error):
        super().__init__(GASES)
        self.error = error

    def sweep(self, z, pressures, temperatures):
        raise self.error


@pytest.fixture(scope="module")
def result():
    return solve_throttle_circuit(IdealBlend(GASES), COMPOSITION, CASE.circuit)


def agreement_with(other, result):
    (found,) = agreements(IdealBlend(GASES), other, [result], [CASE.circuit])
    return found


@pytest.mark.parametrize("factor, direction", [(1.05, "5 % more"), (0.95, "5 % less")])
def test_a_small_difference_is_told_without_a_warning(result, factor, direction):
    found = agreement_with(Scaled(factor), result)
    assert found.difference == pytest.approx(factor - 1.0)
    assert found.sentence == f"the scaled model finds {direction} cooling"
    assert found.warnings == ()


def test_a_difference_beyond_the_band_is_a_warning(result):
    found = agreement_with(Scaled(1.6), result)
    assert found.difference == pytest.approx(0.6)
    assert len(found.warnings) == 1 and "more than models usually lie apart" in found.warnings[0]
    assert found.band_sentence.startswith("two property models disagree by 60 % here")


def test_a_model_by_which_nothing_is_cooled_gives_no_band(result):
    found = agreement_with(Failing(UnreachableError("nothing cools")), result)
    assert found.difference is None and found.band_sentence == ""
    assert "does not work at all (nothing cools): do not build on it" in found.warnings[0]


@pytest.mark.parametrize(
    "error, reason",
    [(ConvergenceError("flash"), "it has no answer"), (MissingDataError("no pair"), "no pair")],
)
def test_a_model_without_an_answer_is_told(result, error, reason):
    found = agreement_with(Failing(error), result)
    assert found.difference is None
    assert f"could not check this: {reason}" in found.warnings[0]


def test_an_interrupted_check_loses_no_result(monkeypatch):
    from types import SimpleNamespace

    from mixjt.studies import agreement

    def interrupted(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr(agreement, "_agreement", interrupted)
    other = SimpleNamespace(name="reference")
    found = agreement.agreements(None, other, [None, None], [None, None])
    assert [each.difference for each in found] == [None, None]
