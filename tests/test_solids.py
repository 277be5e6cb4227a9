"""Solids against a measured eutectic, sublimation pressures and closed forms; freezing along circuits."""

import dataclasses
import json
import math
from importlib.resources import files

import numpy as np
import pytest
from circuit_samples import machine
from scipy.integrate import quad
from scipy.interpolate import CubicSpline
from scipy.optimize import brentq
from toy_model import IdealBlend

from mixjt.circuit import freezing
from mixjt.circuit.freezing import ColdLeg, path_freezing
from mixjt.circuit.machine import ThrottleCircuit
from mixjt.circuit.solve import solve_circuit
from mixjt.constants import GAS_CONSTANT
from mixjt.errors import ConvergenceError, UnknownGasError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.freezing_points import freezing_temperature
from mixjt.fluid.models import load_model
from mixjt.fluid.pair_sets import PairSet
from mixjt.fluid.saturation_index import _Spline, saturation_index
from mixjt.fluid.solids import log_fugacity_ratio, melting_temperature, solid
from mixjt.gases import gas, gas_names
from mixjt.parts.compressor.compression import Compressor
from mixjt.studies.search import freezing_limit
from mixjt.studies.search.freezing_limit import FreezingConstraint

SIX = ("nitrogen", "methane", "ethane", "propane", "isobutane", "n-butane")
BUTANE_RICH = np.array([0.29, 0.27, 0.13, 0.09, 0.0, 0.22])
SOUND = np.array([0.25, 0.25, 0.20, 0.20, 0.09, 0.01])
SAFE = np.array([0.28, 0.24, 0.20, 0.24, 0.04, 0.0])
BUTANE_BESIDE = np.array([0.25, 0.35, 0.10, 0.10, 0.20])  # of the first five gases

# Engle et al. (2021), arXiv:2103.15978: eutectic of methane + ethane from its liquidus, and the isotherm from
# the solidus.
EUTECTIC_TEMPERATURE, EUTECTIC_METHANE, EUTECTIC_ISOTHERM = 71.15, 0.644, 72.2


def circuit() -> ThrottleCircuit:
    compressor = Compressor("rotary", displacement=6.4e-6, speed=48.0)
    return machine(cold_temperature=95.0, high_side_drop=0.2e5, low_side_drop=0.1e5, compressor=compressor)


@pytest.fixture(scope="module")
def model():
    return load_model("multi-fluid", SIX)


@pytest.fixture(scope="module")
def frozen(model):
    return solve_circuit(Fluid(model, BUTANE_RICH), circuit(), 32)


# interpolation


@pytest.mark.parametrize("count", [4, 5, 25])
def test_the_spline_is_that_of_scipy(count):
    x = np.linspace(1.0 / 135.0, 1.0 / 60.0, count)
    y, between = np.array([np.cos(300.0 * x) - 900.0 * x, x**2]), np.linspace(1.0 / 150.0, 1.0 / 55.0, 101)
    assert _Spline(x, y)(between) == pytest.approx(CubicSpline(x, y, axis=1)(between), rel=1e-12)


# pure solids


@pytest.mark.parametrize("name", ["methane", "ethane", "n-butane", "n-pentane", "carbon dioxide"])
def test_the_ratio_is_the_integral_of_the_enthalpy_of_fusion(name):
    one = solid(name)

    def enthalpy(t):
        below = [step for step in one.steps if t < step.temperature]
        away = [(step, t - step.temperature) for step in below]
        return sum(s.enthalpy + s.heat_capacity * dt + 0.5 * s.heat_capacity_slope * dt**2 for s, dt in away)

    cold, melt = 0.75 * one.melting_temperature, one.melting_temperature
    kinks = [step.temperature for step in one.steps[1:]] or None
    integral = quad(lambda t: enthalpy(t) / (GAS_CONSTANT * t**2), cold, melt, points=kinks, epsabs=1e-12)[0]
    assert log_fugacity_ratio(one, cold, 0.0) == pytest.approx(-integral, rel=1e-8)
    assert log_fugacity_ratio(one, melt, 0.0) == pytest.approx(0.0, abs=1e-12)
    assert log_fugacity_ratio(one, melt + 1.0, 0.0) > 0.0


