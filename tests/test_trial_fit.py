"""What the gauges show of a machine, how that follows its departures, and the fit: against solved changes and the normal equations."""

import math
import pickle
from dataclasses import replace
from types import SimpleNamespace

import cloudpickle
import numpy as np
import pytest

from mixjt.circuit.fixed_machine import FixedMachine
from mixjt.circuit.inventory import Volumes
from mixjt.circuit.machine import ThrottleCircuit
from mixjt.circuit.settled import settle_machine
from mixjt.errors import InputError, UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.standstill import standstill_pressure
from mixjt.parts.air_coil import AirCoil
from mixjt.parts.cold_mass import ColdMass
from mixjt.parts.compressor.compression import Compressor
from mixjt.parts.oil import Oil
from mixjt.parts.throttle.capillary import Capillary
from mixjt.studies.trial import built as named
from mixjt.studies.trial.built import BuiltMachine, departures
from mixjt.studies.trial.causes import STRONG
from mixjt.studies.trial.compared import compared, sensor_errors
from mixjt.studies.trial.fit import Fault, Problem, Seen, first_runs, fit, over_noise
from mixjt.studies.trial.log import BY_NAME
from mixjt.studies.trial.response import response
from mixjt.studies.trial.run import LOGS, Imposed, Stretched, rest_doubt, run_on
from mixjt.studies.trial.stretches import Stretch
from mixjt.studies.trial.trial import DEW_ERROR, effective, parameters, superheat, wet_causes

ROOM = 295.0
GASES = "nitrogen", "ethane", "isobutane"
PLACES = "evaporator", "throttle inlet", "suction line", "discharge line", "aftercooler outlet", "power"
ERRORS = {place: 0.02 if place in LOGS else 1.0 for place in PLACES}


@pytest.fixture(scope="module")
def plain(model_of):
    """A machine with a needle valve and a charge that is not known: its pressures are held as measured."""
    circuit = ThrottleCircuit(
        ambient_temperature=ROOM, suction_pressure=2.5e5, discharge_pressure=15e5, cold_temperature=150.0,
        compressor=Compressor("rotary", 6e-6, 48.0), recuperator_conductance=30.0,
    )  # fmt: skip
    fluid = Fluid(model_of(GASES), [0.2, 0.4, 0.4])
    return BuiltMachine(fluid, FixedMachine(circuit, None, 30.0), ColdMass(copper=2.0))


@pytest.fixture(scope="module")
def charged(plain):
    """The same with a capillary and the charge that it holds at 160 K."""
    volumes = Volumes(5e-4, 2e-4, 5e-4, 5e-5, 2e-3)
    held = settle_machine(plain.fluid, plain.machine, 160.0).contained.inventory(volumes, None).amounts
    return replace(plain, machine=replace(plain.machine, tube=Capillary(0.9e-3, 1.5), volumes=volumes, charge=held))


def at(built, theta=(), **imposed):
    known = departures(built, ERRORS)
    full = np.array([dict(theta).get(one.name, 0.0) for one in known])
    given = {"ambient": ROOM, "heater": 15.0, "cold": 160.0, "suction": 2.5e5, "discharge": 15e5} | imposed
    return Stretched(built, known, full, Imposed(**given))


def test_a_steady_machine_takes_up_what_the_heater_gives(plain):
    """At its temperature the settled machine of the cool-down has that cooling."""
    stretch = at(plain)
    run = run_on(stretch)
    assert settle_machine(plain.fluid, plain.machine, run.shown["evaporator"]).cooling_power == pytest.approx(15.0, abs=0.05)


def test_a_cold_end_that_cools_takes_its_own_heat_too(plain):
    """C dT/dt is cooling less heater."""
    rate = -0.02  # K/s
    cold = run_on(at(plain, rate=rate)).shown["evaporator"]
    settled = settle_machine(plain.fluid, plain.machine, cold)
    assert settled.cooling_power - 15.0 == pytest.approx(-rate * float(plain.mass.end_capacity(cold)), abs=0.1)


def test_a_charge_at_rest_stands_at_its_pressure(charged):
    shown = run_on(at(charged, at_rest=True)).shown
    charge = charged.machine.charge
    known = standstill_pressure(charged.fluid.of(charge / charge.sum()), ROOM, charged.machine.volumes.total / charge.sum())
    assert shown == pytest.approx(dict.fromkeys(("suction", "discharge"), math.log(known)), rel=1e-9)
    assert run_on(at(charged, {f"charge of {gas}": math.log(1.1) for gas in GASES}, at_rest=True)).shown["suction"] > shown["suction"]


