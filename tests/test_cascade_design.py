"""Choice of fluids and temperatures: against brute force, limits, reasons, interruption, refusals."""

from dataclasses import replace
from itertools import permutations

import numpy as np
import pytest
from cascade_samples import LIMITS, sample_cascade

from mixjt.cascade.cascade_limits import stage_excesses
from mixjt.cascade.cascade_reach import chain_reach
from mixjt.cascade.cascade_records import Cascade, CascadeLimits
from mixjt.cascade.design import CascadeRequest, default_fluids, design_cascade
from mixjt.cascade.fluid_table import Ladder
from mixjt.cascade.optimum import best_cascade
from mixjt.cascade.stages import cascade_cycles, solve_cascade
from mixjt.cascade.warming import warmings
from mixjt.errors import InputError, UnknownGasError, UnreachableError
from mixjt.parts.compressor.compression import Compressor
from mixjt.parts.stage_fluid import pure_fluid

FEW = ("ethylene", "ethane", "propane", "isobutane", "R-134a")
PLAIN = {"exchanger_effectiveness": (0.0,), "suction_drops": (0.0,), "discharge_drops": (0.0,), "inventories": ()}


def cascade(**changed):
    return sample_cascade(**(PLAIN | changed))


def fluids(*names):
    return tuple(pure_fluid(name) for name in names)


def power_within_limits(machine, chosen, between):
    """Power [W] from the states of the stages alone; infinite where a limit is broken."""
    try:
        cycles = cascade_cycles(machine, chosen, between)
    except (InputError, UnreachableError):
        return np.inf
    load, power = machine.load, 0.0
    for number, cycle in enumerate(cycles):
        heat = load + machine.of_stage("heat_leaks", number)
        if any(one.relative > 1e-7 for one in stage_excesses(cycle, machine.limits, number, heat)):
            return np.inf
        power += heat * cycle.power_per_heat
        load = heat * cycle.rejected_per_heat
    return power


def test_two_stages_against_a_grid_of_one_kelvin():
    machine, chosen = cascade(), fluids("ethylene", "propane")
    grid = np.arange(195.0, 300.0, 1.0)
    powers = np.array([power_within_limits(machine, chosen, (at,)) for at in grid])
    assert np.isfinite(powers).sum() > 5
    best, _ = best_cascade(machine, chosen, (240.0,))
    assert best.total_power <= powers.min() * (1.0 + 1e-9)
    # the grid is at most half a kelvin away from an optimum, on its limit or not
    slope = np.nanmax(np.abs(np.diff(powers[np.isfinite(powers)])))
    assert best.total_power >= powers.min() - slope
    assert abs(best.intermediate_temperatures[0] - grid[powers.argmin()]) <= 1.0


def test_an_optimum_inside_its_limits_is_where_the_slope_vanishes():
    machine = cascade(limits=replace(LIMITS, pressure_ratio=None, discharge_temperature=None))
    chosen = fluids("ethylene", "propane")
    best, _ = best_cascade(machine, chosen, (230.0,))
    at = best.intermediate_temperatures[0]
    near = [power_within_limits(machine, chosen, (at + shift,)) for shift in (-2.0, 0.0, 2.0)]
    assert near[1] < near[0] and near[1] < near[2]
    assert abs(near[2] - near[0]) < 0.1 * (near[0] + near[2] - 2.0 * near[1])  # the vertex is within 0.1 K


def test_three_stages_against_a_grid_of_three_kelvin():
    machine, chosen = cascade(), fluids("ethane", "R-32", "R-152a")
    grid = np.arange(205.0, 300.0, 3.0)
    powers = {
        (a, b): power_within_limits(machine, chosen, (a, b)) for a in grid for b in grid if b > a + 5.0
    }
    spot, least = min(powers.items(), key=lambda item: item[1])
    best, _ = best_cascade(machine, chosen, (232.0, 265.0))
    assert best.total_power <= least * (1.0 + 1e-9)
    assert best.total_power == pytest.approx(least, rel=3e-3)
    assert np.allclose(best.intermediate_temperatures, spot, atol=6.0)


def test_fluids_chosen_are_the_best_of_every_ordered_pair():
    machine = cascade()
    grid = np.arange(195.0, 300.0, 2.0)
    brute = {
        pair: min(power_within_limits(machine, fluids(*pair), (at,)) for at in grid)
        for pair in permutations(FEW, 2)
    }
    possible = {pair: power for pair, power in brute.items() if np.isfinite(power)}
    design = design_cascade(CascadeRequest(machine, available=FEW, stages=2, kept=20))
    assert design.best.fluids == min(possible, key=possible.get)
    found = {one.fluids: one.total_power for one in design.candidates}
    assert set(possible) <= set(found)
    for pair, power in possible.items():
        assert found[pair] <= power * (1.0 + 1e-9)
        assert found[pair] == pytest.approx(power, rel=0.01)
    # whatever is missing has its reason
    told = {one.fluids for one in design.ruled_out if one.role == "cascade"}
    cold = {one.fluids[0] for one in design.ruled_out if one.role == "coldest stage"}
    warm = {one.fluids[0] for one in design.ruled_out if one.role == "warmest stage"}
    missing = set(brute) - set(found)
    assert all(pair in told or pair[0] in cold or pair[1] in warm for pair in missing)


