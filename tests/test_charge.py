"""Filling a circuit against CoolProp, the ideal gas and drawn readings; bottles, the room, and topping up."""

import math
from dataclasses import replace
from types import SimpleNamespace

import CoolProp
import numpy as np
import pytest
from circuit_samples import machine
from CoolProp.CoolProp import PropsSI
from toy_model import IdealGas

from mixjt.blend import Ingredient, pure_ingredient
from mixjt.circuit.fixed_machine import FixedMachine
from mixjt.circuit.inventory import Inventory, Volumes
from mixjt.circuit.solve import solve_circuit
from mixjt.constants import GAS_CONSTANT
from mixjt.errors import InputError, UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.gases import gas
from mixjt.parts.compressor.compression import Compressor
from mixjt.parts.throttle.capillary import Capillary
from mixjt.studies.at_rest import AtRest, StandstillRequest
from mixjt.studies.charge import top_up
from mixjt.studies.charge.charge_plan import plan_charge
from mixjt.studies.charge.charge_request import ChargeRequest
from mixjt.studies.charge.drawn import (
    Portions,
    drawn_from,
    filling_order,
    gases_in,
    portions,
    usable_bottles,
)
from mixjt.studies.charge.filling import (
    BY_PRESSURE,
    BY_SMALL_BOTTLE,
    BY_WEIGHT,
    fill,
    filling_curve,
    filling_warnings,
)
from mixjt.studies.charge.leaked import charge_limits, leak_warnings, leaked
from mixjt.studies.charge.top_up import top_ups
from mixjt.studies.search.search_request import Bottle

BENCH = ChargeRequest(3e-3, 0.9e5, 293.15)  # 3 L, on a mountain, 20 °C
GASES = ("nitrogen", "methane", "propane")
LPG = Ingredient("camping gas", ("propane", "n-butane"), (0.30, 0.70))


def pure(*names):
    return [Bottle(pure_ingredient(name)) for name in names]


def steps_of(model, amounts, bottles, request=BENCH):
    drawn = [drawn_from(model, bottle, request.bench_temperature) for bottle in bottles]
    return fill(model, filling_order(model, portions(drawn, amounts), request.bench_temperature), request)


# --- bottles


def test_pure_bottles_give_every_blend_exactly():
    model, wanted = IdealGas(GASES), np.array([0.3, 0.5, 0.0])
    given = portions([drawn_from(model, bottle, 295.0) for bottle in pure("propane", "methane", "nitrogen")], wanted)
    assert [bottle.name for bottle in given.bottles] == ["methane", "nitrogen"]
    assert given.given == pytest.approx(wanted, abs=1e-12) and given.sentence(model.gases) == ""


def test_a_mixture_is_used_as_far_as_it_goes(model_of):
    """Two unknowns by hand: n-butane is only in the mixture, so it sets it, and propane is filled up."""
    model = model_of(("nitrogen", "propane", "n-butane"))
    bottles = [drawn_from(model, bottle, 293.0) for bottle in (Bottle(LPG), *pure("propane", "nitrogen"))]
    given = portions(bottles, [0.5, 0.4, 0.35])
    amounts = {bottle.name: amount for bottle, amount in zip(given.bottles, given.amounts, strict=True)}
    assert amounts == pytest.approx({"camping gas": 0.5, "propane": 0.25, "nitrogen": 0.5})


def test_what_a_mixture_cannot_give_is_the_least_that_can_be_missed(model_of):
    """One bottle a and amounts n: the least |a m - n| is at m = a n / a a, and the error is told."""
    model = model_of(("propane", "n-butane"))
    given = portions([drawn_from(model, Bottle(LPG), 293.0)], [0.5, 0.5])
    assert given.amounts == pytest.approx([0.5 / (0.3**2 + 0.7**2)])
    share = given.missed / given.amounts.sum()
    assert f"propane {100 * share[0]:+.2g} %, n-butane {100 * share[1]:+.2g} %" in given.sentence(model.gases)


def test_bottles_that_hold_nothing_wanted_are_left_alone_and_missing_ones_added():
    bottles = usable_bottles(("nitrogen", "propane"), [Bottle(LPG), *pure("methane")])
    assert [bottle.ingredient.name for bottle in bottles] == ["camping gas", "nitrogen"]
    assert gases_in(bottles) == ("propane", "n-butane", "nitrogen")


@pytest.mark.parametrize("wanted", [[-0.1, 0.5, 0.5], [0.0, 0.0, 0.0], [math.nan, 0.5, 0.5]])
def test_amounts_that_cannot_be_are_refused(wanted):
    with pytest.raises(InputError):
        portions([drawn_from(IdealGas(GASES), bottle, 295.0) for bottle in pure(*GASES)], wanted)


