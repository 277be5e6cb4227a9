"""The greatest load of given compressors: against a grid of temperatures, put back as a stated load, limits, refusals."""

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from cascade_samples import LIMITS, sample_cascade
from cli_samples import refusal, written

from mixjt.cascade.design import CascadeRequest, design_cascade
from mixjt.cascade.greatest_load import greatest_load, load_at, unused
from mixjt.cascade.stages import solve_cascade
from mixjt.cli.app import main
from mixjt.errors import InputError, MixjtError, UnreachableError
from mixjt.parts.stage_fluid import pure_fluid

DEMO = Path(__file__).parent.parent / "mixtures-demo"
HEAD = (DEMO / "preamp-cascade.toml").read_text().partition("[cascade]")[0]
PAIR = tuple(pure_fluid(name) for name in ("ethane", "propane"))


def given(*displacements, **changed):
    limits = replace(changed.pop("limits", LIMITS), displacements=displacements)
    return sample_cascade(**({"inventories": (), "limits": limits} | changed))


def carried(machine, fluids, between):
    """The load [W] between temperatures, from the displacements that two loads need: these go straight with the load."""
    needs = []
    for load in (20.0, 40.0):
        found = solve_cascade(replace(machine, load=load), fluids, between)
        needs.append(np.array(found.displacements) / machine.limits.displacements)
    steep = (needs[1] - needs[0]) / 20.0
    return float(np.min(20.0 + (1.0 - needs[0]) / steep))


@pytest.mark.parametrize("displacements", [(5e-6, 8e-6), (5e-6, 5e-6), (8e-6, 5e-6)])
def test_two_stages_against_a_grid_of_temperatures(displacements):
    machine = given(*displacements)
    result, _ = greatest_load(machine, PAIR)
    grid = {t: carried(machine, PAIR, (t,)) for t in np.arange(222.0, 262.0, 1.0)}
    best = max(grid, key=grid.get)
    assert result.cascade.load >= grid[best] and result.cascade.load == pytest.approx(grid[best], rel=0.02)
    assert result.intermediate_temperatures[0] == pytest.approx(best, abs=1.0)
    assert result.displacements == pytest.approx(displacements, rel=1e-6) and not unused(result)


def test_the_load_put_back_needs_what_is_given():
    """As a stated load a percent less is carried within these displacements, a percent more is not."""
    machine = given(5e-6, 8e-6)
    found, _ = greatest_load(machine, PAIR)
    back = solve_cascade(replace(machine, load=found.cascade.load), PAIR, found.intermediate_temperatures)
    assert back.displacements == pytest.approx((5e-6, 8e-6), rel=1e-3)
    assert back.total_power == pytest.approx(found.total_power, rel=1e-9) and not back.warnings[1:]
    less, more = (replace(machine, load=share * found.cascade.load) for share in (0.99, 1.01))
    carries = design_cascade(CascadeRequest(less, fluids=PAIR)).best
    assert max(np.array(carries.displacements) / (5e-6, 8e-6)) < 1.0 + 1e-6
    with pytest.raises(UnreachableError):
        design_cascade(CascadeRequest(more, fluids=PAIR))


def test_three_stages_against_a_grid():
    fluids = tuple(pure_fluid(name) for name in ("ethylene", "R-32", "propane"))
    machine = given(6e-6, 6e-6, 9e-6, cold_temperature=185.0)
    result, _ = greatest_load(machine, fluids)
    assert result.displacements == pytest.approx((6e-6, 6e-6, 9e-6), rel=1e-5)
    for colder in (-4.0, 0.0, 4.0):
        for warmer in (-4.0, 0.0, 4.0):
            between = np.array(result.intermediate_temperatures) + (colder, warmer)
            load = carried(machine, fluids, between)
            assert load == pytest.approx(result.cascade.load, rel=1e-5) if colder == warmer == 0.0 else load < result.cascade.load


def test_one_stage_carries_what_its_compressor_moves():
    fluid, machine = (pure_fluid("propane"),), given(5e-6, cold_temperature=240.0)
    result, _ = greatest_load(machine, fluid)
    assert result.displacements == pytest.approx((5e-6,)) and result.cascade.load == pytest.approx(carried(machine, fluid, ()))


