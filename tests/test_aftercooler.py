"""An aftercooler of stated size: the outlet temperature of the blend, alone and within every kind of circuit."""

import dataclasses
import math
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from circuit_samples import COMPRESSOR, DROPS, machine
from ht import effectiveness_from_NTU

from mixjt.blend import pure_ingredient
from mixjt.case.case import read_case
from mixjt.circuit.liquefier_result import FeedPassage
from mixjt.circuit.solve import solve_circuit, with_feed, with_precooler, with_separator
from mixjt.errors import InputError
from mixjt.fluid.feed import nitrogen_feed
from mixjt.fluid.fluid import Fluid
from mixjt.parts.aftercooler import aftercooler_outlet, conductance_to_ambient
from mixjt.parts.air_coil import CLOSEST, AirCoil
from mixjt.parts.places import COMPRESSOR_OUTLET
from mixjt.parts.precooler import Precooler
from mixjt.report.circuit_report import circuit_record
from mixjt.studies.batch import batch_cooling, batch_reach
from mixjt.studies.search.search import search
from mixjt.studies.search.search_request import Bottle, SearchRequest

AMBIENT = 295.0
DEMO = Path(__file__).parent.parent / "mixtures-demo" / "receiver-120K.toml"
GASES, Z = ("nitrogen", "methane", "propane", "isobutane"), np.array([0.22, 0.285, 0.325, 0.17])


@pytest.fixture(scope="module")
def fluid(model_of):
    return Fluid(model_of(GASES), Z)


class EvenGas:
    """Of constant heat capacity [J/(mol K)]."""

    capacity = 40.0

    def sweep(self, temperatures, pressures):
        return SimpleNamespace(enthalpy=self.capacity * np.asarray(temperatures))


def outlet_of_even_gas(aftercooler, flow=0.05, hot=380.0):
    state = SimpleNamespace(temperature=hot, pressure=15e5, enthalpy=EvenGas.capacity * hot)
    return aftercooler_outlet(EvenGas(), state, 15e5, flow, aftercooler, AMBIENT)


@pytest.mark.parametrize("conductance", [0.5, 3.0, 10.0])
@pytest.mark.parametrize("face_area", [0.001, 0.01])  # of air with less and with more heat capacity than the gas
def test_a_gas_of_even_capacity_against_effectiveness(conductance, face_area):
    """The library ht's crossing of a mixed gas with unmixed air; air of 1.1966 kg/m3 at 295 K (ideal gas, by hand) and 1006 J/(kg K)."""
    air, gas = 1.1966 * 1006.0 * face_area * 1.5, 0.05 * EvenGas.capacity
    least, most = sorted((air, gas))
    kind = "crossflow, mixed Cmin" if gas < air else "crossflow, mixed Cmax"
    effectiveness = effectiveness_from_NTU(conductance / least, least / most, subtype=kind)
    outlet = outlet_of_even_gas(AirCoil(conductance, face_area, 1.5))
    assert 380.0 - outlet == pytest.approx(effectiveness * least * (380.0 - AMBIENT) / gas, rel=1e-4)


def test_plenty_of_air_and_an_endless_aftercooler():
    plenty = outlet_of_even_gas(AirCoil(3.0))
    assert plenty - AMBIENT == pytest.approx((380.0 - AMBIENT) * math.exp(-3.0 / 2.0), rel=1e-6)
    assert outlet_of_even_gas(AirCoil(1e4)) - AMBIENT == pytest.approx(CLOSEST)
    assert outlet_of_even_gas(AirCoil(3.0), hot=290.0) - AMBIENT == pytest.approx(CLOSEST)


def test_a_face_alone_is_the_condenser_of_the_textbook():
    """Incropera & DeWitt, plate-fin condenser: 0.25 m2, 2 m/s, 0.015 kg/s of 135 kJ/kg at 45 degC, air of 30 degC (from memory)."""
    assert AirCoil(face_area=0.25).to_ambient(303.15) * 15.0 == pytest.approx(0.015 * 135e3, rel=0.03)