def test_a_bottle_of_gases_that_the_model_lacks_is_refused():
    with pytest.raises(InputError, match="holds n-butane"):
        drawn_from(IdealGas(GASES), Bottle(LPG), 295.0)


def test_vapour_over_the_mixture_is_that_of_another_program(model_of):
    """Bubble point of 30 % propane, 70 % n-butane at 20 °C by CoolProp's mixture of reference equations."""
    other = CoolProp.AbstractState("HEOS", "Propane&n-Butane")
    other.set_mole_fractions([0.3, 0.7])
    other.update(CoolProp.QT_INPUTS, 0.0, 293.15)
    model = model_of(("propane", "n-butane"))
    vapour = drawn_from(model, Bottle(LPG, as_vapour=True), 293.15)
    assert vapour.pressure == pytest.approx(other.p(), rel=0.01)
    assert vapour.z == pytest.approx(other.mole_fractions_vapor(), abs=0.005)
    assert vapour.changes and not drawn_from(model, Bottle(LPG), 293.15).changes
    steps = steps_of(model, [0.05, 0.05], [Bottle(LPG, as_vapour=True)])
    assert "draw it as liquid" in filling_warnings(model, steps, BENCH)[0]


def test_weakest_bottle_first_whatever_the_list(model_of):
    """By normal boiling points in handbooks: isobutane -12, propane -42, ethane -89, methane -162, nitrogen -196 °C."""
    order = ("isobutane", "propane", "ethane", "methane", "nitrogen")
    model = model_of(order)
    for names in (order, order[::-1]):
        drawn = [drawn_from(model, bottle, 293.15) for bottle in pure(*names)]
        given = filling_order(model, Portions(tuple(drawn), np.ones(5), np.zeros(5)), 293.15)
        assert tuple(bottle.name for bottle in given.bottles) == order


# --- gauge pressures


def test_nitrogen_stands_at_the_pressure_of_its_density(model_of):
    """CoolProp's reference equation of nitrogen at 1 mol in 3 L, less the atmosphere of the mountain."""
    (step,) = steps_of(model_of(("nitrogen",)), [1.0], pure("nitrogen"))
    expected = PropsSI("P", "T", 293.15, "Dmolar", 1.0 / 3e-3, "Nitrogen")
    assert step.after == pytest.approx(expected, rel=1e-3)
    assert step.mass == pytest.approx(28.0134e-3, rel=1e-4) and step.phases == "vapour"  # IUPAC


def test_propane_alone_stands_at_its_vapour_pressure_and_only_weight_tells_it(model_of):
    """CoolProp's reference equation at 20 °C, 5 mol in 3 L; 0.5 % for the short equation of GERG-2008."""
    model = model_of(("propane",))
    (step,) = steps_of(model, [5.0], pure("propane"))
    assert step.after == pytest.approx(PropsSI("P", "T", 293.15, "Q", 0, "Propane"), rel=5e-3)
    assert step.phases == "vapour + liquid" and step.pressure_error is None and step.way == BY_WEIGHT
    assert not step.pushes and "does not flow by itself" in filling_warnings(model, [step], BENCH)[0]
    rows = filling_curve(model, [step], BENCH)
    assert [row[2] for row in rows[-3:]] == pytest.approx([step.after] * 3, rel=1e-9)


def test_the_last_gauge_pressure_is_the_same_in_every_order(model_of):
    """And that of the whole, by CoolProp's mixture of reference equations."""
    model, amounts = model_of(GASES), np.array([0.3, 0.4, 0.5])
    drawn = [drawn_from(model, bottle, 293.15) for bottle in pure(*GASES)]
    ends = [
        fill(model, Portions(tuple(drawn[k] for k in order), amounts[list(order)], np.zeros(3)), BENCH)[-1].after
        for order in ((0, 1, 2), (2, 1, 0), (1, 2, 0))
    ]
    assert ends == pytest.approx([ends[0]] * 3, rel=1e-9)
    other = CoolProp.AbstractState("HEOS", "Nitrogen&Methane&Propane")
    other.set_mole_fractions(amounts / amounts.sum())
    other.specify_phase(CoolProp.iphase_gas)
    other.update(CoolProp.DmolarT_INPUTS, amounts.sum() / 3e-3, 293.15)
    assert ends[0] == pytest.approx(other.p(), rel=2e-3)


