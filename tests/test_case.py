"""Case files: what a good one says, and that every wrong one is refused at its place."""

from pathlib import Path

import numpy as np
import pytest

from mixjt.blend import Blend
from mixjt.cascade.design import CascadeRequest
from mixjt.case.bottles import blend_from_text
from mixjt.case.cascade_case import cascade_request
from mixjt.case.case import read_case
from mixjt.case.reference import _row
from mixjt.case.schema import FilePlace, read_table
from mixjt.case.sensitivity_case import sensitivity_request
from mixjt.case.tables import HOMES, TABLES
from mixjt.case.throttle_case import throttle_request
from mixjt.constants import ATMOSPHERE
from mixjt.errors import InputError, UnknownGasError
from mixjt.keys import TEXT, keys_of
from mixjt.studies.search.search_request import SearchRequest
from mixjt.studies.sensitivity import SensitivityRequest
from mixjt.studies.throttle_study import ThrottleRequest
from mixjt.units import DIMENSIONS

DEMO = Path(__file__).parent.parent / "mixtures-demo"

CASE = """
title = "test"

[ambient]
temperature = "22 degC"

[compressor]
type = "rotary"
displacement = "6.4 cm3"
speed = "3000 rpm"

[circuit]
suction_pressure = "0.5 barg"
discharge_pressure = "16 bar"

[cold_end]
temperature = "-150 degC"

[blend]
nitrogen = 0.4
R-290 = "10 %"
"camping gas" = 0.5

[[bottle]]
gas = "nitrogen"
most = 0.6

[[bottle]]
name = "camping gas"
composition = {propane = 0.3, n-butane = 0.7}
"""


DROPS = '[recuperator]\npressure_drop_high = "9 bar"\npressure_drop_low = "6 bar"'

RANGE = '[search]\nsuction_pressure_range = ["2 bar", "17 bar"]'


def read(tmp_path, text=CASE):
    path = tmp_path / "case.toml"
    path.write_text(text, encoding="utf-8")
    return read_case(path)


def refusal(tmp_path, old, new, error=InputError):
    """The message about a case in which one piece of text was replaced."""
    assert CASE.count(old) >= 1
    with pytest.raises(error) as refused:
        read(tmp_path, CASE.replace(old, new, 1))
    message = str(refused.value)
    assert message.startswith(str(tmp_path / "case.toml")) and "\n" not in message
    return message


def test_values_are_si(tmp_path):
    case = read(tmp_path)
    assert case.title == "test"
    assert case.circuit.ambient_temperature == pytest.approx(295.15)
    assert case.circuit.suction_pressure == pytest.approx(0.5e5 + ATMOSPHERE)
    assert case.circuit.discharge_pressure == pytest.approx(16e5)
    assert case.circuit.cold_temperature == pytest.approx(123.15)
    assert case.circuit.compressor.displacement == pytest.approx(6.4e-6)
    assert case.circuit.compressor.speed == pytest.approx(50.0)
    assert case.load is None


def test_gauge_pressure_uses_the_stated_atmosphere(tmp_path):
    case = read(tmp_path, CASE.replace("[compressor]", 'pressure = "80 kPa"\n[compressor]'))
    assert case.circuit.suction_pressure == pytest.approx(1.3e5)


def test_a_bottle_in_the_blend_stands_for_its_gases(tmp_path):
    blend = read(tmp_path).blend
    assert blend.to_dict() == pytest.approx({"nitrogen": 0.4, "propane": 0.1 + 0.15, "n-butane": 0.35})


def test_bottles_keep_their_bounds(tmp_path):
    nitrogen, camping = read(tmp_path).bottles
    assert (nitrogen.ingredient.name, nitrogen.least, nitrogen.most) == ("nitrogen", 0.0, 0.6)
    assert camping.ingredient.gases == ("propane", "n-butane")


def test_blend_from_text_knows_the_bottles(tmp_path):
    blend = blend_from_text("nitrogen=50 %, camping gas=0.5", read(tmp_path).bottles)
    assert blend.to_dict() == pytest.approx({"nitrogen": 0.5, "propane": 0.15, "n-butane": 0.35})