def co2_sublimation_pressure(t):
    """Span and Wagner, J. Phys. Chem. Ref. Data 25 (1996) 1509, equation 3.12, constants from memory."""
    theta = 1.0 - t / 216.592
    return 0.51795e6 * math.exp(
        216.592 / t * (-14.740846 * theta + 2.4327015 * theta**1.9 - 5.3061778 * theta**2.9)
    )


def test_the_remembered_sublimation_equation_gives_the_sublimation_point():
    # 194.686 K at 101325 Pa, CRC Handbook of Chemistry and Physics, from memory
    assert co2_sublimation_pressure(194.686) == pytest.approx(101325.0, rel=2e-4)


@pytest.mark.parametrize("t", [210.0, 195.0, 180.0, 165.0, 150.0])
def test_dry_ice_against_its_sublimation_pressure(t):
    """f_solid / f_liquid = P_sublimation / P_liquid but for the vapour's second virial coefficient."""
    from CoolProp import CoolProp

    dry_ice = co2_sublimation_pressure(t)
    liquid = CoolProp.saturation_ancillary("CarbonDioxide", "P", 0, "T", t)
    virial = CoolProp.PropsSI("Bvirial", "T", 216.6, "Dmolar", 1e-6, "CarbonDioxide") * (216.6 / t) ** 2
    measured = math.log(dry_ice / liquid) + virial * (dry_ice - liquid) / (GAS_CONSTANT * t)
    assert kelvins("carbon dioxide", t, measured) < 0.5


@pytest.mark.parametrize(
    "name, fluid, antoine, temperatures, within",
    [
        ("ethane", "Ethane", (26.79933, 2324.690, -3.15), (88.0, 85.0, 82.0), 0.3),
        ("nitrogen", "Nitrogen", (21.80622, 741.9436, -3.17), (62.0, 59.0, 56.0), 0.4),
        # 2 K is the band stated for methane: its enthalpy of fusion is small, 2 % of pressure is 1 K
        ("methane", "Methane", (21.459448, 1039.93953, -4.66), (85.0, 75.0, 60.0), 2.0),
    ],
)
def test_sublimation_pressures(name, fluid, antoine, temperatures, within):
    """ln(P/Pa) = a - b / (T + c) of Landolt-Boernstein IV/20, as chemicals 1.5.2 carries it.

    The pressure of the subcooled liquid is CoolProp's vapour pressure continued below the triple point.
    """
    from CoolProp import CoolProp

    a, b, c = antoine
    for t in temperatures:
        solid_pressure = math.exp(a - b / (t + c))
        liquid_pressure = CoolProp.saturation_ancillary(fluid, "P", 0, "T", t)
        assert kelvins(name, t, math.log(solid_pressure / liquid_pressure)) < within


def kelvins(name, t, measured) -> float:
    """Deviation of ln(f_solid / f_liquid), expressed as a shift of temperature."""
    one = solid(name)
    slope = (log_fugacity_ratio(one, t + 0.1, 0.0) - log_fugacity_ratio(one, t - 0.1, 0.0)) / 0.2
    return abs(float(log_fugacity_ratio(one, t, 0.0)) - measured) / slope


def test_ethane_turns_plastic_where_it_was_seen_to():
    # Engle et al. (2021): on warming, solid III to II at 89.85 +- 0.2 K and II to I at 89.65 +- 0.2 K
    melting, transition = solid("ethane").steps
    assert 89.65 - 0.2 <= transition.temperature <= 89.85 + 0.2
    # Both together: 2859 J/mol, Witt and Kemp, J. Am. Chem. Soc. 59 (1937) 273, as in ChemSep 8.32
    assert melting.enthalpy + transition.enthalpy == pytest.approx(2859.0, rel=0.005)


def test_every_gas_has_a_solid_with_sources():
    for name in gas_names():
        one = solid(name)
        assert one.melting_temperature == gas(name).triple_point_temperature
        assert {"enthalpy_of_fusion", "heat_capacity", "volume_of_fusion"} <= set(one.sources)
        assert ("transitions" in one.sources) == (len(one.steps) > 1)
    with pytest.raises(UnknownGasError):
        solid("water")