def test_a_trace_stands_at_the_pressure_of_an_ideal_gas(model_of):
    """0.1 mmol in 3 L at 20 °C: n R T / V."""
    model = model_of(("nitrogen", "propane"))
    steps = steps_of(model, [0.5, 1e-4], pure("nitrogen", "propane"))
    assert steps[0].after == pytest.approx(1e-4 * 8.314463 * 293.15 / 3e-3, rel=1e-3)
    assert all(pressure > 0.0 for _, mass, pressure in filling_curve(model, steps, BENCH) if mass > 0.0)


# --- errors


def readings(rng, off):
    """Two readings of a hundred thousand, each off by up to so much, and their difference."""
    return np.diff(rng.uniform(-off, off, (100_000, 2)), axis=1)[:, 0]


def test_errors_are_those_of_drawn_readings():
    """Of a thin gas p V = n R T: m = M V dp / (R T), with readings and temperature drawn as uniform."""
    model, rng = IdealGas(("nitrogen",)), np.random.default_rng(1)
    request = replace(BENCH, scale_resolution=2e-3, gauge_error=2e3, temperature_error=5.0)
    (step,) = steps_of(model, [0.1], pure("nitrogen"), request)
    rise = step.after + readings(rng, 2e3)
    masses = 28.0134e-3 * 3e-3 * rise / (GAS_CONSTANT * rng.uniform(288.15, 298.15, rise.size))
    assert step.pressure_error == pytest.approx(masses.std(), rel=0.02)
    assert step.scale_error == pytest.approx(readings(rng, 1e-3).std(), rel=0.02)


def test_the_temperature_counts_for_the_rise_only():
    """What is in already has been read at the same temperature: the second gas of two alike errs as the first."""
    model = IdealGas(("nitrogen", "methane"))
    first, second = steps_of(model, [0.1, 0.1], pure("nitrogen", "methane"), replace(BENCH, gauge_error=1e-3))
    assert second.pressure_error / second.mass == pytest.approx(first.pressure_error / first.mass, rel=0.02)


@pytest.mark.parametrize(("gauge_error", "gross_mass", "way"), [
    (1e2, None, BY_PRESSURE),  # steel
    (1e2, 0.5, BY_PRESSURE),  # the gauge is better
    (5e4, 0.5, BY_WEIGHT),
    (2e5, 20.0, BY_SMALL_BOTTLE),  # the gauge tells nothing
])  # fmt: skip
def test_the_better_way_of_those_there_are(gauge_error, gross_mass, way):
    bottle = Bottle(pure_ingredient("nitrogen"), gross_mass=gross_mass)
    (step,) = steps_of(IdealGas(("nitrogen",)), [0.2], [bottle], replace(BENCH, gauge_error=gauge_error))
    assert step.way == way
    assert step.error == (step.pressure_error if way == BY_PRESSURE else step.scale_error)


# --- the room


def test_limits_by_mass_are_those_of_the_standard():
    """In g/m3: 29 methane, 31 propane, 33 n-butane; IEC 60079-20-1 (2010), from memory."""
    for name, limit in (("methane", 29e-3), ("propane", 31e-3), ("n-butane", 33e-3)):
        assert leaked((name,), [1.0], BENCH).lower_limit == pytest.approx(limit, rel=0.03)


@pytest.mark.parametrize(("floor", "most"), [(20.0, 1.533), (30.0, 1.877), (45.0, 2.299)])
def test_charge_in_a_room_is_that_of_a_published_table(floor, most):
    """R-32, 0.307 kg/m3, leaking at 0.6 m: the table of largest charges in an installation manual of a heat pump
    (Panasonic WH-ADC0309K3E5, read), which follows IEC 60335-2-40."""
    request = replace(BENCH, room_volume=2.5 * floor, room_height=2.5)
    limits = {limit.name: limit.mass for limit in charge_limits(0.307, request)}
    assert limits["air conditioners in this room, IEC 60335-2-40"] == pytest.approx(most, abs=1e-3)


def test_a_mole_of_propane_in_a_room():
    """By hand: 24.1 L at 20 °C and one atmosphere in 1 m3, against 1.7 %; nitrogen only dilutes."""
    request = replace(BENCH, atmosphere=101325.0, room_volume=1.0)
    found = leaked(("propane", "nitrogen"), [1.0, 1.0], request)
    assert found.room_share == pytest.approx(0.02406 / gas("propane").lower_flammable_limit, rel=1e-3)
    assert found.flammable_mass == pytest.approx(44.096e-3, rel=1e-4)
    assert "whole room could burn" in leak_warnings(found)[0]
    larger = leaked(("propane", "nitrogen"), [1.0, 1.0], replace(request, room_volume=4.0))
    assert "above 20 %" in leak_warnings(larger)[0]
    assert leak_warnings(leaked(("propane",), [1.0], replace(request, room_volume=40.0))) == []
    assert "room_volume" in leak_warnings(leaked(("propane",), [1.0], BENCH))[0]
    many = leak_warnings(leaked(("propane",), [8.0], replace(request, room_volume=4000.0)))
    assert "household refrigerators" in many[0] and "in this room" not in many[0]