@pytest.mark.parametrize(
    "text", ["nitrogen", "nitrogen=0.4", "nitrogen=0.5, nitrogen=0.5", "nitrogen=-1, neon=2", ""]
)
def test_blend_text_is_refused(text):
    with pytest.raises(InputError, match="blend"):
        blend_from_text(text)


@pytest.mark.parametrize("name", ["receiver-120K.toml", "receiver-95K.toml"])
def test_demo_cases(name):
    case = read_case(DEMO / name)
    assert case.blend is not None and case.load > 0.0 and len(case.bottles) >= 5


def test_demo_with_a_wrong_key():
    with pytest.raises(
        InputError, match=r"line 9, \[compressor\] displacment: .*did you mean displacement\?"
    ):
        read_case(DEMO / "wrong-key.toml")


def test_every_key_has_a_range_or_choice_and_a_help():
    for table in TABLES.values():
        for key in table.keys.values():
            assert key.help and (key.within or key.choices or key.names or key.kind == TEXT)  # a text may be any name


@pytest.mark.parametrize("cls", HOMES, ids=lambda cls: cls.__name__)
def test_every_field_that_is_a_key_is_in_its_table(cls):
    # "at" names a table that there is, and no other class of that table has a key of the same name
    for one in keys_of(cls):
        assert TABLES[one.table or HOMES[cls]].keys[one.name] is one.key


KEYS_WITH_A_DEFAULT = [
    (f"{table} {name}", key)
    for table, entry in TABLES.items()
    for name, key in entry.keys.items()
    if key.kind in DIMENSIONS and not (key.required or key.otherwise or key.span or key.many or key.default is None)
]


@pytest.mark.parametrize("key", [key for _, key in KEYS_WITH_A_DEFAULT], ids=[name for name, _ in KEYS_WITH_A_DEFAULT])
def test_a_default_means_what_the_page_of_keys_prints(key):
    place = FilePlace("case.toml")
    absent = read_table({}, {"key": key}, place, ATMOSPHERE)["key"]
    printed = _row("key", key).split(" | ")[-1].removesuffix(" |")
    written = read_table({"key": printed}, {"key": key}, place, ATMOSPHERE)["key"]  # refused where out of range
    assert absent == pytest.approx(written, rel=1e-6)


def test_a_case_and_a_script_that_say_nothing_ask_for_the_same(tmp_path):
    case = read(tmp_path, CASE.replace("[cold_end]", '[throttle]\ndiameter = "0.7 mm"\n[cold_end]\nload = "5 W"'))
    stated, plain = throttle_request(case, 250.0), ThrottleRequest(diameter=0.7e-3)
    assert stated == plain and plain.tolerance == 2e-5 and plain.debris == 5e-5
    assert cascade_request(case).kept == CascadeRequest.kept == 3
    assert case.search == SearchRequest(case.circuit, case.bottles, load=5.0)
    assert sensitivity_request(case) == SensitivityRequest(load=5.0)


