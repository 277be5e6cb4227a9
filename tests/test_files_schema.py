"""The reader of a table: every refusal names the place, the reason and the way out."""

import pytest

from mixjt.case.schema import FilePlace, interval_text, nearest, read_table
from mixjt.constants import ATMOSPHERE
from mixjt.errors import InputError
from mixjt.keys import TEXT, WHOLE, YES_NO, Key

KEYS = {
    "displacement": Key("volume", "the swept volume", True, within="(0, 1e-2]"),
    "clearance": Key("fraction", "dead volume", default=0.03, within="[0, 1)"),
    "type": Key(TEXT, "the kind", choices=("rotary", "scroll")),
    "phases": Key(WHOLE, "1 or 3", within="[1, 3]"),
    "vented": Key(TEXT, "whether it is", default=False, choices=YES_NO),
    "pressures": Key("pressure", "lowest and highest", within="[1e3, 1e7]", span=True),
}
FILE = """
title = "x"
[other]
displacement = "1 cm3"
[machine]   # the one meant
# displacement = "2 cm3"
displacement = "3 cm3"
"""
PLACE = FilePlace("case.toml", FILE).table("[machine]")


def read(**raw):
    return read_table({"displacement": "3 cm3"} | raw, KEYS, PLACE, ATMOSPHERE, {"load": "[cold_end]"})


def refusal(**raw):
    with pytest.raises(InputError) as refused:
        read(**raw)
    return str(refused.value)


def test_values_defaults_and_absent_keys():
    values = read(pressures=["0 barg", "2 bar"])
    assert values["displacement"] == pytest.approx(3e-6)
    assert values["clearance"] == 0.03
    assert values["type"] is None and values["phases"] is None
    assert values["pressures"] == pytest.approx((ATMOSPHERE, 2e5))


def test_a_word_is_read_as_what_it_means():
    assert read()["vented"] is False and read(vented="yes")["vented"] is True
    assert '"true" is not one of "yes", "no"' in refusal(vented="true")


def test_the_place_has_the_line_of_the_right_table():
    assert refusal(displacement=3).startswith(
        "case.toml, line 7, [machine] displacement: a volume needs its unit"
    )


def test_the_line_of_the_second_bottle():
    text = '[[bottle]]\ngas = "neon"\n\n[[bottle]]\ngas = "argon"\n'
    assert FilePlace("c.toml", text).table("[[bottle]]", 2).at("gas") == "c.toml, line 5, [[bottle]] number 2 gas"
    assert FilePlace("c.toml", text).table("[[bottle]]", 2).at() == "c.toml, line 4, [[bottle]] number 2"


def test_misspelt_key_names_the_nearest():
    assert "there is no such key; did you mean clearance?" in refusal(clearence=0.02)


def test_key_of_another_table():
    assert "it belongs to [cold_end]" in refusal(load="12 W")


def test_strange_key_lists_the_valid_ones():
    assert "[machine] knows displacement, clearance, type" in refusal(colour="red")


def test_missing_key():
    with pytest.raises(InputError, match=r"line 5, \[machine\] lacks displacement, the swept volume"):
        read_table({}, KEYS, PLACE, ATMOSPHERE)


@pytest.mark.parametrize(
    "raw, complaint",
    [
        ({"displacement": "-3 cm3"}, "must be above 0 cm3 and at most 1e+04 cm3"),
        ({"clearance": 1.0}, "must be at least 0 and below 1"),
        ({"clearance": "a little"}, "needs a fraction"),
        ({"type": "rotery"}, 'is not one of "rotary", "scroll"; did you mean "rotary"?'),
        ({"type": 3}, "needs a text in quotes; got 3"),
        ({"phases": 2.0}, "needs a whole number; got 2.0"),
        ({"phases": 4}, "must be at least 1 and at most 3"),
        ({"phases": True}, "needs a whole number; got true"),
        ({"pressures": "1 bar"}, "needs a lower and an upper value"),
        ({"pressures": ["2 bar", "1 bar"]}, "the lower value comes first"),
        ({"pressures": ["1 bar", "200 bar"]}, "must be at least 0.01 bar and at most 100 bar"),
    ],
)
def test_refuses(raw, complaint):
    assert complaint in refusal(**raw)


def test_a_value_in_place_of_a_table():
    with pytest.raises(InputError, match="must be a table of keys; got 3"):
        read_table(3, KEYS, PLACE, ATMOSPHERE)


def test_words():
    assert nearest("Displacment", KEYS) == "displacement"
    assert nearest("xyz", KEYS) is None
    assert interval_text(Key("number", "", within="(1, inf)")) == "above 1"


def test_a_list_of_values_is_read_value_by_value():
    keys = {"lengths": Key("volume", "some volumes", many=True)}
    assert read_table({"lengths": ["1 cm3", "2 L"]}, keys, FilePlace("case.toml"), ATMOSPHERE) == {
        "lengths": (pytest.approx(1e-6), pytest.approx(2e-3))
    }
    for wrong in ("1 cm3", [], ["1 bar"]):
        with pytest.raises(InputError, match="lengths"):
            read_table({"lengths": wrong}, keys, FilePlace("case.toml"), ATMOSPHERE)