def kinds():
    plain = machine(cold_temperature=110.0, **DROPS)
    feed = FeedPassage(pressure=10e5, temperature=295.0, approach=2.0, recover_flash=True)
    return {
        "plain": plain,
        "conductance of the recuperator stated": dataclasses.replace(plain, recuperator_conductance=70.0),
        "precooled": with_precooler(plain, Precooler(255.0)),
        "separator": with_separator(plain),
        "liquefier": with_feed(dataclasses.replace(plain, cold_temperature=95.0), nitrogen_feed(0.05, 0.01), feed, load=1.0),
    }


@pytest.mark.parametrize("kind", kinds())
def test_the_conductance_that_an_approach_takes_gives_that_approach(fluid, kind):
    stated = dataclasses.replace(kinds()[kind], aftercooler_approach=5.0)
    by_approach = solve_circuit(fluid, stated, 32)
    size = AirCoil(by_approach.aftercooler_conductance)
    by_size = solve_circuit(fluid, dataclasses.replace(stated, aftercooler=size, aftercooler_approach=20.0), 32)
    assert by_size.aftercooler_approach == pytest.approx(5.0, abs=0.05)
    assert by_size.cooling_power == pytest.approx(by_approach.cooling_power, rel=2e-3)
    assert by_size.energy_residual < 1e-6 and by_size.exergy_residual < 1e-6


def test_an_outlet_beside_the_dew_point_has_the_conductance_that_it_takes(fluid):
    """There the heat capacity jumps: 24 outlets on both sides of it, each with the conductance that leads to it."""
    dew = fluid.dew_temperature(15e5)
    hot, ambient = fluid.tp(dew + 80.0, 15e5), dew - 15.0
    for outlet in dew + np.linspace(-6.0, 6.0, 24):
        size = conductance_to_ambient(fluid, hot, fluid.tp(outlet, 15e5), 0.02, ambient)
        assert aftercooler_outlet(fluid, hot, 15e5, 0.02, AirCoil(size), ambient) == pytest.approx(outlet, abs=0.02)


def test_the_duty_is_what_fine_cells_carry_to_the_air(fluid):
    result = solve_circuit(fluid, machine(cold_temperature=110.0, aftercooler=AirCoil(15.0), **DROPS), 32)
    hot, (low, high) = result.points[COMPRESSOR_OUTLET], (result.warm_temperature, result.discharge_temperature)
    temperatures = AMBIENT + np.geomspace(low - AMBIENT, high - AMBIENT, 3001)
    pressures = hot.pressure - 0.2e5 * (high - temperatures) / (high - AMBIENT)
    enthalpy = fluid.sweep(temperatures, pressures).enthalpy
    carried = np.sum(np.diff(enthalpy) / (0.5 * (temperatures[1:] + temperatures[:-1]) - AMBIENT)) * result.molar_flow
    assert carried == pytest.approx(15.0, rel=2e-3)
    record = circuit_record(result)
    assert record["aftercooler_conductance_W_per_K"] == pytest.approx(15.0, rel=5e-3)
    assert record["aftercooler_approach_K"] == pytest.approx(low - AMBIENT)
    duty = result.molar_flow * (hot.enthalpy - fluid.tp(low, hot.pressure - 0.2e5).enthalpy)
    assert record["aftercooler_heat_W"] == pytest.approx(duty, rel=1e-9)


def test_a_larger_aftercooler_cools_more_up_to_that_without_approach(fluid):
    powers = [
        solve_circuit(fluid, machine(cold_temperature=110.0, aftercooler=AirCoil(size), **DROPS), 32).cooling_power
        for size in (5.0, 20.0, 1e4)
    ]
    endless = solve_circuit(fluid, machine(cold_temperature=110.0, aftercooler_approach=0.0, **DROPS), 32)
    assert powers == sorted(powers) and powers[2] == pytest.approx(endless.cooling_power, rel=1e-4)
    assert circuit_record(endless)["aftercooler_conductance_W_per_K"] is None