def test_a_stage_stopped_by_a_limit_leaves_its_compressor_idle():
    limits = replace(LIMITS, pressure_ratio=7.0)
    result, _ = greatest_load(given(2e-5, 4e-6, limits=limits, cold_temperature=202.0), PAIR)
    colder, warmer = result.stages
    assert colder.cycle.pressure_ratio == pytest.approx(7.0, rel=1e-5) and colder.displacement < 1.9e-5
    assert warmer.displacement < 4e-6 * (1.0 + 1e-6)
    (said,) = unused(result)
    assert said.startswith("stage 1 uses") and said.endswith("its pressure ratio is at its limit")


def test_at_stated_temperatures_the_weaker_stage_decides():
    machine = given(5e-6, 8e-6)
    for between in ((230.0,), (245.0,)):
        assert load_at(machine, PAIR, between) == pytest.approx(carried(machine, PAIR, between), rel=1e-9)
    design = design_cascade(CascadeRequest(machine, fluids=PAIR, intermediates=(245.0,), greatest=True))
    assert design.best.cascade.load == load_at(machine, PAIR, (245.0,))


def test_choice_of_fluids_is_the_best_of_all_pairs():
    names = ("ethylene", "ethane", "propane", "R-134a")
    machine = given(5e-6, 8e-6)
    design = design_cascade(CascadeRequest(machine, available=names, stages=2, greatest=True))
    loads = {}
    for cold in names:
        for warm in set(names) - {cold}:
            try:
                found, _ = greatest_load(machine, (pure_fluid(cold), pure_fluid(warm)))
            except MixjtError:
                continue
            loads[cold, warm] = found.cascade.load
    assert design.best.fluids == max(loads, key=loads.get) and design.best.cascade.load == max(loads.values())
    assert [one.cascade.load for one in design.candidates] == sorted(loads.values(), reverse=True)[:3]


def test_refusals():
    with pytest.raises(UnreachableError, match="carry no load besides the heat leaks"):
        greatest_load(given(1e-8, 1e-8), PAIR)
    with pytest.raises(UnreachableError, match="carry no load besides the heat leaks"):
        load_at(given(1e-8, 1e-8), PAIR, (240.0,))
    with pytest.raises(UnreachableError, match="at the lowest within the limits"):
        greatest_load(given(5e-6, 8e-6, cold_temperature=170.0), PAIR)
    with pytest.raises(InputError, match="needs the displacements"):
        CascadeRequest(sample_cascade(), greatest=True)


def test_a_case_of_two_given_compressors(tmp_path, capsys):
    """Without any load in the case."""
    head = HEAD.replace('load = "15 W"', "")
    fair = 'evaporator_approach = "3 K"\nsuperheat = "3 K"\nexchanger_effectiveness = [0]\nsuction_drop = ["0.03 bar"]\n'
    table = f'[cascade]\nfluids = ["ethane", "propane"]\n{fair}displacement = ["5.1 cm3", "7 cm3"]\n'
    case = written(tmp_path, head + table)
    assert main(["cascade", case, "--json"]) == 0
    record = json.loads(capsys.readouterr().out)
    assert record["stages"][1]["displacement_m3_per_rev"] == pytest.approx(7e-6, rel=1e-5)
    assert record["load_W"] == record["candidates"][0]["load_W"] == record["suction_warmings"][0]["load_W"] > 0.0
    assert main(["cascade", case]) == 0
    assert "the greatest that the stated compressors carry" in " ".join(capsys.readouterr().out.split())
    both = written(tmp_path, head + table + 'largest_displacement = ["5 cm3"]\n')
    assert "give either displacement or largest_displacement" in refusal(capsys, "cascade", both)
    three = written(tmp_path, head + table.replace('"7 cm3"', '"7 cm3", "9 cm3"'))
    assert "[cascade] displacement: 3 values for 2 stages" in refusal(capsys, "cascade", three)
