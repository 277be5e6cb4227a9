"""Limits of a compressor, each where it is measured: in results, warnings, searches, changes and cool-downs."""

import json
import re
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import circuit_samples
import CoolProp.CoolProp as CP
import numpy as np
import pytest
from cascade_samples import LIMITS as CASCADE_LIMITS
from toy_model import PureFluid

from mixjt.blend import pure_ingredient
from mixjt.cascade.cascade_limits import stage_excesses
from mixjt.case.case import read_case
from mixjt.circuit.solve import ThrottleCircuit, solve_circuit
from mixjt.cli.app import main
from mixjt.errors import InputError, UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.parts.compressor.compression import Compressor, compress, supply_current
from mixjt.parts.compressor.limits import LIMITS, known_limits, limit_warnings
from mixjt.parts.stage_fluid import pure_fluid
from mixjt.parts.vapour_stage import VapourStage, stage_cycle
from mixjt.studies import cooldown
from mixjt.studies.recipe import recipe_of
from mixjt.studies.search.search import search
from mixjt.studies.search.search_request import Bottle, SearchRequest
from mixjt.studies.sensitivity import SensitivityRequest, solve_sensitivity

DEMO = Path(__file__).parent.parent / "mixtures-demo" / "receiver-120K.toml"
THREE = ("nitrogen", "methane", "propane")
FREE = {"largest_discharge_temperature": 480.0, "largest_valve_temperature": 480.0, "largest_pressure_ratio": 20.0}
ONE = np.ones(1)


def machine(**changes) -> Compressor:
    return Compressor("rotary", 6.4e-6, 48.0, **(FREE | {"supply_voltage": 230.0} | changes))


def circuit(**changes) -> ThrottleCircuit:
    return circuit_samples.machine(discharge_pressure=15.0e5, cold_temperature=130.0, compressor=machine(**changes))


@pytest.fixture(scope="module")
def propane():
    return PureFluid("propane", "Propane")


# --- the two places of the discharge


def test_gas_at_the_valve_has_all_of_the_work_and_none_of_the_shell_s_loss(propane):
    """CoolProp alone: propane from 1.5 bar and 280 K to 12 bar, isentropic efficiency 0.6, motor 0.8, the shell in the gas."""
    suction = propane.state_tp(ONE, 280.0, 1.5e5)
    found = compress(Fluid(propane, ONE), suction, 12e5, machine(
        isentropic_efficiency=0.6, motor_efficiency=0.8, suction_heating=0.0, leakage=0.0, idle_power=0.0
    ), 295.0)  # fmt: skip
    lost = found.shell_heat / found.electrical_work
    h1, s1 = (CP.PropsSI(what, "T", 280.0, "P", 1.5e5, "Propane") for what in ("Hmolar", "Smolar"))
    work = (CP.PropsSI("Hmolar", "Smolar", s1, "P", 12e5, "Propane") - h1) / 0.6
    at_valve = CP.PropsSI("T", "Hmolar", h1 + work, "P", 12e5, "Propane")
    in_line = CP.PropsSI("T", "Hmolar", h1 + work / 0.8 * (1.0 - lost), "P", 12e5, "Propane")
    assert found.valve_temperature == pytest.approx(at_valve, abs=1e-4)
    assert found.discharge_temperature == pytest.approx(in_line, abs=1e-4)
    assert at_valve - in_line > 10.0


def test_limits_of_practice():
    """107 degC (225 degF) on the discharge line, 150 degC in the gas at the valve: common practice, no source."""
    for kind in ("reciprocating", "rotary", "scroll"):
        usual = Compressor(kind, 6e-6, 48.0)
        assert usual.largest_discharge_temperature == pytest.approx((225.0 - 32.0) / 1.8 + 273.15, abs=0.3)
        assert usual.largest_valve_temperature == pytest.approx(423.15)
        assert [limit.name for limit in known_limits(usual)] == [
            "discharge temperature", "valve temperature", "pressure ratio",
        ]  # fmt: skip


