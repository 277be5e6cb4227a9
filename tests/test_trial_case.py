"""The table [trial] of a case file."""

import re
import tomllib
from pathlib import Path

import pytest

from mixjt.case.case import read_case
from mixjt.case.log_file import read_log
from mixjt.case.log_headers import header_of
from mixjt.case.trial_case import log_request, steady_limits
from mixjt.errors import InputError
from mixjt.studies.trial.log import IN_A_CASE, PLACES, LogRequest
from mixjt.studies.trial.stretches import SteadyLimits
from mixjt.units import quantity_text

PAGE = Path(__file__).parent.parent / "docs" / "trial.md"

CASE = """
[ambient]
temperature = "22 degC"
pressure = "0.9 bar"
[compressor]
type = "rotary"
displacement = "6.4 cm3"
speed = "3000 rpm"
[circuit]
suction_pressure = "1.5 bar"
discharge_pressure = "16 bar"
[cold_end]
temperature = "-150 degC"
"""


def case(tmp_path, trial=""):
    path = tmp_path / "case.toml"
    path.write_text(CASE + trial)
    return read_case(path)


def test_a_case_and_a_script_that_say_nothing_ask_for_the_same(tmp_path):
    plain = case(tmp_path)
    assert log_request(plain) == LogRequest(atmosphere=90000.0)
    assert steady_limits(plain) == SteadyLimits()
    assert LogRequest().reading_errors == {place.name: place.error for place in PLACES}


def test_everything_stated(tmp_path):
    stated = case(
        tmp_path,
        """
[trial]
columns = {suction = "A", throttle_inlet = "T 4"}
units = {suction = "bar g", throttle_inlet = "degF"}
errors = {evaporator = "2 K", discharge = "0.3 bar", power = "10 W"}
ignored = ["B"]
time = "clock"
time_unit = "clock"
date_order = "day first"
heater = "3 W"
shortest_stretch = "10 min"
largest_temperature_drift = "2 K"
""",
    )
    request = log_request(stated)
    assert request.columns == {"suction": "A", "throttle inlet": "T 4"}
    assert request.units == {"suction": "bar g", "throttle inlet": "degF"}
    assert (request.ignored, request.time, request.time_unit, request.date_order) == (
        ("B",),
        "clock",
        "clock",
        "day first",
    )
    assert request.heater == 3.0 and request.atmosphere == 90000.0
    usual = {place.name: place.error for place in PLACES}
    assert request.reading_errors == usual | {"evaporator": 2.0, "discharge": 0.3e5, "power": 10.0}
    assert steady_limits(stated) == SteadyLimits(shortest_stretch=600.0, largest_temperature_drift=2.0)


def test_an_inner_table_may_have_a_header(tmp_path):
    assert log_request(case(tmp_path, '[trial.columns]\nshell = "T 2"\n')).columns == {"shell": "T 2"}


@pytest.mark.parametrize(
    "line, complaint",
    [
        (
            'columns = {suktion = "A"}',
            'line 15, [trial] columns: there is no such name as "suktion"; did you mean suction?',
        ),
        ('columns = {vacuum = "A"}', "it may hold suction, discharge, discharge_line, shell"),
        ("columns = {suction = 3}", "[trial] columns suction: needs a text in quotes; got 3"),
        ('columns = "A"', '[trial] columns: needs named values, like {suction = "...", ...}; got "A"'),
        ("columns = {}", "[trial] columns: needs named values"),
        (
            'columns = {suction = "A", shell = "A"}',
            '[trial] columns: the column "A" cannot be read at two places',
        ),
        (
            'units = {suction = "bar"}',
            '[trial] units suction: "bar" may be gauge or absolute; say "bar g" or "bar abs"',
        ),
        ('units = {suction = "psi"}', "may be gauge or absolute"),
        ('units = {suction = "K"}', '[trial] units suction: "K" is not a unit of pressure'),
        ('units = {shell = "bar g"}', 'units shell: "bar g" is not a unit of temperature'),
        ('errors = {shell = "2 degC"}', "write a temperature difference in kelvin"),
        ('errors = {shell = "0 K"}', "the error of shell must be a number above 0"),
        ('errors = {suction = "1 K"}', '[trial] errors suction: "K" is not a unit of pressure'),
        ('time_unit = "days"', '"days" is not one of "clock", "s", "min", "h"'),
        ('shortest_stretch = "1 s"', "must be at least 30 s"),
    ],
)
def test_what_is_refused(tmp_path, line, complaint):
    with pytest.raises(InputError) as error:
        log_request(case(tmp_path, f"[trial]\n{line}\n"))
    assert complaint in str(error.value)


def test_the_page_lists_the_places_as_they_are():
    log = PAGE.read_text().split("\n## Stretches")[0]
    rows = [line.split(" | ") for line in log.splitlines() if line.startswith("| `")]
    listed = [(row[0].strip("| `"), row[1], row[3], row[4].removesuffix(" |")) for row in rows]
    differences = {"pressure": "pressure_difference", "temperature": "temperature_difference"}
    assert listed == [
        (name, one.kind, quantity_text(one.error, differences.get(one.kind, one.kind)), one.basis)
        for name, one in IN_A_CASE.items()
    ]
    for row, place in zip(rows, PLACES, strict=True):
        unit = {"pressure": "bar g", "temperature": "K", "voltage": "V", "current": "A", "power": "W"}[
            place.kind
        ]
        word = re.split("[,:;(]", row[2])[0].strip()
        assert row[2].startswith("throttle") or header_of(f"{word} [{unit}]").places == (place.name,)


def test_the_examples_of_the_page_are_read(tmp_path):
    log, trial = (re.search(rf"```{kind}\n(.*?)```", PAGE.read_text(), re.DOTALL)[1] for kind in ("", "toml"))
    lines = log.splitlines()
    (tmp_path / "run.csv").write_text(
        "\n".join([*lines, *(lines[-1].replace("14:15", f"14:{k}5") for k in (2, 3, 4))])
    )
    read = read_log(tmp_path / "run.csv", LogRequest())
    assert set(read.readings) == {
        "suction",
        "discharge",
        "discharge line",
        "throttle inlet",
        "evaporator",
        "power",
    }
    assert read.notes == ("line 1: a comment, left out",)
    stated = log_request(case(tmp_path, trial))
    assert stated.columns == {"suction": "ch 1", "evaporator": "ch 4"} and set(tomllib.loads(trial)) == {
        "trial"
    }
