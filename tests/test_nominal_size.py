"""Only a motor's nominal size is known: how it is written, the guess and its range, where it is marked, refusals."""

import json
from pathlib import Path

import pytest
from cli_samples import refusal, written

from mixjt.case.case import read_case
from mixjt.case.rating_case import guessed_machines
from mixjt.cli.app import main
from mixjt.errors import InputError
from mixjt.parts.compressor.nominal import WIDE, guessed_capacity
from mixjt.parts.compressor.rating_points import AIR, LOW
from mixjt.units import read_quantity

DEMO = (Path(__file__).parent.parent / "mixtures-demo" / "receiver-cooldown.toml").read_text()
BEFORE, _, REST = DEMO.partition("[compressor]")
AFTER = "[circuit]" + REST.partition("[circuit]")[2]
BTU_PER_HOUR = 0.29307107  # W


def case_text(rating, compressor='type = "reciprocating"\nvoltage = "230 V"'):
    return f"{BEFORE}[compressor]\n{compressor}\n[rating]\n{rating}\n{AFTER}"


GUESSED = 'nominal_power = "1/3 hp"\nrated_current = "2 A"'


@pytest.mark.parametrize(
    "text, horsepower",
    [("1/3 hp", 1 / 3), ("1/4HP", 0.25), ("1 1/2 hp", 1.5), ("0.5 hp", 0.5), ("1 horsepower", 1.0), ("3/4 PS", 0.75 * 0.98632)],
)
def test_sizes_as_people_write_them(text, horsepower):
    """One mechanical horsepower is 745.700 W, a metric one 735.499 W (from memory)."""
    assert read_quantity(text, "motor_size", "here") == pytest.approx(745.700 * horsepower, rel=1e-5)


@pytest.mark.parametrize("text", ["1/3", "1/0 hp", "1/3 bananas", "hp", "1//3 hp", "-1/3 hp"])
def test_what_is_no_size_is_refused_in_one_line(text):
    with pytest.raises(InputError, match="nominal size of a motor") as refused:
        read_quantity(text, "motor_size", "here")
    assert "\n" not in str(refused.value)


def test_the_guess_holds_what_is_printed_of_such_machines():
    """A 1/8 hp machine on R-134a gives 383.6 BTU/h at -25 degC (mundochiller.com, with little subcooling); a horsepower of
    air conditioning is 12 000 BTU/h (rule of thumb in a dealer's catalogue, buttspumpsandmotors.ca, page 1016)."""
    low = guessed_capacity(745.7 / 8, LOW)
    assert low / WIDE < 383.6 * BTU_PER_HOUR < low * WIDE
    assert guessed_capacity(745.7, AIR) == pytest.approx(12000 * BTU_PER_HOUR, rel=1e-3)


def test_low_and_high_machine_span_the_range(tmp_path):
    case = read_case(written(tmp_path, case_text(GUESSED)))
    sizes = {name: one.machine.displacement for name, one in guessed_machines(case).items()}
    assert list(sizes) == ["low", "middle", "high"]
    assert sizes["high"] == pytest.approx(WIDE * sizes["middle"], rel=1e-3) and sizes["low"] * WIDE == pytest.approx(sizes["middle"], rel=1e-3)
    assert case.circuit.compressor.displacement == pytest.approx(sizes["middle"], rel=1e-9)
    assert case.tables["rating"]["refrigerant"] == "R-134a" and case.tables["rating"]["point"] == LOW
    rotary = read_case(written(tmp_path, case_text(GUESSED, 'type = "rotary"')))
    assert rotary.tables["rating"]["refrigerant"] == "R-22" and rotary.tables["rating"]["point"] == AIR


def test_the_middle_guess_is_the_machine_of_that_capacity_on_a_label(tmp_path):
    guessed = read_case(written(tmp_path, case_text(GUESSED))).circuit.compressor
    label = f'capacity = "{guessed_capacity(745.6998716 / 3, LOW):.6f} W"\nrefrigerant = "R-134a"\npoint = "{LOW}"\nrated_current = "2 A"'
    assert guessed.displacement == pytest.approx(read_case(written(tmp_path, case_text(label))).circuit.compressor.displacement, rel=1e-6)


def test_the_outputs_say_that_it_is_a_guess(tmp_path, capsys):
    case = written(tmp_path, case_text(GUESSED))
    assert main(["compressor", case, "--json"]) == 0
    record = json.loads(capsys.readouterr().out)
    assert [one["guess"] for one in record["guesses"]] == ["low", "middle", "high"]
    flows = [one["mass_flow_g_per_s"] for one in record["guesses"]]
    assert flows[1] == pytest.approx(record["at_circuit"]["mass_flow_g_per_s"]) and flows[2] / flows[0] == pytest.approx(WIDE**2, rel=1e-2)
    assert any("the compressor is a wide guess from a nominal 0.33 hp" in text for text in record["warnings"])
    assert main(["compressor", case]) == 0
    assert "Only a guess: the machine may be any of these" in capsys.readouterr().out
    assert main(["cycle", case, "--json"]) == 0
    assert any("wide guess from a nominal" in text for text in json.loads(capsys.readouterr().out)["warnings"])


def test_a_label_that_says_more_has_no_guesses(tmp_path, capsys):
    assert main(["compressor", written(tmp_path, DEMO), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["guesses"] == []


@pytest.mark.parametrize(
    "rating, complaint",
    [
        ('nominal_power = "1/3 hp"\ncapacity = "300 W"\nrefrigerant = "R-134a"', "[rating] nominal_power: leave it out, capacity says more"),
        ('nominal_power = "1/3"', 'is not a unit of the nominal size of a motor; write it like "1/3 hp"'),
        ('nominal_power = "90 hp"', "out of range"),
    ],
)
def test_refusals(tmp_path, capsys, rating, complaint):
    assert complaint in refusal(capsys, "compressor", written(tmp_path, case_text(rating)))