@pytest.mark.parametrize("name, step", [(named.CONDUCTANCE, 0.01), (named.AFTERCOOLER, 0.5), ("charge of ethane", 0.01)])
def test_the_response_is_that_of_solved_machines(plain, name, step):
    """Against central differences of settled machines."""
    stretch = at(plain)
    run = run_on(stretch)
    found, _ = response(stretch, run)
    ahead, behind = (np.array(list(run_on(at(plain, {name: by}), run, same=True).shown.values())) for by in (step, -step))
    column = [one.name for one in stretch.known].index(name)
    solved = (ahead - behind) / (2.0 * step)
    least = np.array([0.01 if place in LOGS else 0.3 for place in run.shown])  # what a settled machine is solved to, over the step
    assert np.all(np.abs(found[:, column] - solved) < np.maximum(0.1 * np.abs(solved), least))


def test_the_response_of_a_charged_machine(charged):
    """Throttle and charge change nothing but conditions; what is shown follows as of solved machines."""
    stretch = at(charged)
    run = run_on(stretch)
    found, _ = response(stretch, run)
    names, places = [one.name for one in stretch.known], list(run.shown)
    for name in (named.THROTTLE, "charge of ethane"):
        ahead, behind = (run_on(at(charged, {name: by}), run, same=True).shown for by in (0.05, -0.05))
        for place in ("suction", "discharge", "evaporator"):
            solved = (ahead[place] - behind[place]) / 0.1
            tolerance = 0.03 if place in LOGS else 2.0  # of 1 and 50 K: what a settled machine is solved to, over the step
            assert found[places.index(place), names.index(name)] == pytest.approx(solved, rel=0.2, abs=tolerance), (name, place)


def test_an_aftercooler_of_a_size_departs_in_its_conductance(plain):
    """A fifth less of it leaves the gas warmer."""
    circuit = replace(plain.machine.circuit, aftercooler=AirCoil(8.0))
    sized = replace(plain, machine=replace(plain.machine, circuit=circuit))
    names = [one.name for one in departures(sized, ERRORS)]
    assert named.AFTERCOOLER_SIZE in names and named.AFTERCOOLER not in names
    warm, warmer = (
        run_on(at(sized, {named.AFTERCOOLER_SIZE: by})).shown["aftercooler outlet"] for by in (0.0, math.log(0.8))
    )
    assert ROOM < warm < warmer


TRUE = {named.CONDUCTANCE: -0.1, named.FLOW: 0.05, named.AFTERCOOLER: 2.0, "offset of evaporator": 1.0}


@pytest.fixture(scope="module")
def fitted(plain):
    """A fit to two steady stretches of the same model with departures, without noise."""
    seen = []
    for heater in (10.0, 25.0):
        shown = run_on(at(plain, TRUE, heater=heater)).shown
        measured = {place: shown[place] + (1.0 if place == "evaporator" else 0.0) for place in PLACES}
        imposed = Imposed(ROOM, heater, cold=measured["evaporator"], suction=2.5e5, discharge=15e5)
        seen.append(Seen("", imposed, measured, {place: 0.005 if place in LOGS else 0.3 for place in PLACES}))
    problem, first, lost = first_runs(Problem(plain, departures(plain, ERRORS), tuple(seen)))
    assert not lost
    return fit(problem, first)


def test_a_fit_explains_the_log(fitted):
    before, after = (
        sum(x**2 for i in range(2) for x in fitted.residuals(i, runs).values()) for runs in (fitted.first, None)
    )
    assert before > 100.0
    assert after < 0.05 * before


def test_a_fit_satisfies_the_normal_equations(fitted):
    """J' N^-1 (measured - shown) = P^-1 theta, to what a step of the least-squares method would still change."""
    problem = fitted.problem
    slopes = np.vstack([over_noise(*each) for each in zip(problem.seen, fitted.runs, fitted.jacobians, strict=True)])
    off = np.concatenate([list(fitted.residuals(i).values()) for i in range(2)])
    left = fitted.covariance @ (slopes.T @ off - fitted.unknowns / problem.spreads**2)
    assert np.all(np.abs(left) < 0.25 * fitted.errors)


