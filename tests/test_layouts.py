"""What every kind of circuit has to keep: gases in every part, energy, places in a row; and a kind made here."""

import dataclasses
from collections import defaultdict

import numpy as np
import pytest
from circuit_samples import DROPS, machine

from mixjt.circuit import solve
from mixjt.circuit.layout import Layout
from mixjt.circuit.layouts.plain import Plain
from mixjt.circuit.liquefier_result import FeedPassage
from mixjt.circuit.machine import ThrottleCircuit
from mixjt.circuit.rounds import settled_solution
from mixjt.circuit.section import Leg
from mixjt.circuit.solve import layout_of, solve_circuit, with_feed, with_precooler, with_separator
from mixjt.fluid.feed import nitrogen_feed
from mixjt.fluid.fluid import Fluid
from mixjt.parts import places
from mixjt.parts.insulation import Insulation
from mixjt.parts.precooler import Precooler

GASES, Z = ("nitrogen", "methane", "propane", "isobutane"), np.array([0.22, 0.285, 0.325, 0.17])
PRECOOLED = ("nitrogen", "methane", "ethane", "propane"), np.array([0.3, 0.3, 0.2, 0.2])  # pinches at its warm end
FEED = FeedPassage(pressure=10e5, temperature=295.0, approach=2.0, recover_flash=True)


def circuits():
    plain = machine(cold_temperature=95.0, **DROPS)
    return {
        "plain": plain,
        "precooled, idle": with_precooler(plain, Precooler(255.0)),
        "precooled, cold suction": with_precooler(plain, Precooler(255.0), warm_section=False),
        "precooled": with_precooler(machine(cold_temperature=110.0, **DROPS), Precooler(255.0)),
        "separator": with_separator(machine(cold_temperature=110.0, **DROPS)),
        "liquefier": with_feed(plain, nitrogen_feed(0.05, 0.01), FEED, load=1.0),
    }


LEAKING = {"recuperator_conductance": 90.0, "insulation": Insulation(0.03)}


@pytest.fixture(scope="module", params=[(kind, more) for kind in circuits() for more in ("tight", "leaking, sized")], ids=str)
def solution(request, model_of):
    kind, more = request.param
    gases, z = PRECOOLED if kind == "precooled" else (GASES, Z)
    circuit = dataclasses.replace(circuits()[kind], **({} if more == "tight" else LEAKING))
    layout = layout_of(Fluid(model_of(gases), z), circuit)
    return settled_solution(layout.prepared(32), 32)


def test_both_precoolers_are_what_they_are_called(model_of):
    for name, (gases, z), works in (("precooled", PRECOOLED, True), ("precooled, idle", (GASES, Z), False)):
        result = solve_circuit(Fluid(model_of(gases), z), circuits()[name], 32)
        assert (result.stage is not None) == works and (result.precooler_heat > 100.0) == works


def amounts(leg):
    """Moles of each gas that a leg carries, by name."""
    fluid = leg.stream.fluid
    return {gas: leg.stream.flow * x for gas, x in zip(fluid.gases, fluid.z, strict=True)}


def test_no_part_makes_or_loses_a_gas(solution):
    balance = defaultdict(lambda: defaultdict(float))
    for leg in solution.layout.legs(solution):
        for gas, moles in amounts(leg).items():
            balance[leg.part][gas] += moles * (bool(leg.start) - bool(leg.end))
    for part, gases in balance.items():
        if part != "precooling stage":  # its own fluid runs there
            assert max(map(abs, gases.values())) < 1e-9, part


def test_every_part_balances_its_energy(solution):
    work = solution.compression.work
    for part in solution.layout.components(solution):
        entering = sum(flow * state.enthalpy for flow, state in part.entering)
        leaving = sum(flow * state.enthalpy for flow, state in part.leaving)
        gained = part.work + sum(heat for heat, _ in part.heats)
        assert abs(entering + gained - leaving) < 1e-6 * work, part.name


