"""What a throttle circuit warns of, and what it refuses."""

import dataclasses
import math

import numpy as np
import pytest
from circuit_samples import FILLED_IN as COMPRESSOR
from circuit_samples import compact as circuit
from toy_model import IdealBlend, PureFluid

from mixjt.circuit.checks import circuit_warnings
from mixjt.circuit.solve import grid_cooling, solve_circuit
from mixjt.errors import ConvergenceError, InputError, UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.models import load_model
from mixjt.parts import places

GASES = ("nitrogen", "methane", "ethane", "propane", "isobutane")
BLEND = np.array([0.29, 0.01, 0.07, 0.56, 0.07])


@pytest.fixture(scope="module")
def blend():
    return IdealBlend(GASES)


@pytest.fixture(scope="module")
def solved(blend):
    return solve_circuit(Fluid(blend, BLEND), circuit(), 32)


@pytest.fixture(scope="module")
def propane():
    return PureFluid("propane", "Propane")


# warnings


def test_a_good_circuit_warns_of_nothing():
    ethane = PureFluid("ethane", "Ethane")
    case = circuit(suction_pressure=3e5, discharge_pressure=8e5, cold_temperature=230.0)
    assert solve_circuit(Fluid(ethane, [1.0]), case, 16).warnings == ()


def has(warnings, text) -> bool:
    return any(text in warning for warning in warnings)


def test_compressor_warnings_say_the_numbers(propane):
    case = circuit(suction_pressure=0.8e5, discharge_pressure=12e5, cold_temperature=250.0)
    case = dataclasses.replace(case, compressor=dataclasses.replace(case.compressor, largest_discharge_temperature=345.0))
    result = solve_circuit(Fluid(propane, [1.0]), case)
    assert has(result.warnings, "0.8 bar absolute, is below atmospheric pressure")
    assert has(result.warnings, "pressure ratio of 15 is beyond the 9 ")
    assert has(result.warnings, f"discharge is too hot: {result.discharge_temperature:.1f} K")


def test_wet_suction_and_small_superheat(blend):
    wet = solve_circuit(Fluid(blend, [0.1, 0.2, 0.2, 0.1, 0.4]), circuit(cold_temperature=120.0), 16)
    assert wet.suction_superheat < 0.0
    assert has(wet.warnings, "liquid reaches the compressor")
    damp = solve_circuit(Fluid(blend, [0.2, 0.2, 0.15, 0.15, 0.3]), circuit(cold_temperature=120.0), 16)
    dry = solve_circuit(Fluid(blend, [0.2, 0.2, 0.2, 0.2, 0.2]), circuit(cold_temperature=120.0), 16)
    assert dry.suction_superheat > 5.0
    assert not has(dry.warnings, "dew point") and not has(dry.warnings, "liquid reaches")
    assert damp.suction_superheat is not None


def test_small_superheat_is_told_apart_from_liquid(solved):
    warnings = circuit_warnings(solved.points, solved, COMPRESSOR, 2.5, ())
    assert has(warnings, "only 2.5 K above its dew point")
    assert not has(warnings, "liquid reaches")


def test_what_freezes_is_handed_in(solved):
    warnings = circuit_warnings(solved.points, solved, COMPRESSOR, 20.0, ("ice at the throttle",))
    assert "ice at the throttle" in warnings


def test_two_liquids_at_the_cold_end(solved):
    points = dict(solved.points)
    state = points[places.THROTTLE_OUTLET]
    liquid = state.liquids[0]
    points[places.THROTTLE_OUTLET] = dataclasses.replace(state, phases=(*state.phases, liquid))
    warnings = circuit_warnings(points, solved, COMPRESSOR, 20.0, ())
    assert has(warnings, f"two liquids at: throttle outlet ({state.temperature:.1f} K)")
    assert not has(solved.warnings, "two liquids")


# bad input


@pytest.mark.parametrize(
    "changes, text",
    [
        ({"discharge_pressure": 1.5e5}, "must be above the suction pressure"),
        ({"discharge_pressure": 1e5}, "must be above the suction pressure"),
        ({"cold_temperature": math.nan}, "cold temperature must be a number above 0, got nan"),
        ({"suction_pressure": -1.0}, "suction pressure must be a number above 0"),
        ({"recuperator_approach": -1.0}, "recuperator approach must be a number at least 0"),
        ({"recuperator_approach": 190.0}, "leaves no recuperator"),
        ({"cold_temperature": 295.0}, "must be below the ambient"),
        ({"high_side_drop": 17e5}, "leave nothing to the throttle"),
        ({"low_side_drop": math.inf}, "low side drop must be a number"),
        ({"ambient_temperature": "295"}, "ambient temperature must be a number"),
    ],
)
def test_impossible_circuits_are_refused(changes, text):
    with pytest.raises(InputError, match=text):
        circuit(**changes)


@pytest.mark.parametrize("z", [[0.5, 0.5], [0.3, 0.3, 0.3, 0.3, 0.3], [1.2, -0.2, 0, 0, 0], [math.nan] * 5])
def test_what_is_not_a_blend_is_refused(blend, z):
    with pytest.raises(InputError, match="mole fractions"):
        solve_circuit(Fluid(blend, z), circuit())


def test_too_coarse_a_grid_is_refused(blend):
    with pytest.raises(InputError, match="at least 8 grid points"):
        solve_circuit(Fluid(blend, BLEND), circuit(), 4)


# answers the model cannot give


class StumblingModel(IdealBlend):
    """Gives up on blends rich in methane, and on bubble points."""

    def state_tp(self, z, temperature, pressure):
        if z[1] > 0.5:
            raise ConvergenceError("flash")
        return super().state_tp(z, temperature, pressure)

    def bubble_temperature(self, z, pressure):
        raise ConvergenceError("bubble point")


def test_a_blend_the_model_gives_up_on_is_no_number():
    fluid = Fluid(StumblingModel(GASES), [0.1, 0.6, 0.1, 0.1, 0.1])
    for solve in (grid_cooling, solve_circuit):
        with pytest.raises(ConvergenceError):
            solve(fluid, circuit(), 16)


def test_a_bubble_point_that_is_not_found_is_left_empty_and_said():
    result = solve_circuit(Fluid(StumblingModel(GASES), BLEND), circuit(), 16)
    assert result.bubble_point_low is None and result.bubble_point_high is None
    assert result.dew_point_low is not None
    assert has(result.warnings, "the bubble point at 18 bar could not be found")


def test_a_discharge_beyond_the_model_says_so():
    model = load_model("multi-fluid", ("nitrogen", "argon"))
    case = circuit(
        suction_pressure=1e5, discharge_pressure=150e5, cold_temperature=150.0, recuperator_approach=0.0
    )
    weak = dataclasses.replace(COMPRESSOR, clearance=0.0)
    with pytest.raises(UnreachableError, match="discharge is far too hot for the property model"):
        solve_circuit(Fluid(model, [0.3, 0.7]), dataclasses.replace(case, compressor=weak))
