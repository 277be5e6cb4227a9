"""Linear programmes of the search against scipy's, side by side and alone; those without an answer."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import linprog

from mixjt.studies.search.programme import Programme, solve_side_by_side


def made_up(seed, bottles=3, levels=4):
    """A bounded one: steps of fractions that add up to nothing, a cooling that the levels hold, one condition that may be missed."""
    rng = np.random.default_rng(seed)
    below = np.column_stack([rng.normal(size=(levels, bottles)), np.ones(levels), np.zeros(levels)])
    held = np.concatenate([rng.normal(size=bottles + 1), [-1.0]])
    return Programme(
        objective=np.concatenate([rng.normal(size=bottles), [1.0, -10.0]]),
        rows=np.vstack([below, held]),
        limits=rng.uniform(0.1, 1.0, levels + 1),
        balance=np.concatenate([np.ones(bottles), np.zeros(2)]),
        low=np.concatenate([np.full(bottles, -0.1), [-np.inf, 0.0]]),
        high=np.concatenate([np.full(bottles, 0.1), [np.inf, np.inf]]),
        stay=np.zeros(bottles + 2),
        levels=levels,
        scale=100.0,
    )


def by_scipy(one):
    bounds = np.column_stack([one.low, one.high])
    found = linprog(-one.objective, one.rows, one.limits, one.balance[None], [0.0], bounds)
    return by_scipy(one.held()) if one.loose(found.x) else -found.fun


def test_many_side_by_side_are_as_good_as_each_alone(capfd):
    programmes = [made_up(seed, bottles=2 + seed % 4) for seed in range(40)]
    for one, answer in zip(programmes, solve_side_by_side(programmes), strict=True):
        assert one.objective @ answer == pytest.approx(by_scipy(one), rel=1e-9)
        assert np.all(one.rows @ answer <= one.limits + 1e-7) and abs(one.balance @ answer) < 1e-9
    assert capfd.readouterr() == ("", "")


def test_one_without_an_answer_spoils_no_other():
    sound = made_up(1)
    crossed = replace(sound, limits=np.append(sound.limits, [-1.0, -1.0]), rows=np.vstack([sound.rows, np.eye(5)[:1], -np.eye(5)[:1]]))
    endless = replace(sound, rows=sound.rows[:0], limits=sound.limits[:0], levels=0)
    unknown = replace(sound, objective=np.full(5, np.nan))
    none, found, *others = solve_side_by_side([crossed, sound, endless, unknown])
    assert none is None and others == [None, None]
    assert sound.objective @ found == pytest.approx(by_scipy(sound), rel=1e-9)
