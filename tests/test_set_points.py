"""What cut-outs and relief valves are set between, on readings made up for it."""

from dataclasses import replace

import pytest

from mixjt.parts.compressor.compression import Compressor
from mixjt.studies.readings import DESIGNED, FIRST_MINUTES, HOTTEST, WAY, Reading
from mixjt.studies.set_points import set_points

COMPRESSOR = Compressor(
    "rotary",
    6e-6,
    48.0,
    supply_voltage=230.0,
    largest_discharge_temperature=380.0,
    largest_supply_current=2.0,
)
AIR = 0.9e5
READINGS = (
    Reading(HOTTEST, 9e5, 9e5),
    Reading(FIRST_MINUTES, 4e5, 20e5, None, None, 370.0, 2.1),
    Reading(WAY, 2e5, 17e5, 600.0, 200.0, 375.0, 1.8),
    Reading(DESIGNED, 3e5, 15e5, None, 120.0, 360.0, 1.5),
)


def points(readings=READINGS, rating=16e5, compressor=COMPRESSOR):
    return {one.device: one for one in set_points(compressor, readings, rating, AIR)}


def test_relief_valves_stand_above_all_that_their_side_sees_at_rest_and_running():
    low, high = (points()[f"relief valve, {side} side"] for side in ("low", "high"))
    assert (low.least, low.least_from, low.most) == (9e5, HOTTEST, 16e5)
    assert (high.least, high.least_from) == (20e5, FIRST_MINUTES)
    assert (
        high.most is None and "read off" in high.most_from
    )  # the case has one rating, of the weakest part of all
    resting = points((Reading(HOTTEST, 25e5, 25e5), *READINGS[1:]))
    assert resting["relief valve, high side"].least == 25e5


def test_cut_outs_act_outside_of_what_runs_and_not_by_what_rests():
    found = points((Reading(HOTTEST, 25e5, 25e5), *READINGS[1:]))
    assert found["high-pressure cut-out"].least == 20e5
    assert (found["low-pressure cut-out"].least, found["low-pressure cut-out"].most) == (AIR, 2e5)
    assert (found["discharge thermostat"].least, found["discharge thermostat"].most) == (375.0, 380.0)
    assert found["overload protector"].least == 2.1
    assert found["overload protector"].most == pytest.approx(1.3 * 2.0)  # common practice, no source


def test_a_device_that_no_setting_suits_is_told_and_others_are_not():
    assert not any(one.conflict for one in points().values())
    hot = points((*READINGS, Reading(WAY, 0.8e5, 17e5, 700.0, 150.0, 390.0, 1.8)))
    assert "no setting of the discharge thermostat does: 390 K" in hot["discharge thermostat"].conflict
    assert (
        "0.8 bar" in hot["low-pressure cut-out"].conflict
        and "0.9 bar" in hot["low-pressure cut-out"].conflict
    )
    assert "16 bar" not in hot["relief valve, low side"].conflict


def test_what_the_case_does_not_tell_is_none_and_says_what_tells_it():
    dumb = replace(COMPRESSOR, supply_voltage=None, largest_supply_current=None)
    found = points((replace(READINGS[-1], current=None),), rating=None, compressor=dumb)
    low, motor, cut_out = (
        found[name] for name in ("relief valve, low side", "overload protector", "high-pressure cut-out")
    )
    assert low.most is None and "does not state" in low.most_from
    assert (
        (motor.least, motor.most) == (None, None)
        and "voltage" in motor.least_from
        and "rated_current" in motor.most_from
    )
    assert "not followed" in cut_out.least_from
