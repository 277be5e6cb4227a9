"""Straight lines against scipy.stats.linregress, and stretches in made-up runs whose truth is known."""

from itertools import pairwise

import numpy as np
import pytest
from scipy.stats import linregress

from mixjt.studies.trial.log import BY_NAME, TrialLog
from mixjt.studies.trial.straight import Line
from mixjt.studies.trial.stretches import SteadyLimits, running_lines, stretches

HOUR = 3600.0


def log_of(times, **readings):
    """Readings by place, blanks of its name as underscores; a run without a power reading has 300 W throughout."""
    times = np.asarray(times, float)
    named = {
        name.replace("_", " "): np.broadcast_to(np.asarray(values, float), times.shape)
        for name, values in readings.items()
    }
    assert set(named) <= set(BY_NAME)
    return TrialLog(times, {"power": np.full(times.size, 300.0)} | named, (), (), "0")


def noise(seed, count, size):
    return np.random.default_rng(seed).normal(0.0, size, count)


def kinds(found):
    return [one.kind for one in found]


# --- the line ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(5))
def test_line_against_scipy(seed):
    times = np.sort(np.random.default_rng(seed).uniform(0.0, 600.0, 40))
    values = 90.0 + 2e-3 * times + noise(seed, 40, 0.2)
    line, known = Line(times, values), linregress(times, values)
    assert line.slope == pytest.approx(known.slope, rel=1e-9)
    residuals = values - known.intercept - known.slope * times
    assert line.scatter == pytest.approx(np.sqrt(np.sum(residuals**2) / 38), rel=1e-9)
    r = max(np.sum(residuals[1:] * residuals[:-1]) / np.sum(residuals**2), 0.0)
    assert line.slope_error == pytest.approx(known.stderr * np.sqrt((1 + r) / (1 - r)), rel=1e-9)


def _coverage(make, step=0.0, runs=400):
    """How often the true slope, 1e-3 per s, is within the interval of the line."""
    times = np.arange(0.0, 600.0, 10.0)
    inside = 0
    for seed in range(runs):
        line = Line(times, make(seed, 1e-3 * times), step)
        inside += abs(line.slope - 1e-3) <= line.largest_slope - abs(line.slope)
    return inside / runs


def test_the_interval_holds_the_true_slope_where_noise_is_white():
    assert 0.93 <= _coverage(lambda seed, rise: rise + noise(seed, rise.size, 0.3)) <= 0.98  # 95 % two-sided


def test_the_interval_widens_where_noise_has_a_memory():
    def wandering(seed, rise):
        values, last = noise(seed, rise.size, 0.2), 0.0
        for k in range(rise.size):
            last = values[k] = 0.6 * last + values[k]
        return rise + values

    def independent(seed, rise):
        return linregress(np.arange(rise.size) * 10.0, wandering(seed, rise))

    plain = np.mean(
        [
            abs(one.slope - 1e-3) < 2.0 * one.stderr
            for one in (independent(k, 1e-3 * np.arange(0.0, 600.0, 10.0)) for k in range(400))
        ]
    )
    assert plain < 0.75 and _coverage(wandering) > 0.85


def test_a_coarse_display_hides_a_creep_and_says_so():
    times = np.arange(0.0, 300.0, 10.0)
    creeping = np.round(100.1 + 4.0 / HOUR * times)  # a third of a step
    assert np.ptp(creeping) == 0.0
    assert Line(times, creeping, 1.0).largest_slope > 4.0 / HOUR > Line(times, creeping).largest_slope


def test_bends_and_steps():
    times = np.arange(0.0, 300.0, 10.0)
    bent = 100.0 + 3.0 * np.exp(-times / 100.0)
    assert Line(times, bent + noise(0, 30, 0.1)).bends(0.1)
    assert not Line(times, 100.0 - 1e-2 * times + noise(0, 30, 0.1)).bends(0.1)
    assert not Line(times, bent).bends(5.0)
    flat = Line(times, 100.0 + noise(1, 30, 0.1))
    after = times[:6] + 300.0
    assert flat.leaves(after, np.full(6, 101.0), 0.25)
    assert not flat.leaves(
        after, np.array([100.0, 100.1, 99.9, 130.0, 100.0, 100.1]), 0.25
    )  # one wild reading
    assert not flat.leaves(after, np.full(6, 100.1), 0.25)


