"""Last steps of a search on made-up landscapes, whose best places are known in closed form."""

from types import SimpleNamespace

import numpy as np
import pytest

from mixjt.studies.search import finish
from mixjt.studies.search.climb import Climb
from mixjt.studies.search.finish import BESIDE, HALVINGS, Finished
from mixjt.studies.search.landscape import Place

PRESSURES = np.log([2e5, 15e5])


def place(*amounts):
    return Place(np.array(amounts), PRESSURES)


# --- halving the way back


@pytest.fixture
def between(monkeypatch):
    """From a share of 0.4 of the second bottle to one of 0.6, with made-up values and margins of a share; what was solved."""

    def run(value, margin):
        shares = []

        result = SimpleNamespace(pinch=SimpleNamespace(smallest_approach=3.0))

        def solved(landscape, at, approach):
            share = at.amounts[1]
            shares.append(share)
            return Finished(at, (result,), result, value(share), {}), np.array([1.0, margin(share)])

        monkeypatch.setattr(finish, "_solved", solved)
        ends = [Finished(place(1.0 - share, share), (result,), result, value(share), {}) for share in (0.4, 0.6)]
        return finish._between(None, *ends), shares

    return run


@pytest.mark.parametrize("limit", [0.42, 0.53, 0.589])
def test_the_best_on_the_way_comes_as_near_to_the_limit_as_halvings_allow(between, limit):
    found, shares = between(lambda share: 10.0 * share, lambda share: limit - share)
    share = found.place.amounts[1]
    assert limit - 0.2 / 2**HALVINGS < share <= limit
    assert found.value == pytest.approx(10.0 * share)
    assert found.place.log_pressures == pytest.approx(PRESSURES) and len(shares) == HALVINGS


def test_a_limit_next_to_the_blend_that_keeps_it_leaves_that_blend(between):
    found, _ = between(lambda share: 10.0 * share, lambda share: 0.401 - share)
    assert found.place.amounts[1] == 0.4


def test_no_circuit_is_solved_for_what_is_hardly_better(between):
    found, shares = between(lambda share: 10.0 + 0.05 * share, lambda share: 0.53 - share)
    assert found.place.amounts[1] == 0.4 and shares == []


def test_a_worse_blend_half_way_ends_it(between):
    found, shares = between(lambda share: abs(share - 0.48), lambda share: 0.59 - share)
    assert found.place.amounts[1] == 0.4 and shares == pytest.approx([0.5])


# --- neighbours


def beside(monkeypatch, start, merit, lowest=0.0, highest=1.0):
    """Where a climb stands that is stuck at start, and which pressures its neighbours were seen at; it climbs no further."""
    seen = []

    def view(grid, amounts, log_pressures):
        seen.append((amounts, log_pressures))
        return SimpleNamespace(merit=np.array([merit(row) for row in amounts]))

    monkeypatch.setattr(finish, "advance", lambda *given: None)
    count = len(start.amounts)
    request = SimpleNamespace(lowest=np.full(count, lowest), highest=np.full(count, highest))
    stuck = Climb(start, grid=None)
    found = finish._beside(SimpleNamespace(request=request, view=view), stuck)
    return found, stuck, seen


@pytest.mark.parametrize("step", BESIDE)
def test_a_stuck_climb_goes_on_from_the_best_of_its_neighbours(monkeypatch, step):
    start, target = place(0.5, 0.3, 0.2, 0.0), np.array([0.5 + step, 0.3, 0.2 - step, 0.0])
    found, _, seen = beside(monkeypatch, start, lambda row: -np.abs(row - target).sum())
    assert found.place.amounts == pytest.approx(target, abs=1e-12)
    assert found.place.log_pressures == pytest.approx(PRESSURES)
    ((amounts, pressures),) = seen
    assert amounts.sum(axis=1) == pytest.approx(1.0) and np.all(amounts[:, 3] == 0.0)  # a bottle that is not there stays out
    assert pressures == pytest.approx(np.tile(PRESSURES, (len(amounts), 1)))
    assert start.amounts == pytest.approx([0.5, 0.3, 0.2, 0.0], abs=0.0)


@pytest.mark.parametrize("bounds", [{"highest": 0.505}, {"lowest": 0.195}])
def test_neighbours_keep_what_a_blend_may_hold(monkeypatch, bounds):
    found, _, _ = beside(monkeypatch, place(0.5, 0.3, 0.2), lambda row: row[0] - row[2], **bounds)
    assert found.place.amounts == pytest.approx([0.504, 0.3, 0.196])


def test_a_climb_without_neighbours_stays(monkeypatch):
    found, stuck, seen = beside(monkeypatch, place(1.0), lambda row: 0.0)
    assert found is stuck and seen == []