def test_the_data_file_is_what_the_libraries_say():
    from mixjt.fluid.data.build_solids import build

    stored = json.loads(files("mixjt.fluid.data").joinpath("solids.json").read_text(encoding="utf-8"))
    for row, again in zip(stored["gases"], build()["gases"], strict=True):
        assert (row["name"], row["enthalpy_of_fusion"]) == (again["name"], again["enthalpy_of_fusion"])
        enthalpies = [[step["enthalpy"] for step in one["transitions"]] for one in (row, again)]
        assert enthalpies[0] == enthalpies[1]
        for key in ("heat_capacity", "heat_capacity_slope", "volume_of_fusion"):
            # 1 %: other versions of the libraries may differ a little
            assert row[key] == pytest.approx(again[key], rel=0.01, abs=1e-8), (row["name"], key)


def test_pressure_raises_the_melting_point():
    # 0.0256 K/bar at the triple point: melting pressures of Setzmann and Wagner, J. Phys. Chem. Ref. Data 20 (1991) 1061, as in CoolProp
    assert melting_temperature(solid("methane"), 41e5) - 90.698 == pytest.approx(41 * 0.0256, rel=0.05)


# blends


def test_methane_ethane_eutectic(model_of):
    """Within what the program says of its freezing temperatures, and 0.06; the measurement is known to 0.5 K and 0.018.

    The short equations are extrapolated here, below both triple points, and come out 2.3 K too high.
    """
    model = model_of(("methane", "ethane"))

    def first(x):
        return freezing_temperature(Fluid(model, [x, 1.0 - x]), 1e5).freezing_temperature

    def which(x):
        index = saturation_index(model, [[x, 1.0 - x]], [first(x)], [1e5])[0]
        return index[0] - index[1]

    eutectic = brentq(which, 0.5, 0.85, xtol=1e-4)
    assert abs(first(eutectic) - EUTECTIC_TEMPERATURE) < freezing.SMALL_MARGIN
    assert abs(eutectic - EUTECTIC_METHANE) < 0.06
    assert abs(first(EUTECTIC_METHANE) - EUTECTIC_ISOTHERM) < freezing.SMALL_MARGIN
    assert freezing_temperature(Fluid(model, [0.8, 0.2]), 1e5).gas == "methane"
    assert freezing_temperature(Fluid(model, [0.5, 0.5]), 1e5).gas == "ethane"


@pytest.mark.parametrize("name", ["methane", "ethane", "propane", "isobutane", "n-butane"])
def test_a_pure_gas_freezes_at_its_melting_point(model, name):
    z = np.array([float(other == name) for other in SIX])
    found = freezing_temperature(Fluid(model, z), 2e4)
    assert found.gas == name
    assert found.freezing_temperature == pytest.approx(gas(name).triple_point_temperature, abs=0.01)
    nearly = 0.9999 * z + 0.0001 * np.array([0.0, 0.0, 0.0, 1.0, 0.0, 0.0])
    assert freezing_temperature(Fluid(model, nearly), 2e4).freezing_temperature == pytest.approx(
        gas(name).triple_point_temperature, abs=0.1
    )


def test_an_ideal_blend_freezes_at_its_ideal_solubility():
    blend = IdealBlend(("ethane", "propane", "isobutane"))
    z, pressure = np.array([0.2, 0.3, 0.5]), 10e5
    expected = brentq(lambda t: log_fugacity_ratio(solid("isobutane"), t, pressure) - np.log(0.5), 60.0, 113.0)
    found = freezing_temperature(Fluid(blend, z), pressure)
    assert found.gas == "isobutane"
    assert found.freezing_temperature == pytest.approx(expected, abs=2e-3)


def test_all_phases_have_the_same_fugacities(model):
    state = model.state_tp(SOUND, 95.0, 2e5)
    assert len(state.phases) > 1
    expected = [np.log(x.composition) + x.log_fugacity_coefficients + math.log(2e5) for x in state.phases]
    found = model.log_fugacities(SOUND[None], [95.0], [2e5])[0]
    for one in expected:
        assert one == pytest.approx(expected[0], abs=1e-7)
        assert found == pytest.approx(one, abs=1e-6)  # a sweep stops Newton's method at steps of 3e-4