# --- warnings


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"largest_discharge_temperature": 340.0}, "the discharge is too hot: {discharge_temperature:.4g} K"),
        ({"largest_valve_temperature": 360.0}, "the gas at the discharge valve is too hot: {valve_temperature:.1f} K"),
        ({"largest_supply_current": 0.2}, "the motor draws {supply_current:.3g} A, more than the 0.2 A of its label or supply"),
        ({"largest_electrical_power": 40.0}, "the compressor draws {electrical_power:.3g} W, more than the 40 W allowed"),
        ({"largest_suction_pressure": 1.2e5}, "the suction pressure of 1.5 bar is above the 1.2 bar"),
        ({"largest_pressure_ratio": 6.0}, "the pressure ratio of 8 is beyond the 6 "),
        ({"largest_supply_current": 0.2, "supply_voltage": None}, "not compared with the largest, 0.2 A: state voltage"),
    ],
)
def test_each_limit_has_its_warning(propane, changes, told):
    suction = propane.state_tp(ONE, 280.0, 1.5e5)
    found = compress(Fluid(propane, ONE), suction, 12e5, machine(**changes), 295.0)
    (text,) = limit_warnings(found, machine(**changes))
    assert told.format(**{limit.attribute: getattr(found, limit.attribute) for limit in LIMITS
                          if limit.attribute in told}) in text  # fmt: skip
    assert limit_warnings(found, machine()) == []


@pytest.mark.parametrize("name", ["largest_supply_current", "largest_suction_pressure", "largest_valve_temperature"])
def test_limits_that_are_none_are_refused(name):
    with pytest.raises(InputError, match=f"{name.replace('_', ' ')} must be a number above 0"):
        machine(**{name: 0.0})


def edited(tmp_path, *changes) -> str:
    text = DEMO.read_text()
    for old, new in changes:
        text, count = re.subn(f"(?m){old}", new, text)
        assert count == 1
    case = tmp_path / "case.toml"
    case.write_text(text)
    return str(case)


def test_a_label_s_current_counts_in_cycle_and_search_requests(tmp_path, capsys):
    case = edited(tmp_path, ('^rated_current = "2.2 A"', 'rated_current = "0.9 A"'))
    assert main(["cycle", case, "--json"]) == 0
    record = json.loads(capsys.readouterr().out)
    assert record["supply_current_A"] > 0.9
    assert any("more than the 0.9 A of its label" in text for text in record["warnings"])
    assert record["valve_temperature_K"] >= record["discharge_temperature_K"]
    assert "supply current" in [limit.name for limit in read_case(case).search.limits]


def test_a_label_limits_a_stated_displacement_too(tmp_path):
    """R-22 boils at 6.8 bar at 284 K (any table); the rating's 280.4 K and 15 K more give 295.4 K, 9.7 bar."""
    compressor = read_case(DEMO).circuit.compressor
    assert compressor.displacement == pytest.approx(6.4e-6) and compressor.largest_supply_current == pytest.approx(2.2)
    assert compressor.largest_suction_pressure == pytest.approx(CP.PropsSI("P", "T", 295.37, "Q", 1, "R22"), rel=0.002)
    locked = edited(tmp_path, ("^rated_current.*$", ""))
    assert read_case(locked).circuit.compressor.largest_supply_current == pytest.approx(11.0 / 5.0)
    derived = edited(tmp_path, ('^displacement = "6.4 cm3".*$', ""))
    assert read_case(derived).circuit.compressor.largest_supply_current == pytest.approx(2.2)
    assert read_case(derived).circuit.compressor.largest_suction_pressure == compressor.largest_suction_pressure


def test_limits_of_the_supply_stand_in_the_case(tmp_path, capsys):
    """A fuse or inverter may allow less than the label; 230 V x 0.8 A x power factor of the case is less than the pump needs."""
    stated = ("^voltage = .*$", 'voltage = "230 V"\nlargest_current = "0.8 A"\nlargest_power = "150 W"')
    case = edited(tmp_path, stated)
    assert main(["cycle", case, "--json"]) == 0
    record = json.loads(capsys.readouterr().out)
    assert record["supply_current_A"] > 0.8 and record["compressor_power_W"] > 150.0
    told = " ".join(record["warnings"])
    assert "more than the 0.8 A of its label or supply" in told and "W, more than the 150 W allowed" in told
    assert {"supply current", "electrical power"} <= {limit.name for limit in read_case(case).search.limits}
    for without in ([], [('^displacement = "6.4 cm3".*$', "")]):  # a label's displacement, too
        compressor = read_case(edited(tmp_path, stated, *without)).circuit.compressor
        assert (compressor.largest_supply_current, compressor.largest_electrical_power) == (0.8, 150.0)


# --- the search


def request(limited: ThrottleCircuit, **changes) -> SearchRequest:
    bottles = tuple(Bottle(pure_ingredient(name)) for name in THREE)
    return SearchRequest(limited, bottles, samples=128, shortlist=3, **changes)


@pytest.fixture(scope="module")
def unlimited(model_of):
    return search(model_of(THREE), request(circuit(), discharge_pressure_range=(10e5, 16e5))).candidates[0]