def test_nothing_that_burns_has_no_limits():
    found = leaked(("nitrogen", "argon"), [1.0, 1.0], replace(BENCH, room_volume=30.0))
    assert found.lower_limit is None and found.limits == () and leak_warnings(found) == []


# --- the whole plan, and a little more


Z = np.array([0.15, 0.45, 0.40])
CIRCUIT = machine(
    discharge_pressure=14e5, cold_temperature=150.0,
    compressor=Compressor("rotary", 6.4e-6, 48.0, largest_discharge_temperature=480.0, largest_valve_temperature=480.0),
)  # fmt: skip


@pytest.fixture(scope="module")
def plan(model_of):
    rest, fluid = StandstillRequest(3e-3, None, 295.0, 323.0, 10e5, 2e5), Fluid(model_of(GASES), Z)
    running = AtRest(None, None, (), Inventory(fluid, {"all": 0.8 * Z}))
    return plan_charge(running, fluid, pure(*GASES), BENCH, rest)


def test_masses_add_up_to_those_of_the_amounts(plan):
    masses = 0.8 * Z * [gas(name).molar_mass for name in GASES]
    assert [step.mass for step in plan.steps] == pytest.approx(masses[::-1])
    assert plan.mass == pytest.approx(masses.sum()) and plan.rest.found.charge == pytest.approx(plan.mass)
    assert plan.composition == pytest.approx(Z)


def test_adding_all_in_proportion_changes_nothing_where_pressures_are_held(plan):
    """Euler: cooling at held pressures is a function of the composition alone. And each change is that of two circuits
    solved in full."""
    fluid = Fluid(plan.model, Z)
    more = top_ups(fluid, plan.portions, BENCH, CIRCUIT)
    shares = np.array([step.mass for step in plan.steps]) / plan.mass
    changes = np.array([row.cooling for row in more.rows])
    assert abs(shares @ changes) < 0.03 * np.abs(shares * changes).max()
    added = 0.8 * Z + 0.01 * plan.mass / gas("propane").molar_mass * np.array([0.0, 0.0, 1.0])
    both = [solve_circuit(fluid.of(z), CIRCUIT).cooling_power for z in (Z, added / added.sum())]
    assert more.rows[0].name == "propane" and more.rows[0].cooling == pytest.approx(both[1] - both[0], rel=0.05)
    step = plan.steps[0]
    less = more.rows[0].cooling_less
    assert less == pytest.approx(-changes[0], rel=0.2)  # no kink here
    worse = max(abs(changes[0]), abs(less))
    assert more.cooling_error(step) == pytest.approx(worse * step.error / (0.01 * plan.mass))


def test_a_fixed_machine_settles_with_what_was_added(plan, monkeypatch):
    """A machine whose suction is its nitrogen, discharge its methane, cooling its propane [mol]: each by itself."""

    def settle(fluid, machine, cold, start):
        held = machine.charge
        inlet = SimpleNamespace(temperature=cold)
        names = dict(zip(("suction_pressure", "discharge_pressure", "cooling_power"), held, strict=True))
        return SimpleNamespace(**names, throttle_inlet=inlet)

    monkeypatch.setattr(top_up, "settle_machine", settle)
    volumes = Volumes(hot=0.3e-3, high=0.1e-3, low=0.4e-3, evaporator=0.1e-3, buffer=3e-3)
    fixed = FixedMachine(CIRCUIT, Capillary(diameter=0.9e-3, length=1.5), 30.0, volumes, None, 0.8 * Z)
    fluid = Fluid(plan.model, Z)
    found = top_ups(fluid, plan.portions, BENCH, CIRCUIT, fixed)
    added = [0.01 * plan.mass / gas(row.name).molar_mass for row in found.rows]
    changes = np.array([(row.suction, row.discharge, row.cooling) for row in found.rows])
    assert [row.name for row in found.rows] == ["propane", "methane", "nitrogen"] and found.settled
    assert changes[::-1] == pytest.approx(np.diag(added[::-1]), abs=1e-12)

    def stuck(fluid, machine, cold, start):
        if start is not None:
            raise UnreachableError("stuck")
        return settle(fluid, machine, cold, start)

    monkeypatch.setattr(top_up, "settle_machine", stuck)
    lost = top_ups(fluid, plan.portions, BENCH, CIRCUIT, fixed)
    assert all(row.cooling is None and row.standing > 0.0 for row in lost.rows)
    assert lost.cooling_error(plan.steps[0]) is None