@pytest.fixture(scope="module")
def design():
    return design_cascade(CascadeRequest(cascade(), available=FEW, kept=3))


def test_every_candidate_keeps_its_limits_and_they_are_ranked(design):
    powers = [one.total_power for one in design.candidates]
    assert powers == sorted(powers) and design.best is design.candidates[0]
    for one in design.candidates:
        for stage in one.stages:
            assert stage.cycle.pressure_ratio <= 12.0 * (1.0 + 1e-6)
            assert stage.cycle.discharge_temperature <= 393.15 + 1e-4
            assert stage.cycle.suction_pressure >= 101325.0 * (1.0 - 1e-6)
        assert one.energy_residual < 1e-6 and one.exergy_residual < 1e-6
    for count, one in design.by_count.items():
        assert len(one.stages) == count
        assert one.total_power == min(r.total_power for r in design.candidates if len(r.stages) == count)


def test_figures_of_the_design_are_those_of_its_best(design):
    best = design.best
    assert design.total_power == best.total_power and design.compressors == len(best.stages)
    assert design.displacements == best.displacements
    assert design.flammable_mass is None  # no volumes stated
    assert design.condenser_conductance == sum(one.conductance for one in best.condensers)
    assert design.messages[0].startswith("no fluids within the limits for 1")


def test_the_same_request_gives_the_same_answer(design):
    again = design_cascade(CascadeRequest(cascade(), available=FEW, kept=3))
    assert [one.fluids for one in again.candidates] == [one.fluids for one in design.candidates]
    assert again.best.intermediate_temperatures == design.best.intermediate_temperatures


@pytest.mark.parametrize("chosen", [("propane",), ("ethane", "propane"), ("ethylene", "R-32", "isobutane")])
def test_the_lowest_temperature_is_reachable_and_nothing_below_it(chosen):
    machine = cascade(cold_temperature=240.0)
    lowest = chain_reach(machine, fluids(*chosen)).temperature
    count = len(chosen)
    above = CascadeRequest(cascade(cold_temperature=lowest + 1.0), fluids=fluids(*chosen))
    assert len(design_cascade(above).best.stages) == count
    with pytest.raises(UnreachableError, match="at the lowest within the limits|below the least|beyond|hotter"):
        design_cascade(CascadeRequest(cascade(cold_temperature=lowest - 1.0), fluids=fluids(*chosen)))


def test_a_displacement_limit_moves_the_optimum_and_is_kept():
    machine, chosen = cascade(), fluids("ethane", "propane")
    free, _ = best_cascade(machine, chosen, (245.0,))
    allowed = (free.displacements[0] * 2.0, 0.9 * free.displacements[1])
    tight = cascade(limits=replace(LIMITS, displacements=allowed, discharge_temperature=None, pressure_ratio=None))
    result = design_cascade(CascadeRequest(tight, fluids=chosen)).best
    assert result.displacements[1] <= allowed[1] * (1.0 + 1e-6)
    assert result.intermediate_temperatures[0] > free.intermediate_temperatures[0]
    with pytest.raises(UnreachableError, match="no intermediate temperatures|cm3 per revolution"):
        small = cascade(limits=replace(LIMITS, displacements=(1e-8,)))
        design_cascade(CascadeRequest(small, fluids=chosen))


def test_stated_temperatures_are_taken_as_they_are_with_warnings():
    request = CascadeRequest(cascade(), fluids=fluids("ethane", "isobutane"), intermediates=(240.0,))
    result = design_cascade(request).best
    assert result.intermediate_temperatures == (240.0,)
    assert result.total_power == solve_cascade(request.cascade, request.fluids, (240.0,)).total_power
    assert any("below atmospheric" in text for text in result.warnings)


def test_reasons_name_fluid_and_limit():
    request = CascadeRequest(cascade(), available=(*FEW, "carbon dioxide", "methane"), stages=2, kept=2)
    reasons = {(one.role, one.fluids): one.reason for one in design_cascade(request).ruled_out}
    assert "below its triple point" in reasons["coldest stage", ("carbon dioxide",)]
    assert "isobutane's suction of" in reasons["coldest stage", ("isobutane",)]
    assert "methane is above its critical temperature" in reasons["warmest stage", ("methane",)]
    assert "methane is above its critical temperature" in reasons["cascade", ("methane", "propane")]