@pytest.mark.parametrize(
    ("attribute", "share", "rounding"),
    [("supply_current", 0.9, 1e-4), ("electrical_power", 0.9, 0.02), ("valve_temperature", 0.97, 0.05)],
)
def test_the_search_keeps_limits_of_current_power_and_valve(model_of, unlimited, attribute, share, rounding):
    """At stated pressures the current hardly depends on the blend: the search is let choose the discharge pressure."""
    most = share * getattr(unlimited, attribute)
    limited = circuit(**{f"largest_{attribute}": most})
    found = search(model_of(THREE), request(limited, discharge_pressure_range=(10e5, 16e5)))
    assert all(getattr(each, attribute) <= most + rounding for each in found.candidates)
    assert 0.5 * unlimited.cooling_power < found.candidates[0].cooling_power < unlimited.cooling_power


def test_the_search_keeps_the_label_s_suction_pressure_where_it_may_choose(model_of):
    wanted = request(circuit(largest_suction_pressure=2.2e5), suction_pressure_range=(1.5e5, 3.0e5))
    found = search(model_of(THREE), wanted).candidates[0]
    free = search(model_of(THREE), replace(wanted, circuit=circuit())).candidates[0]
    assert free.suction_pressure > 2.3e5 > 2.21e5 > found.suction_pressure
    assert not any(limit.attribute == "suction_pressure" for limit in request(wanted.circuit).limits)


def test_a_current_that_no_blend_keeps_is_said(model_of):
    with pytest.raises(UnreachableError, match=r"misses the supply current by [\d.]+ %; lower the pressures"):
        search(model_of(THREE), request(circuit(largest_supply_current=0.2)))


# --- changes, cool-down, cascade


def test_sensitivity_names_the_limits_that_a_change_passes(model_of):
    model, z = model_of(THREE), np.array([0.2, 0.4, 0.4])
    draws = solve_circuit(Fluid(model, z), circuit()).supply_current
    limited = circuit(largest_supply_current=1.001 * draws)
    recipe = recipe_of([pure_ingredient(name) for name in THREE], z, THREE)
    wanted = SensitivityRequest(fraction_steps=(0.01,))
    found = solve_sensitivity(model, recipe, limited, wanted)
    assert found.limits_passed == ()
    worse = {(one.change.input, np.sign(one.change.amount)) for one in found.effects if "supply current" in one.limits_passed}
    # less efficient, or more pressure to work against: more power at the same flow
    assert {("isentropic efficiency", -1.0), ("discharge pressure", 1.0)} <= worse
    assert ("isentropic efficiency", 1.0) not in worse


def test_cool_down_speaks_of_amperes_and_of_every_limit():
    compressor = machine(
        largest_supply_current=2.0, largest_suction_pressure=3e5, largest_valve_temperature=420.0,
        largest_discharge_temperature=380.0, largest_pressure_ratio=9.0, largest_electrical_power=700.0,
    )  # fmt: skip

    def state(cold, power, suction):
        compression = SimpleNamespace(
            electrical_power=power, supply_current=supply_current(power, compressor), suction_pressure=suction,
            discharge_temperature=370.0, valve_temperature=430.0, pressure_ratio=5.0,
        )  # fmt: skip
        return SimpleNamespace(
            cold_temperature=cold, compression=compression, compressor_inlet=SimpleNamespace(liquids=()), discharge_pressure=2e6
        )

    fixed = SimpleNamespace(circuit=SimpleNamespace(ambient_temperature=295.0, compressor=compressor))
    told = cooldown._warnings(fixed, [state(295.0, 725.0, 3.5e5), state(200.0, 300.0, 2e5)], [], None)
    # 725 W / (230 V * 0.9) = 3.5 A
    assert "with the cold end at 295 K the motor draws 3.5 A, more than the 2 A of its label" in " ".join(told)
    assert any("with the cold end at 295 K the suction pressure of 3.5 bar is above the 3 bar" in text for text in told)
    assert any("with the cold end at 295 K the compressor draws 725 W, more than the 700 W" in text for text in told)
    assert any("the gas at the discharge valve is too hot: 430 K" in text for text in told)
    assert any("greatest power 725 W (3.5 A) with the cold end at 295 K" in text for text in told)
    assert len(told) == 5


def test_a_cascade_s_stages_keep_the_valve_s_limit():
    stage = VapourStage(250.0, 315.0, Compressor("reciprocating", 5e-6, 48.0), superheat=5.0)
    cycle = stage_cycle(pure_fluid("propane"), stage)
    assert cycle.valve_temperature > cycle.discharge_temperature
    between = replace(CASCADE_LIMITS, valve_temperature=0.5 * (cycle.valve_temperature + cycle.discharge_temperature))
    broken = [one for one in stage_excesses(cycle, between, 0) if one.relative > 0.0]
    assert ["gas at the discharge valve" in one.text for one in broken] == [True]
