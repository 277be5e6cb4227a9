"""Causes held against invented runs with injected faults (`trial_faults.py` tells how they are made), and their score against scipy."""

import math

import numpy as np
import pytest
from scipy.stats import multivariate_normal
from trial_faults import FAULTS, first_run, kept_runs, noisy_fit

from mixjt.studies.trial.causes import STRONG, amount, causes
from mixjt.studies.trial.fit import over_noise

SEEDS = range(10)
KEPT = kept_runs()
FAULTY = [fault for fault in FAULTS if fault != "none"]


@pytest.mark.parametrize("fault", FAULTY)
def test_an_injected_fault_is_among_the_first_two(fault):
    ranked = [[one.name for one in causes(noisy_fit(KEPT[fault], seed))[:2]] for seed in SEEDS]
    named = sum(any(name in FAULTS[fault][3] for name in first) for first in ranked)
    assert named >= 8, ranked


# Of isobutane 40 % lack, and this machine hardly needs it; an offset of 9 K or 15 % is three to five times what a sensor and a model
# may be off, and strong in six of ten seeds only: these are ranked first, and not always named.
FAINT = "lack of isobutane", "thermocouple", "gauge"


@pytest.mark.parametrize("fault", [fault for fault in FAULTY if fault not in FAINT])
def test_an_injected_fault_is_strong(fault):
    strong = [causes(noisy_fit(KEPT[fault], seed))[0].score >= STRONG for seed in SEEDS]
    assert sum(strong) >= 8


def test_a_clean_run_is_not_accused():
    accused = [one.name for seed in SEEDS for one in causes(noisy_fit(KEPT["none"], seed))[:1] if one.score >= STRONG]
    assert len(accused) <= 1, accused


def test_hidden_departures_are_within_two_standard_errors_in_nine_of_ten_seeds():
    """Those of `first_run.HIDDEN`, known to no fit, and the thermocouple's offset where a run has one."""
    fits = [noisy_fit(KEPT["none"], seed) for seed in SEEDS]
    for number, one in enumerate(fits[0].problem.known):
        if one.place is None and one.name in first_run.HIDDEN:
            off = [abs(each.unknowns[number] - first_run.HIDDEN[one.name]) / each.errors[number] for each in fits]
            assert sum(x <= 2.0 for x in off) >= 9, (one.name, off)


def test_departures_that_are_told_are_known_better_than_before():
    found = noisy_fit(KEPT["none"], 0)
    assert np.all(found.errors <= found.problem.spreads * (1.0 + 1e-9))
    assert 3 <= np.count_nonzero(found.told) < found.told.size


@pytest.mark.parametrize("fault", ["none", "gauge"])
def test_the_score_of_a_sensor_is_the_ratio_of_two_normal_densities(fault):
    """scipy's densities of the residuals, with the signature's direction in the covariance and without."""
    found = noisy_fit(KEPT[fault], 3)
    problem, count = found.problem, len(found.problem.known)
    blocks = [over_noise(*each) for each in zip(problem.seen, found.runs, found.jacobians, strict=True)]
    stacked = np.vstack(blocks)
    off = np.concatenate([list(found.residuals(i).values()) for i in range(len(blocks))]) + stacked @ found.unknowns[:count]
    covariance = (stacked * problem.spreads[:count] ** 2) @ stacked.T + np.eye(len(off))
    sensors = [one for one in causes(found) if not one.kind.signed]
    for cause in sensors:
        signature = stacked @ cause.fault.direction
        without, with_it = (
            multivariate_normal.logpdf(off, cov=covariance + extra * np.outer(signature, signature)) for extra in (0.0, 1.0)
        )
        assert cause.score == pytest.approx(with_it - without - math.log(len(sensors)), rel=1e-6, abs=1e-6)


def test_evidence_is_said_in_words_of_the_gauge():
    assert amount("evaporator", 2.04) == "2.0 K above"
    assert amount("suction", math.log(0.9)) == "10.0 % below"


def test_a_gauge_that_shows_too_little_has_its_own_reading_as_evidence():
    cause = causes(noisy_fit(KEPT["gauge"], 1))[0]
    assert cause.name == "sensor wrong: discharge"
    assert cause.evidence_for[0].startswith("discharge") and "below" in cause.evidence_for[0]
    assert not cause.evidence_against