def test_an_interruption_keeps_what_was_found():
    def stop(stage, done, total, least):
        if stage == "3 stages":
            raise KeyboardInterrupt

    found = design_cascade(CascadeRequest(cascade(), available=FEW, kept=2), stop)
    assert found.interrupted and set(found.by_count) == {2}
    assert found.messages[0].startswith("interrupted")

    def at_once(stage, done, total, least):
        raise KeyboardInterrupt

    nothing = design_cascade(CascadeRequest(cascade(), available=FEW, kept=2), at_once)
    assert nothing.interrupted and nothing.best is None and nothing.candidates == ()


def test_what_no_fluid_can_do_is_refused_with_an_example():
    with pytest.raises(UnreachableError, match="no cascade of 1 stage keeps every limit; for instance"):
        design_cascade(CascadeRequest(cascade(), available=FEW, stages=1))
    with pytest.raises(UnreachableError, match=r"ethane \+ propane reach .* at the lowest within the limits"):
        design_cascade(CascadeRequest(cascade(cold_temperature=180.0), fluids=fluids("ethane", "propane")))


@pytest.mark.parametrize(
    "stated, error, complaint",
    [
        ({"stages": 5}, InputError, "1 to 4 stages, got 5"),
        ({"available": ("ethane", "unobtainium")}, UnknownGasError, "unobtainium"),
        ({"intermediates": (240.0,)}, InputError, "need the fluids"),
        ({"fluids": fluids("ethane"), "stages": 2}, InputError, "1 fluids are given for 2"),
        ({"kept": 0}, InputError, "at least one"),
    ],
)
def test_bad_requests(stated, error, complaint):
    with pytest.raises(error, match=complaint):
        CascadeRequest(cascade(), **stated)


def test_default_fluids_are_known_and_exclude_what_is_phased_out():
    names = default_fluids()
    assert {"propane", "ethylene", "R-134a", "R-404A"} <= set(names)
    assert not {"R-12", "R-22", "oxygen", "neon", "krypton"} & set(names)


def test_what_warming_cold_suction_gas_costs():
    """The three powers of docs/cascade.md (regression values), and their order."""
    rotary = Compressor("rotary", 6.4e-6, 48.3, 0.02, isentropic_efficiency=0.65, motor_efficiency=0.82)
    machine = Cascade(
        295.15, 120.0, 12.0, rotary, exchanger_effectiveness=(0.0,), desuperheater_approach=10.0, suction_temperature=233.15,
        limits=CascadeLimits(pressure_ratio=9.0, discharge_temperature=393.15),
    )  # fmt: skip
    some = ("methane", "tetrafluoromethane", "ethane", "ethylene", "propylene")  # the best of all are among them
    power = {one.by: one.result.total_power for one in warmings(CascadeRequest(machine, available=some), 4)}
    assert power == {
        "hot gas": pytest.approx(107.4, abs=0.5), "surroundings": pytest.approx(178.3, abs=0.5),
        "nothing": pytest.approx(146.7, abs=0.5),
    }  # fmt: skip


@pytest.mark.parametrize("count, cold", [(2, 205.0), (3, 175.0), (4, 175.0)])
@pytest.mark.parametrize("loose", [False, True])
def test_rungs_that_are_left_out_hide_no_combination(monkeypatch, count, cold, loose):
    machine, chosen = cascade(cold_temperature=cold), fluids("ethylene", "ethane", "propane", "R-134a")
    found = Ladder(machine, [chosen] * count).prospects(99, loose)

    def all_pairs(self, number):
        top = len(self.temperatures) - 1
        for lower in range(top):
            yield ((lower, upper) for upper in ((top,) if number == self.count - 1 else range(lower + 1, top)))

    monkeypatch.setattr(Ladder, "_runs", all_pairs)
    assert found == Ladder(machine, [chosen] * count).prospects(99, loose) != []


def test_pairs_that_do_not_serve_are_told_where_that_is_asked_for_or_none_does():
    def told(**changed):
        wanted = CascadeRequest(cascade(), available=FEW, stages=2, **changed)
        return [one for one in design_cascade(wanted).ruled_out if one.role == "cascade"]

    assert told() and not told(explained=False)
    with pytest.raises(UnreachableError, match="no cascade of 2 stages"):
        design_cascade(CascadeRequest(cascade(cold_temperature=120.0), available=FEW, stages=2, explained=False))


def test_compressors_that_are_too_small_are_the_reason_told():
    machine = cascade(limits=replace(LIMITS, displacements=(1e-8,)))
    with pytest.raises(UnreachableError, match="need .* and .* per revolution, more than the displacements allowed") as refused:
        design_cascade(CascadeRequest(machine, available=FEW, stages=2))
    free = design_cascade(CascadeRequest(cascade(limits=LIMITS), available=FEW, stages=2, kept=1)).best
    assert " + ".join(stage.fluid.name for stage in free.stages) in str(refused.value)
    assert all(f"{1e6 * one:.4g} cm3" in str(refused.value) for one in free.displacements)