def test_a_gas_that_is_left_out_changes_nothing(model):
    few = load_model("multi-fluid", SIX[1:4])
    z = np.array([0.4, 0.3, 0.3])
    small = freezing_temperature(Fluid(few, z), 2e5)
    large = freezing_temperature(Fluid(model, [0.0, *z, 0.0, 0.0]), 2e5)
    assert small.gas == large.gas
    assert small.freezing_temperature == pytest.approx(large.freezing_temperature, abs=2e-3)


def test_more_of_the_heavy_gas_leaves_less_margin(model):
    margins = []
    for butane in (0.03, 0.06, 0.1, 0.2):
        z = np.append((1.0 - butane) * np.array([0.27, 0.27, 0.23, 0.23, 0.0]), butane)
        margins.append(freezing_temperature(Fluid(model, z), 2e5, 95.0).margin)
    assert np.all(np.diff(margins) < 0.0)
    assert margins[0] > 3.0 and margins[-1] < 0.0


def test_the_margin_counts_along_the_isobar(model):
    found = freezing_temperature(Fluid(model, SOUND), 2e5, 95.0)
    assert found.margin == pytest.approx(95.0 - found.freezing_temperature)
    colder = freezing_temperature(Fluid(model, SOUND), 2e5, 92.0)
    assert colder.freezing_temperature == pytest.approx(found.freezing_temperature, abs=2e-3)
    index = saturation_index(model, SOUND[None], [found.freezing_temperature], [2e5])[0]
    assert abs(index.max()) < 1e-4
    assert SIX[int(np.argmax(index))] == found.gas


def test_a_solid_stable_over_a_narrow_stretch_is_seen(model):
    """Where a second liquid appears isobutane is solid over less than 1 K, and neither warmer nor several kelvin colder."""
    for z in (np.array([0.250, 0.221, 0.0, 0.336, 0.193, 0.0]), np.array([0.255, 0.215, 0.0, 0.336, 0.194, 0.0])):
        found = freezing_temperature(Fluid(model, z), 3.15e5, 94.0)
        free = np.arange(found.freezing_temperature + 0.05, 94.0, 0.1)
        assert all(saturation_index(model, z[None], [at], [3.15e5]).max() < 0.0 for at in free)
        assert saturation_index(model, z[None], [found.freezing_temperature - 0.1], [3.15e5]).max() > 0.0


def test_far_above_melting_a_batch_is_not_solved(model, monkeypatch):
    monkeypatch.setattr(type(model), "sweep", None)
    warm = FreezingConstraint(dataclasses.replace(circuit(), cold_temperature=190.0), 3.0)
    assert warm.margins(model, SOUND[None], np.full(1, 2e5), np.full(1, 16e5), np.ones(1)).min() > 50.0


# circuits


def test_a_frozen_circuit_says_so(frozen):
    assert frozen.freezing_gas == "n-butane"
    assert frozen.freezing_margin < -5.0
    assert frozen.freezing_place == "throttle_outlet"
    assert any("n-butane freezes out: the throttle outlet is at" in text for text in frozen.warnings)


def test_a_sound_circuit_has_a_margin_and_no_warning(model):
    result = solve_circuit(Fluid(model, SAFE), circuit(), 32)
    assert result.freezing_margin > 3.0
    assert not any("freez" in text for text in result.warnings)
    report = result.freezing
    assert report.margin == pytest.approx(result.freezing_margin)
    assert min(point.margin for point in report.points) == report.own_margin


def cold_path(fluid, points):
    """What freezes along the legs of a plain circuit with given states."""
    legs = (
        ("recuperator_high_side", "throttle_inlet", "aftercooler_outlet"),
        ("evaporator", "throttle_outlet", "evaporator_outlet"),
        ("recuperator_low_side", "evaporator_outlet", "compressor_inlet"),
    )
    return path_freezing(fluid.model, [ColdLeg(name, fluid, points[cold], points[warm], cold) for name, cold, warm in legs])


@pytest.fixture
def plausible(monkeypatch):
    """Put models in the place of plausible sets of pair parameters: a function of (name, model) and more of them."""

    def put(*named):
        sets = [(PairSet(name, "", "", (("methane", "isobutane"),)), one) for name, one in named]
        monkeypatch.setattr(freezing, "plausible_models", lambda model, z: sets)

    return put