def test_departures_are_found_within_their_errors(fitted):
    for one, x, error in zip(fitted.problem.known, fitted.unknowns, fitted.errors, strict=True):
        assert abs(x - TRUE.get(one.name, 0.0)) < 2.0 * error, one.name


def test_parameters_are_values_and_not_departures(fitted):
    told = {one.departure.name: one for one in parameters(fitted)}
    conductance = told[named.CONDUCTANCE]
    assert conductance.value == pytest.approx(30.0 * math.exp(fitted.unknowns[0]))
    assert conductance.prior == 30.0 and conductance.prior_error == pytest.approx(0.15 * 30.0)
    assert told["offset of evaporator"].prior == 0.0


def test_a_stretch_is_settled_alike_by_a_copy_of_the_problem(fitted):
    """Copies are what further processes work with, and what they give back."""
    given = 0, fitted.unknowns, fitted.runs[0]
    problem, *sent = pickle.loads(cloudpickle.dumps((fitted.problem, *given)))
    run = pickle.loads(pickle.dumps(problem.settled(*sent)))
    assert run.unknowns == pytest.approx(fitted.problem.settled(*given).unknowns, rel=1e-6)


def test_a_fault_that_is_always_there_counts_as_of_the_machine(fitted):
    direction = np.eye(len(fitted.problem.known))[0]
    for where, counts in (((1.0, 1.0), 1.0), ((0.0, 1.0), 0.0)):
        problem = replace(fitted.problem, faults=(Fault("", direction, np.array(where)),))
        assert effective(SimpleNamespace(problem=problem))[0, -1] == counts
        assert problem.spread_out(1)[0, -1] == 1.0 and problem.spread_out(0)[0, -1] == where[0]


def test_a_machine_that_settles_nowhere_is_told(plain, monkeypatch):
    """A heater of 100 kW."""
    monkeypatch.setattr("mixjt.studies.trial.run.MOST_TRIALS", 3)
    known = departures(plain, ERRORS)
    seen = Seen("1: steady", Imposed(ROOM, 1e5, suction=2.5e5, discharge=15e5, cold=150.0), {"evaporator": 150.0}, {"evaporator": 1.0})
    with pytest.raises(UnreachableError, match="settles on no stretch"):
        first_runs(Problem(plain, known, (seen,)))


@pytest.mark.parametrize("z, wet", [([0.1, 0.2, 0.7], True), ([0.5, 0.45, 0.05], False)])
def test_liquid_at_the_suction_is_told_by_its_superheat(plain, z, wet):
    """A small recuperator leaves a heavy blend wet; its settled state says the same."""
    built = replace(plain, fluid=plain.fluid.of(np.array(z)), machine=replace(plain.machine, conductance=6.0))
    stretch = at(built, heater=0.0, cold=200.0)
    run = run_on(stretch)
    settled = stretch.standing(run.unknowns).settled
    assert bool(settled.compressor_inlet.liquids) == wet
    seen = Seen("", stretch.imposed, {"suction line": run.shown["suction line"]}, {"suction line": 1.0})
    found = SimpleNamespace(
        problem=SimpleNamespace(seen=(seen,), known=stretch.known), unknowns=stretch.theta, errors=np.full(stretch.theta.size, 1.0)
    )
    margin, error = superheat(found, 0, settled)
    assert error == pytest.approx(math.hypot(1.0, 1.0, DEW_ERROR))
    assert margin == pytest.approx(settled.compressor_inlet.temperature - settled.fluid.dew_temperature(2.5e5), abs=1e-3)
    (cause,) = wet_causes([(margin, error), None])
    assert (cause.score > STRONG) == wet and (cause.score < -STRONG) == (not wet)
    assert bool(cause.evidence_for) == wet and bool(cause.evidence_against) == (not wet)


# --- what is compared -------------------------------------------------------------------------------------------------


def stretch(kind="steady", start=0.0, minutes=10.0, slope=0.0, **mean):
    mean = {"suction": 2.5e5, "evaporator": 150.0, "ambient": ROOM, "heater": 5.0} | mean
    count = dict.fromkeys(mean, 16)
    return Stretch(kind, start, start + 60.0 * minutes, mean, dict.fromkeys(mean, 0.4), {"evaporator": slope}, count)