@pytest.mark.parametrize(
    "old, new, complaint",
    [
        ("speed", "sped", "line 10, [compressor] sped: there is no such key; did you mean speed?"),
        ("[circuit]", "[circuits]", "line 12, [circuits]: there is no such table; did you mean"),
        ("title", "titel", "line 2, titel: there is no such key; did you mean title?"),
        ("title", "displacement", "line 2, displacement: this key belongs to the table [compressor]"),
        ('title = "test"', "colour = 1", "there is no such key; a case knows [ambient]"),
        ('speed = "3000 rpm"\n', "", "line 7, [compressor] lacks speed"),
        ('[cold_end]\ntemperature = "-150 degC"', "", "the table [cold_end] is missing"),
        ('"3000 rpm"', "3000", 'a speed or frequency needs its unit, for example "2900 rpm"'),
        ('"6.4 cm3"', '"-6.4 cm3"', "line 9, [compressor] displacement: "),
        ('"6.4 cm3"', '"6.4 K"', '"K" is not a unit of volume'),
        ('"rotary"', '"rotory"', 'did you mean "rotary"?'),
        ('"16 bar"', '"1.4 bar"', "line 14, [circuit] discharge_pressure: 1.4 bar is not"),
        ('"16 bar"', '"16 psi"', "say psia or psig"),
        ('"-150 degC"', '"20 K"', "must be at least 60 K and at most 300 K"),
        ('"-150 degC"', '"25 degC"', "298.15 K is not below the ambient temperature of 295.15 K"),
        ('"22 degC"', '"22 K"', "must be at least 200 K and at most 350 K"),
        ("speed =", "isentropic_efficiency = 1.2\nspeed =", "must be above 0 and at most 1"),
        ("speed =", "motor_efficiency = 0\nspeed =", "must be above 0 and at most 1"),
        ("speed =", "supply_phases = 2\nspeed =", "[compressor]: compressor supply_phases"),
        ("[cold_end]", '[recuperator]\napproach = "5 degC"\n[cold_end]', "difference in kelvin"),
        ("[cold_end]", f"{DROPS}\n[cold_end]", "the pressure drops leave nothing to the throttle"),
        ("nitrogen = 0.4", "nitrogen = 0.3", "line 19, [blend]: mole fractions sum to 0.9"),
        ("nitrogen = 0.4", "nitrogen = 1.4", "[blend] nitrogen: 1.4 is not a mole fraction"),
        ("most = 0.6", "most = 0.6\nleast = 0.7", "line 27, [[bottle]] number 1 least: 0.7 is above"),
        ("most = 0.6", "gaz = 1", "[[bottle]] number 1 gaz: there is no such key; did you mean gas?"),
        ('name = "camping gas"\n', "", "line 28, [[bottle]] number 2: give either gas"),
        ("n-butane = 0.7", "n-butane = 0.6", "number 2 composition: ingredient"),
        ("[cold_end]", '[[bottle]]\ngas = "R-728"\n[cold_end]', "there is another bottle of nitrogen"),
        ("[[bottle]]", '[search]\nobjective = "cold"\n[[bottle]]', 'is not one of "cooling power", "cop"'),
        ("[[bottle]]", f"{RANGE}\n[[bottle]]", "is not above the highest suction pressure, 17 bar"),
        ('gas = "nitrogen"', 'gas = ""', "[[bottle]] number 1 gas: unknown gas"),
        ("[[bottle]]", "[search]\nseed = -1\n[[bottle]]", "must be at least 0"),
        ("[ambient]", "[ambient", "is not valid TOML: "),
        ("[ambient]", "[ambient]\ntemperature = 1", "is not valid TOML: "),
        ('"6.4 cm3"', "6.4 cm3", 'goes in quotes: displacement = "6.4 cm3"'),
        ('"-150 degC"', "-150 °C # cold", 'goes in quotes: temperature = "-150 °C"'),
        ('"rotary"', "rotary", 'goes in quotes: type = "rotary"'),
        ('"camping gas" = 0.5', "camping gas = 0.5", 'a name with a blank goes in quotes: "camping gas" ='),
        ("nitrogen = 0.4", "nitrogen = 0,4", "write the decimal sign as a point: nitrogen = 0.4"),
        ("nitrogen = 0.4", "air = 0.4", "nitrogen 0.7812, oxygen 0.2096, argon 0.0092"),
        ('"16 bar"', '"10 inHg"', 'say "10 inHg vacuum" or "10 inHg abs"'),
        ('"22 degC"', '"300 delta_degC"', "is a temperature difference"),
        ("[cold_end]", '[rating]\ncapacity = "0.25 hp"\n[cold_end]', "[rating] capacity: \"0.25 hp\" is the size of a motor"),
        ("[cold_end]", '[rating]\npoint = "LBP"\n[cold_end]', 'did you mean "low back-pressure"?'),
        ("[cold_end]", '[rating]\nrefrigerant = "R-9999"\n[cold_end]', "refrigerants outside it: R-134a, R-22"),
        ('"test"', '"te\\u001b[31mst"', "title: the text holds a control character, U+001B"),
        ('"test"', '"te\\nst"', "title: the text holds a control character, U+000A"),
        ('"test"', '"te\\u202est"', "title: the text holds a control character, U+202E"),
        ('"16 bar"', '"1.49999e5 Pa"', "1.5 bar is not above the suction pressure of 1.513 bar"),
        ('"-150 degC"', '"295.150001 K"', "295.150001 K is not below the ambient temperature of 295.15 K"),
    ],
)  # fmt: skip
def test_refuses(tmp_path, old, new, complaint):
    assert complaint in refusal(tmp_path, old, new)