PLACES = {
    "aftercooler_outlet": 300.0, "throttle_inlet": 110.0, "throttle_outlet": 105.0, "evaporator_outlet": 110.0,
    "compressor_inlet": 290.0,
}  # fmt: skip


def ideal_path(cold: float):
    """An ideal blend's report down to a throttle outlet of cold [K]; isobutane dissolves in it ideally."""
    blend, z = IdealBlend(SIX[:5]), BUTANE_BESIDE
    at = PLACES | {"throttle_outlet": cold}
    points = {place: blend.state_tp(z, t, 2e5) for place, t in at.items()}
    return blend, points, lambda: cold_path(Fluid(blend, z), points)


def test_the_smallest_margin_of_plausible_sets_counts(model_of, plausible):
    """In truth isobutane dissolves worse than ideally; at 98 K the equations have a solid and the ideal blend none."""
    real = model_of(SIX[:5])
    margins = [98.0 - freezing_temperature(Fluid(one, BUTANE_BESIDE), 2e5).freezing_temperature for one in (IdealBlend(SIX[:5]), real)]
    assert margins[1] < 0.0 < margins[0]
    blend, points, report = ideal_path(98.0)
    alone = report()
    assert alone.margin == alone.own_margin == pytest.approx(margins[0], abs=2e-3)
    plausible(("the same", blend), ("measured", real))
    asked = report()
    assert asked.margin == pytest.approx(margins[1], abs=5e-3)  # fugacities along a sweep are good to 1e-4
    assert asked.own_margin == alone.margin
    assert asked.gas == "isobutane" and asked.place == "throttle_outlet"
    assert any("isobutane freezes out" in text for text in asked.warnings)
    (spread,) = [text for text in asked.warnings if "hangs on" in text]
    assert "plausible pair parameters measured" in spread and f"{margins[0]:+.1f} K by this model" in spread


def test_sets_that_say_nothing_worse_or_nothing_at_all_change_nothing(plausible):
    class Lost(IdealBlend):
        def state_tp(self, z, temperature, pressure):
            raise ConvergenceError("flash")

    blend, _, report = ideal_path(98.0)
    alone = report()
    plausible(("the same", blend), ("lost", Lost(blend.gases)))
    assert report() == alone


def test_far_from_any_solid_no_set_is_asked(plausible):
    plausible(("never asked", None))
    _, points, report = ideal_path(130.0)
    points["evaporator_outlet"] = points["throttle_inlet"] = points["throttle_outlet"]
    assert report().margin > 25.0


def test_the_constraint_of_a_search_takes_the_smallest_margin(model_of, frozen, plausible):
    blend, points, report = ideal_path(98.0)

    def margin():
        fluid = Fluid(blend, BUTANE_BESIDE)
        result = dataclasses.replace(frozen, fluid=fluid, points=points, freezing=report(), cold_temperature=98.0)
        return FreezingConstraint(circuit(), 0.0).solved_margin(result)

    assert margin() > 0.0
    plausible(("measured", model_of(SIX[:5])))
    assert margin() < 0.0


def test_neon_does_not_freeze_here_and_leaves_the_check_of_the_others():
    """Neon melts at 24.56 K (CRC Handbook of Chemistry and Physics, from memory), below every model's floor."""
    gases = ("neon", "nitrogen", "methane", "isobutane")
    model = load_model("multi-fluid", gases)
    with_neon, without = np.array([0.02, 0.28, 0.40, 0.30]), np.array([0.0, 0.28, 0.40, 0.30]) / 0.98
    found, plain = (freezing_temperature(Fluid(model, z), 2e5) for z in (with_neon, without))
    assert found.gas == plain.gas == "isobutane"
    assert found.freezing_temperature == pytest.approx(plain.freezing_temperature, abs=0.5)
    result = solve_circuit(Fluid(model, with_neon), dataclasses.replace(circuit(), cold_temperature=110.0), 32)
    assert result.freezing_gas == "isobutane"