def test_what_a_stretch_imposes_and_shows(charged):
    (one,), notes = compared(charged, [stretch()], 280.0, None)
    assert not notes
    assert (one.imposed.ambient, one.imposed.heater, one.imposed.rate, one.imposed.cold) == (ROOM, 5.0, 0.0, 150.0)
    assert one.measured == {"suction": pytest.approx(math.log(2.5e5)), "evaporator": 150.0}
    assert one.noise["evaporator"] == pytest.approx(math.hypot(0.1, 1.0))  # 0.4 K of 16 readings, and the model's


def test_an_unheated_cold_end_is_told(plain):
    one = stretch()
    bare = replace(one, mean={name: x for name, x in one.mean.items() if name not in ("heater", "ambient")})
    (seen,), notes = compared(plain, [bare], 280.0, None)
    assert (seen.imposed.heater, seen.imposed.ambient) == (0.0, 280.0)
    assert any("unheated" in note for note in notes)


def test_the_longest_stretches_are_compared_in_order_of_time(plain):
    found, notes = compared(plain, [stretch(start=3600.0 * i, minutes=10.0 + i) for i in range(8)], ROOM, 0.0)
    assert [one.name.split(": ")[1].split()[2] for one in found] == ["180", "240", "300", "360", "420"]
    assert "3 more stretches" in notes[0]


def test_a_cold_circuit_at_rest_and_one_without_known_charge_are_not_held_against_the_charge(plain, charged):
    warm, cold = stretch("at rest", evaporator=ROOM), stretch("at rest", start=9000.0, evaporator=200.0)
    running = stretch(start=5000.0)
    assert [one.imposed.at_rest for one in compared(plain, [warm, running, cold], ROOM, 0.0)[0]] == [False]
    assert [one.imposed.at_rest for one in compared(charged, [warm, running, cold], ROOM, 0.0)[0]] == [True, False]


@pytest.mark.parametrize("found, complaint", [
    ([stretch("at rest", evaporator=ROOM)], "never runs"),
    ([stretch("at rest", evaporator=ROOM), stretch("warming", evaporator=200.0)], "no steady stretch"),
    ([], "no steady stretch"),
])  # fmt: skip
def test_a_log_without_a_run_is_refused(charged, found, complaint):
    with pytest.raises(InputError, match=complaint):
        compared(charged, found, ROOM, 0.0)


def test_a_run_of_which_nothing_is_read_that_the_model_tells_is_refused(plain):
    bare = replace(stretch(), mean={"suction": 2.5e5, "discharge": 15e5, "heater": 5.0})
    with pytest.raises(InputError, match="anything read"):
        compared(plain, [bare], ROOM, 0.0)


def test_a_cold_end_at_rest_is_held_against_the_room_of_the_case(charged):
    """Without a column of the room; a cold circuit does not stand at its warm pressure."""
    one = stretch("at rest", evaporator=200.0)
    cold = replace(one, mean={name: x for name, x in one.mean.items() if name != "ambient"})
    found, _ = compared(charged, [cold, stretch(start=5000.0)], ROOM, 0.0)
    assert [each.imposed.at_rest for each in found] == [False]


def test_gas_in_the_oil_lowers_the_pressure_at_rest(charged):
    """Half way to the pressure over oil that has taken up all it can: there gas and oil together hold the charge."""
    oiled = replace(charged, machine=replace(charged.machine, oil=Oil("mineral", 0.2)))
    dry, wet = (run_on(at(each, at_rest=True)).shown["suction"] for each in (charged, oiled))
    doubt = rest_doubt(oiled, ROOM)
    assert rest_doubt(charged, ROOM) == 0.0 and 0.0 < doubt < 0.3
    assert dry - wet == pytest.approx(doubt, rel=0.01)


def test_a_pressure_that_is_held_as_measured_is_not_compared_with_itself(plain):
    (one,), _ = compared(plain, [stretch()], 280.0, None)
    assert one.imposed.suction == 2.5e5 and "suction" not in one.measured


def test_errors_of_gauges_are_relative_to_what_they_show(charged):
    seen, _ = compared(charged, [stretch(), stretch(start=4000.0, suction=5e5)], ROOM, 0.0)
    errors = sensor_errors(seen, {name: place.error for name, place in BY_NAME.items()})
    assert errors["suction"] == pytest.approx(0.5 * (0.1 / 2.5 + 0.1 / 5.0))
    assert errors["evaporator"] == BY_NAME["evaporator"].error