def test_a_partial_condenser_of_stated_temperature_keeps_it(fluid):
    circuit = with_separator(machine(cold_temperature=110.0, aftercooler=AirCoil(20.0)), 310.0)
    assert solve_circuit(fluid, circuit, 32).warm_temperature == 310.0


def test_many_blends_at_once_take_the_outlet_of_their_mean(fluid):
    circuit = machine(cold_temperature=110.0, aftercooler=AirCoil(15.0), **DROPS)
    solved = solve_circuit(fluid, circuit)
    assert solved.aftercooler_approach < 7.0  # that a circuit without a size would have is 8 K
    held = dataclasses.replace(circuit, aftercooler=None, aftercooler_approach=solved.aftercooler_approach)
    powers = [batch_cooling(fluid.model, Z, one).cooling_power[0] for one in (circuit, held)]
    assert powers[0] == pytest.approx(powers[1], rel=0.01)
    coldest = [batch_reach(fluid.model, Z, one, 5.0, 85.0).temperature[0] for one in (circuit, held)]
    assert coldest[0] == pytest.approx(coldest[1], abs=0.2)


def test_the_blends_of_a_search_are_solved_with_the_size(model_of):
    bottles = [Bottle(pure_ingredient(gas)) for gas in GASES[:3]]
    hot = dataclasses.replace(COMPRESSOR, largest_discharge_temperature=420.0, largest_valve_temperature=450.0)
    circuit = machine(cold_temperature=120.0, aftercooler=AirCoil(10.0), compressor=hot)
    asked = SearchRequest(circuit, bottles, largest_number_of_gases=3, samples=32, shortlist=1)
    best = search(model_of(GASES[:3]), asked).candidates[0]
    assert best.aftercooler_conductance == pytest.approx(10.0, rel=5e-3)
    same = solve_circuit(best.fluid, circuit)
    assert best.cooling_power == pytest.approx(same.cooling_power, rel=1e-5)
    held = dataclasses.replace(circuit, aftercooler=None, aftercooler_approach=best.aftercooler_approach)
    behind = search(model_of(GASES[:3]), dataclasses.replace(asked, circuit=held)).candidates[0]
    assert best.cooling_power == pytest.approx(behind.cooling_power, rel=0.02)


def written(tmp_path, lines: str):
    text = DEMO.read_text(encoding="utf-8")
    start, end = text.index("[aftercooler]"), text.index("[recuperator]")
    path = tmp_path / "case.toml"
    path.write_text(f"{text[:start]}{lines}\n{text[end:]}", encoding="utf-8")
    return path


def test_a_case_states_an_approach_or_a_size(tmp_path):
    text = '[aftercooler]\nconductance = "12 W/K"\nface_area = "600 cm2"\nface_velocity = "1.2 m/s"'
    size = read_case(written(tmp_path, text)).circuit.aftercooler
    assert (size.conductance, size.face_area, size.face_velocity) == pytest.approx((12.0, 0.06, 1.2))
    assert read_case(written(tmp_path, "")).circuit.aftercooler is None


@pytest.mark.parametrize(
    "lines, complaint",
    [
        ('approach = "8 K"\nconductance = "12 W/K"', r"\[aftercooler\] conductance: the approach follows"),
        ('approach = "8 K"\nface_area = "0.1 m2"', r"\[aftercooler\] face_area: the approach follows"),
        ('face_velocity = "2 m/s"', "its conductance or its face area"),
        ('conductance = "12 W/K"\nface_velocity = "2 m/s"', "only with face_area"),
    ],
)
def test_a_size_stated_by_half_or_twice_is_refused_in_one_line(tmp_path, lines, complaint):
    with pytest.raises(InputError, match=complaint) as error:
        read_case(written(tmp_path, f"[aftercooler]\n{lines}"))
    assert "case.toml, line" in str(error.value) and "\n" not in str(error.value)