# --- steady -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(6))
def test_noise_alone_is_steady(seed):
    times = np.arange(0.0, 1800.0, 10.0)
    found = stretches(
        log_of(times, evaporator=90.0 + noise(seed, 180, 0.3), suction=2e5 + noise(seed + 50, 180, 500.0)),
        SteadyLimits(),
    )
    steady = [one for one in found if one.kind == "steady"]
    assert sum(one.end - one.start for one in steady) > 900.0
    assert all(one.mean["evaporator"] == pytest.approx(90.0, abs=0.3) for one in steady)


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize(
    "place, start, creep", [("evaporator", 90.0, 5.0), ("shell", 330.0, -5.0), ("suction", 2e5, 2e4)]
)
def test_a_creep_is_none(seed, place, start, creep):
    # above the limits of 3 K and 5 % in an hour, hidden in noise of a few minutes' creep
    times = np.arange(0.0, 1800.0, 10.0)
    values = start + creep / HOUR * times + noise(seed, 180, 0.06 * abs(creep))
    other = {"evaporator": 90.0} if place != "evaporator" else {}
    assert "steady" not in kinds(stretches(log_of(times, **{place: values}, **other), SteadyLimits()))


def test_a_creep_within_other_limits_is_steady():
    times = np.arange(0.0, 1800.0, 10.0)
    log = log_of(times, evaporator=90.0 + 5.0 / HOUR * times + noise(0, 180, 0.1))
    (one,) = stretches(log, SteadyLimits(largest_temperature_drift=8.0))
    assert one.kind == "steady" and one.slope["evaporator"] * HOUR == pytest.approx(5.0, abs=0.3)


def test_a_wave_of_a_controller_is_not_taken_for_a_creep_nor_for_rest():
    times = np.arange(0.0, 3600.0, 10.0)
    fast = log_of(times, evaporator=90.0 + 0.3 * np.sin(times / 8.0))
    slow = log_of(times, evaporator=90.0 + 3.0 * np.sin(times / 200.0))  # up to 54 K/h
    assert "steady" in kinds(stretches(fast, SteadyLimits()))
    assert "steady" not in kinds(stretches(slow, SteadyLimits()))


def test_a_step_splits_a_steady_run():
    times = np.arange(0.0, 3600.0, 10.0)
    step = np.where(times < 1700.0, 0.0, 3.0)
    found = stretches(
        log_of(times, evaporator=90.0 + step + noise(3, 360, 0.1), heater=1.0 + step), SteadyLimits()
    )
    assert kinds(found) == ["steady", "steady"]
    assert found[0].end < 1700.0 <= found[1].start
    assert [one.mean["evaporator"] for one in found] == pytest.approx([90.0, 93.0], abs=0.05)
    assert [one.mean["heater"] for one in found] == pytest.approx([1.0, 4.0])


def test_no_stretch_is_longer_than_an_hour_or_spans_a_gap():
    times = np.r_[np.arange(0.0, 4 * HOUR, 20.0), 6 * HOUR + np.arange(0.0, HOUR / 2, 20.0)]
    found = stretches(log_of(times, evaporator=90.0 + noise(0, times.size, 0.1)), SteadyLimits())
    assert kinds(found) == ["steady"] * len(found) and len(found) >= 5
    assert max(one.end - one.start for one in found) <= HOUR + 120.0
    assert not any(one.start < 4 * HOUR < one.end for one in found)
    assert all(a.end < b.start for a, b in pairwise(found))


def test_readings_written_by_hand_every_minute():
    times = np.arange(0.0, 1800.0, 60.0)
    found = stretches(
        log_of(
            times,
            evaporator=np.round(90.0 + noise(4, 30, 0.2), 1),
            suction=np.round(2.0 + noise(5, 30, 0.002), 2) * 1e5,
        ),
        SteadyLimits(),
    )
    assert "steady" in kinds(found)


def test_a_place_read_now_and_then_is_not_judged_but_told():
    times = np.arange(0.0, 600.0, 10.0)
    seldom = np.where(np.arange(60) % 20 == 0, 40.0 + times / 10.0, np.nan) + 273.15
    found = stretches(log_of(times, evaporator=90.0 + noise(0, 60, 0.1), shell=seldom), SteadyLimits())
    assert kinds(found) == ["steady"] and found[0].count["shell"] == 3 and found[0].count["evaporator"] == 60


# --- at rest, cooling, warming ----------------------------------------------------------------------------------------


def run(times, start=900.0, tau=1200.0):
    """A machine at rest that starts and cools: 295 to 90 K, pressures apart once it runs."""
    on = times >= start
    cold = np.where(on, 90.0 + 205.0 * np.exp(-(times - start) / tau), 295.0)
    return {"evaporator": cold, "suction": np.where(on, 2e5, 9e5), "discharge": np.where(on, 16e5, 9e5)}, on