def test_a_thin_margin_is_warned_of(model, frozen):
    points = dict(frozen.points)
    z = frozen.composition
    safe = freezing_temperature(Fluid(model, z), 2.1e5, 130.0).freezing_temperature + 1.5
    for place in ("throttle_inlet", "throttle_outlet", "evaporator_outlet"):
        above = 5.0 if place == "throttle_inlet" else 0.0
        points[place] = model.state_tp(z, safe + above, points[place].pressure)
    thin = cold_path(Fluid(model, z), points)
    assert thin.own_margin == pytest.approx(1.5, abs=0.01) and thin.margin <= thin.own_margin
    assert any("throttle outlet" in text for text in thin.warnings)


def test_the_search_constraint_agrees_with_solved_circuits(model, frozen, monkeypatch):
    """By the same model to half a kelvin: batches go straight from node to node, 1 K apart, and within 1 K of both
    outlets the vapour ends and a second liquid begins, where index and enthalpy bend (0.16 K and 0.41 K are seen, of 14 K
    and -42 K). Other pair parameters, which batches do not ask, take 0.4 K more from the first.
    """
    constraint = FreezingConstraint(circuit(), 3.0)
    solved = [solve_circuit(Fluid(model, SAFE), circuit(), 32), frozen]
    z = np.array([one.composition for one in solved])
    cooling = np.array([one.cooling_capacity for one in solved])
    margins = constraint.margins(model, z, np.full(2, 2e5), np.full(2, 16e5), cooling).min(axis=1)
    exact = [constraint.solved_margin(one) for one in solved]
    assert [one >= 0.0 for one in exact] == [one.freezing_margin >= 3.0 for one in solved]
    assert margins[0] > 0.0 and exact[0] > 0.0
    assert margins[1] < 0.0 and exact[1] < 0.0
    monkeypatch.setattr(freezing_limit, "plausible_models", lambda model, z: [])
    own = [constraint.solved_margin(one) for one in solved]
    assert margins == pytest.approx(own, abs=0.5)
    assert all(worst <= one for worst, one in zip(exact, own, strict=True)) and own[0] - exact[0] > 0.1


def test_case_files_may_ask_for_a_margin(tmp_path):
    from mixjt.case.case import read_case
    from mixjt.report.circuit_report import circuit_record

    case_text = CASE + SEARCH
    path = tmp_path / "machine.toml"
    path.write_text(case_text, encoding="utf-8")
    (constraint,) = read_case(path).search.constraints
    assert constraint.smallest == 3.0
    path.write_text(case_text.replace('smallest_freezing_margin = "3 K"', ""), encoding="utf-8")
    assert read_case(path).search.constraints == ()
    model = load_model("multi-fluid", ("methane", "propane"))
    warm = dataclasses.replace(circuit(), cold_temperature=200.0, suction_pressure=1.2e5)
    record = circuit_record(solve_circuit(Fluid(model, [0.4, 0.6]), warm, 16))
    assert record["freezing_gas"] == "propane" and record["freezing_margin_K"] > 50.0


CASE = """
[ambient]
temperature = "22 degC"
[compressor]
type = "rotary"
displacement = "6.4 cm3"
speed = "2900 rpm"
[circuit]
suction_pressure = "2 bar"
discharge_pressure = "16 bar"
[cold_end]
temperature = "110 K"
"""
SEARCH = """
[search]
smallest_freezing_margin = "3 K"
[[bottle]]
gas = "methane"
[[bottle]]
gas = "propane"
"""


@pytest.mark.slow
def test_a_search_keeps_the_margin_and_pays_for_it(model_of):
    from mixjt.blend import pure_ingredient
    from mixjt.studies.search.search import search
    from mixjt.studies.search.search_request import Bottle, SearchRequest

    bottles = [Bottle(pure_ingredient(name)) for name in ("nitrogen", "methane", "ethane", "isobutane")]
    hot = dataclasses.replace(circuit().compressor, largest_discharge_temperature=500.0, largest_valve_temperature=500.0)
    machine = dataclasses.replace(circuit(), compressor=hot)
    free = SearchRequest(machine, bottles, samples=32, shortlist=1)
    bound = dataclasses.replace(free, constraints=(FreezingConstraint(machine, 3.0),))
    without, kept = (search(model_of(free.gases), one) for one in (free, bound))
    assert without.candidates[0].freezing_margin < 3.0
    assert all(one.freezing_margin >= 3.0 - 1e-3 for one in kept.candidates)
    assert kept.values[0] < without.values[0]