def test_where_a_leg_ends_another_begins(solution):
    legs = solution.layout.legs(solution)
    begun, ended = ({getattr(leg, end) for leg in legs} - {None} for end in ("start", "end"))
    feed = {places.FEED_SUPPLY} | {place for place in ended if place.startswith("vented")}
    parted = {places.PRODUCT, places.FLASH_VAPOUR, places.FEED_THROTTLE_OUTLET}  # the feed's throttle parts it in two
    assert begun ^ ended <= feed | parted


def test_both_sides_of_every_section_exchange_the_same_heat(solution):
    for section in solution.sections:
        heats = [
            sum(leg.stream.enthalpy_of(solution.states[leg.end]) - leg.stream.enthalpy_of(solution.states[leg.start]) for leg in side)
            for side in (section.high, section.low)
        ]
        assert heats[0] < 0.0 < heats[1]
        assert section.leaked(solution.states) - heats[0] == pytest.approx(heats[1], rel=1e-6)


def test_a_stated_conductance_is_reached(solution):
    if solution.layout.circuit.recuperator_conductance is not None:
        assert solution.conductance == pytest.approx(90.0, rel=1e-5)


def test_all_that_leaks_in_reaches_the_recuperator_or_the_cold_end(solution):
    reached = sum(section.leaked(solution.states) for section in solution.sections) + solution.leak.at_cold_end
    assert reached == pytest.approx(solution.leak.total, abs=1e-6 * solution.cooling)  # where its rounds end
    assert (solution.leak.total > 1.0) == (solution.layout.circuit.insulation is not None)


# a kind of circuit made here


RETURN, HEAT = "recuperator_return", 300.0  # J/mol


class WarmLine(Layout):
    """A plain circuit whose suction line takes up heat from the room."""

    def choose(self, points, last, turn):
        (recuperator,), choice = Plain(self.fluid, self.circuit).choose(points, last, turn)
        low = tuple(dataclasses.replace(leg, end=RETURN) for leg in recuperator.low)
        return (dataclasses.replace(recuperator, low=low),), choice

    def states(self, sections, choice):
        found = Plain(self.fluid, self.circuit).states(sections, choice)
        back = found[places.COMPRESSOR_INLET]
        warmed = self.fluid.hp(back.enthalpy + HEAT, back.pressure)
        return found | {places.COMPRESSOR_INLET: warmed, RETURN: back}

    def heats(self, solution):
        return super().heats(solution) | {"suction line": ((HEAT, self.circuit.ambient_temperature),)}

    def legs(self, solution):
        (recuperator,) = solution.sections
        line = Leg("suction line", RETURN, places.COMPRESSOR_INLET, self.blend)
        return (*self.shaft_legs(), *recuperator.high, *self.cold_legs(self.blend), *recuperator.low, line)


class WarmLineCircuit(ThrottleCircuit):
    """To be told apart by its class."""


def test_a_kind_is_one_class_and_a_line_in_the_list(model_of, monkeypatch):
    cold_return = {"aftercooler_approach": 0.0, "recuperator_approach": 5.0}
    fluid, plain = Fluid(model_of(GASES), Z), machine(cold_temperature=125.0, **cold_return, **DROPS)
    monkeypatch.setitem(solve.LAYOUTS, WarmLineCircuit, WarmLine)
    values = {entry.name: getattr(plain, entry.name) for entry in dataclasses.fields(plain)}
    alone, warmed = solve_circuit(fluid, plain, 32), solve_circuit(fluid, WarmLineCircuit(**values), 32)
    assert warmed.cooling_capacity == pytest.approx(alone.cooling_capacity, rel=1e-3)
    assert warmed.cooling_power < alone.cooling_power  # warmer gas is thinner
    inlet, back = (warmed.points[place].enthalpy for place in (places.COMPRESSOR_INLET, RETURN))
    assert inlet - back == pytest.approx(HEAT, rel=1e-9)
    lost = {item.component: item.exergy for item in warmed.exergy}
    assert lost["suction line"] > 0.0  # the gas is colder than the room
    assert warmed.energy_residual < 1e-6 and warmed.exergy_residual < 1e-6