def test_a_run_from_rest_to_cold():
    times = np.arange(0.0, 3 * HOUR, 10.0)
    readings, on = run(times)
    readings["evaporator"] = readings["evaporator"] + noise(0, times.size, 0.1)
    found = stretches(log_of(times, **readings, power=np.where(on, 280.0, 1.0)), SteadyLimits())
    order = list(dict.fromkeys(kinds(found)))
    assert order == ["at rest", "cooling", "steady"]
    rest = found[0]
    assert rest.end < 900.0 and rest.mean["suction"] == pytest.approx(9e5)
    for one in found:
        if one.kind == "cooling":  # the slope of an exponential at the middle of a piece
            middle, length, count = (one.start + one.end) / 2.0, one.end - one.start, one.count["evaporator"]
            true = -205.0 / 1200.0 * np.exp(-(middle - 900.0) / 1200.0)
            chance = (
                4.0 * 0.1 / np.sqrt(count / 12.0) / length
            )  # four standard errors of evenly spread readings
            assert abs(one.slope["evaporator"] - true) < 0.02 * abs(true) + chance
            assert one.end - one.start <= 180.0
    assert sum(one.end - one.start for one in found if one.kind == "cooling") > 4000.0


def test_rest_is_told_by_current_or_by_pressures_too():
    times = np.arange(0.0, 3 * HOUR, 10.0)
    readings, on = run(times)
    nothing = np.full(times.size, np.nan)
    for more in ({"current": np.where(on, 1.8, 0.02)}, {}):
        log = log_of(times, **readings, power=nothing, **more)
        assert np.array_equal(running_lines(log), on)
        assert kinds(stretches(log, SteadyLimits()))[0] == "at rest"


def test_without_anything_that_tells_the_compressor_runs():
    times = np.arange(0.0, 1200.0, 10.0)
    log = TrialLog(times, {"evaporator": np.full(120, 90.0)}, (), (), "0")
    assert kinds(stretches(log, SteadyLimits())) == ["steady"]


def test_readings_of_one_column_every_few_lines_do_not_break_a_run_up():
    times = np.arange(0.0, 3 * HOUR, 10.0)
    readings, on = run(times)
    whole = stretches(log_of(times, **readings, power=np.where(on, 280.0, 1.0)), SteadyLimits())
    seldom = np.where(np.arange(times.size) % 3 == 0, 1.0, np.nan)
    for gaps in ("suction", "discharge", "power"):
        columns = readings | {"power": np.where(on, 280.0, 1.0)}
        found = stretches(log_of(times, **columns | {gaps: columns[gaps] * seldom}), SteadyLimits())
        for kind in ("at rest", "steady", "cooling"):
            lengths = [
                sum(one.end - one.start for one in some if one.kind == kind) for some in (whole, found)
            ]
            assert lengths[1] == pytest.approx(lengths[0], rel=0.1)


def test_a_leak_at_rest_is_still_rest_but_unequal_pressures_are_none():
    times = np.arange(0.0, 1800.0, 10.0)
    falling = 9e5 * (1.0 - 0.2 * times / HOUR)
    found = stretches(
        log_of(times, power=0.0, shell=295.0, suction=falling, discharge=falling), SteadyLimits()
    )
    assert kinds(found) == ["at rest"] and found[0].slope["suction"] * HOUR == pytest.approx(-1.8e5)
    assert stretches(log_of(times, power=0.0, shell=295.0, suction=2e5, discharge=9e5), SteadyLimits()) == ()
    warming = 250.0 + 20.0 * times / HOUR
    assert stretches(log_of(times, power=0.0, evaporator=warming), SteadyLimits()) == ()


def test_a_cold_end_that_warms_while_the_machine_runs():
    times = np.arange(0.0, 1200.0, 10.0)
    found = stretches(
        log_of(times, evaporator=90.0 + 30.0 * times / HOUR + noise(0, 120, 0.1)), SteadyLimits()
    )
    assert set(kinds(found)) == {"warming"}
    assert sum(one.end - one.start for one in found) > 1000.0


def test_cooling_faster_than_a_piece_is_cut_finer():
    times = np.arange(0.0, 400.0, 5.0)
    found = stretches(log_of(times, evaporator=90.0 + 200.0 * np.exp(-times / 100.0)), SteadyLimits())
    assert set(kinds(found)) == {"cooling"} and min(one.end - one.start for one in found) < 100.0


def test_readings_that_are_missing_throughout_are_left_out():
    times = np.arange(0.0, 600.0, 10.0)
    (one,) = stretches(log_of(times, evaporator=90.0, shell=np.nan), SteadyLimits())
    assert "shell" not in one.mean and set(one.mean) == set(one.slope) == set(one.scatter) == set(one.count)
