"""`mixjt compressor`, and circuits whose compressor comes from its label."""

import csv
import json
import re
from pathlib import Path

import pytest
from cli_samples import record_of, refusal

from mixjt.case.case import read_case
from mixjt.cli.app import main
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.pure import pure_model
from mixjt.parts.compressor.compression import compress
from mixjt.parts.compressor.label import Label, rated_compressor
from mixjt.parts.compressor.rating_points import AIR, rating_point

CASE = Path(__file__).parent.parent / "mixtures-demo" / "receiver-120K.toml"
LABEL = 'refrigerant = "R-22"\ncapacity = "4000 BTU/h"\npoint = "air conditioning"\n'
POLYNOMIALS = (
    'refrigerant = "R-134a"\nsuperheat = "11 K"\n'
    "power_coefficients = [180, 2, 4, 0, 0.03, 0, 0, 0, 0, 0]\n"
    "mass_flow_coefficients = [30, 1.1, -0.12, 0.015, -0.004, 0, 0.0001, 0, 0, 0]\n"
)


pytestmark = pytest.mark.usefixtures("one_model")


@pytest.fixture
def case(tmp_path):
    def write(rating: str, without=()) -> str:
        text = re.sub(r"^\[rating\].*\n(?:\w.*\n)*", "", CASE.read_text(), flags=re.MULTILINE)
        for key in without:
            text = re.sub(rf"^{key} = .*\n", "", text, flags=re.MULTILINE)
        path = tmp_path / "case.toml"
        path.write_text(f"{text}\n[rating]\n{rating}\n")
        return str(path)

    return write


def test_a_label_in_british_units(capsys, case):
    record = record_of(capsys, "compressor", case(LABEL))
    assert record["rated_capacity_W"] == pytest.approx(4000 * 1055.05585262 / 3600.0)
    assert record["rating_cop"] == pytest.approx(record["rated_capacity_W"] / record["rating_power_W"])
    assert len(record["map"]) == 15 and record["at_circuit"]["discharge_pressure_Pa"] == 15e5
    assert record["largest_current_A"] is None and record["rating_current_A"] > 1.0


def test_text(capsys, case):
    assert main(["compressor", case(LABEL + 'locked_rotor_current = "12 A"')]) == 0
    text = capsys.readouterr().out
    for expected in ("R-22", "swept volume", "On the blend", "Limits", "Cautions", "good to 10 to 20 %"):
        assert expected in text


def test_polynomials(capsys, case):
    record = record_of(capsys, "compressor", case(POLYNOMIALS, ("isentropic_efficiency",)))
    assert record["curves"] == [] and record["refrigerant"] == "R-134a"
    assert record["at_circuit"]["mass_flow_g_per_s"] > 0.0


def test_tables_plot_and_summary(tmp_path, capsys, case):
    out = tmp_path / "run"
    printed = record_of(capsys, "compressor", case(LABEL), "--out", str(out))
    names = {"summary.json", "compressor_map.csv", "compressor_curves.csv", "compressor_map.png", "compressor_map.svg"}
    assert {path.name for path in out.iterdir()} == names
    assert json.loads((out / "summary.json").read_text()) == printed
    with open(out / "compressor_map.csv", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [float(row["power_W"]) for row in rows] == [row["power_W"] for row in printed["map"]]


def test_a_circuit_takes_its_compressor_from_the_label(case):
    found = read_case(case(LABEL, ("displacement", "speed", "isentropic_efficiency"))).circuit.compressor
    further = {"clearance": 0.02, "supply_voltage": 230.0, "motor_efficiency": 0.82, "largest_discharge_temperature": 380.15}
    label = Label(
        "R-22", 4000 * 1055.05585262 / 3600.0, rating_point("ASHRAE", AIR), "rotary", 50.0 * 0.965, further=further
    )  # fmt: skip
    expected = rated_compressor(label).at(3e5, 15e5)
    assert found.displacement == pytest.approx(expected.displacement, rel=1e-9)
    assert found.isentropic_efficiency == pytest.approx(expected.isentropic_efficiency, rel=1e-9)
    assert found.speed == pytest.approx(48.25) and found.clearance == 0.02


def test_the_same_machine_by_type_and_by_label_has_the_same_efficiencies(case):
    stated = ("isentropic_efficiency", "motor_efficiency")
    by_type = read_case(case("", stated)).circuit.compressor
    by_label = read_case(case(LABEL, ("displacement", *stated))).circuit.compressor
    both = read_case(case(LABEL, stated)).circuit.compressor
    for found in (by_type, by_label, both):  # as in the table of docs/compressor.md
        assert (found.isentropic_efficiency, found.motor_efficiency) == (0.78, 0.85)


def test_a_stated_displacement_rules(case):
    circuit = read_case(case(LABEL, ("speed",))).circuit
    assert circuit.compressor.displacement == pytest.approx(6.4e-6)
    assert circuit.compressor.speed == pytest.approx(48.25)


MEASURED = """
[compressor_test]
refrigerant = "nitrogen"
suction_pressure = "2 bar"
discharge_pressure = "6 bar"
suction_temperature = "22 degC"
room_temperature = "22 degC"
"""


def test_a_measured_shell_and_flow_correct_the_machine(case):
    run = MEASURED + 'shell_temperature = "85 degC"\nmass_flow = "0.5 g/s"\n'
    found = read_case(case(LABEL + run, ("displacement", "speed"))).circuit.compressor
    nitrogen = Fluid(pure_model("nitrogen"), (1.0,))
    again = compress(nitrogen, nitrogen.tp(295.15, 2e5), 6e5, found, 295.15)
    assert again.shell_temperature == pytest.approx(358.15, abs=0.05)
    assert again.mass_flow == pytest.approx(0.5e-3, rel=1e-5)


def test_a_measured_point_without_a_measurement_is_refused(capsys, case):
    assert "give what was measured" in refusal(capsys, "compressor", case(LABEL + MEASURED))


@pytest.mark.parametrize(
    "rating, without, complaint",
    [
        ("", (), "give the capacity on the label, or power_coefficients"),
        ("", ("displacement",), "[compressor] lacks displacement, the swept volume per revolution; give it, or add"),
        ('capacity = "100 W"\npoint = "air conditioning"', (), "lacks refrigerant"),
        ('capacity = "100 W"\nrefrigerant = "R-134a"', (), "evaporating_temperature is missing"),
        (LABEL.replace("R-22", "R-220"), (), "did you mean"),
        (LABEL.replace("BTU/h", "BTU"), (), "is not a unit of power"),
        (LABEL + 'standard = "CECOMAF"', (), "has no point 'air conditioning'"),
        (LABEL + "power_coefficients = [1]", (), "either the capacity of a label or polynomials"),
        (LABEL + 'power = "400 W"', (), "not both"),
        (POLYNOMIALS.replace("[180, ", "["), (), "needs ten coefficients"),
        (POLYNOMIALS.replace('superheat = "11 K"', ""), (), "return gas temperature or the superheat"),
    ],
)
def test_refuses(capsys, case, rating, without, complaint):
    assert complaint in refusal(capsys, "compressor", case(rating, without))