def test_a_label_may_name_its_refrigerant_without_a_hyphen(tmp_path):
    for written, name in (("R22", "R-22"), ("R290", "propane")):
        case = read(tmp_path, CASE.replace("[cold_end]", f'[rating]\nrefrigerant = "{written}"\n[cold_end]'))
        assert case.tables["rating"]["refrigerant"] == name


def test_notes_may_have_several_lines(tmp_path):
    assert read(tmp_path, 'notes = """one\n\ttwo"""\n' + CASE).notes == "one\n\ttwo"


@pytest.mark.parametrize("last", [0.333, 0.3330, 0.335])
def test_fractions_as_they_are_printed_are_scaled(last):
    blend = blend_from_text(f"nitrogen=0.333, methane=0.333, propane={last}")
    assert sum(blend.fractions) == pytest.approx(1.0, abs=1e-15)
    assert blend.fractions[2] / blend.fractions[0] == pytest.approx(last / 0.333)


def test_printed_fractions_of_any_blend_can_be_written_again():
    """A blend's own text has one decimal of a percent: every gas is off by half of the last one at most."""
    rng = np.random.default_rng(1)
    names = ("nitrogen", "methane", "ethane", "propane", "isobutane", "argon")
    for fractions in rng.dirichlet(np.ones(6), size=200):
        blend = Blend(names, fractions)
        parts = blend.text.removesuffix(" (mole)").split(", ")
        again = blend_from_text(", ".join(f"{part.split(' % ')[1]} = {part.split(' % ')[0]} %" for part in parts))
        for name, x in again.to_dict().items():
            assert x == pytest.approx(blend.to_dict()[name], abs=2e-3)


@pytest.mark.parametrize("last", [0.332, 0.336, 0.3])
def test_fractions_off_by_more_are_refused(last):
    with pytest.raises(InputError, match="must sum to 1"):
        blend_from_text(f"nitrogen=0.333, methane=0.333, propane={last}")


def test_unknown_gas_keeps_its_kind_of_error(tmp_path):
    assert "line 19, [blend]: unknown gas 'nitrogn'" in refusal(
        tmp_path, "nitrogen = 0.4", "nitrogn = 0.4", UnknownGasError
    )


def test_toml_errors_name_the_line(tmp_path):
    assert "line 4" in refusal(tmp_path, "[ambient]", "[ambient")


def test_files_that_are_no_case(tmp_path):
    with pytest.raises(InputError, match="there is no such file"):
        read_case(tmp_path / "none.toml")
    with pytest.raises(InputError, match="is a directory"):
        read_case(tmp_path)
    (tmp_path / "latin.toml").write_bytes('title = "Kälte"'.encode("latin-1"))
    with pytest.raises(InputError, match="is not UTF-8 text"):
        read_case(tmp_path / "latin.toml")
    (tmp_path / "deep.toml").write_text("a = " + "[" * 20000)
    with pytest.raises(InputError, match="is not valid TOML"):
        read_case(tmp_path / "deep.toml")
    with pytest.raises(InputError, match="cannot be read"):
        read_case("a\0b")


def test_a_byte_order_mark_is_no_error(tmp_path):
    (tmp_path / "case.toml").write_text(CASE, encoding="utf-8-sig")
    assert read_case(tmp_path / "case.toml").title == "test"
