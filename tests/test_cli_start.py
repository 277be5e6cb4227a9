"""`mixjt start NEW.toml`: a case from a few answers that is read and searched, marks guesses, overwrites nothing."""

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
from cli_samples import record_of, refusal

from mixjt.case.case import case_of, read_case
from mixjt.case.cooldown_case import case_capillary
from mixjt.case.inventory_case import case_volumes
from mixjt.case.new_case import ALWAYS, GUESS, NewCase
from mixjt.case.oil_case import case_oil
from mixjt.case.questions import QUESTIONS
from mixjt.case.read import case_file
from mixjt.case.ready_lines import READY
from mixjt.case.saved_case import saved_text
from mixjt.case.standstill_case import standstill_request
from mixjt.case.tables import TABLES

ROOT = Path(__file__).parent.parent
GASES = ("--bottle", "ethane, propane", "--bottle", "camping gas: propane=0.3, n-butane=0.7")
AIM = ("--cold-end", "-60 degC", "--load", "20 W")
KINDS = {
    "reciprocating": (
        "--capacity",
        "180 W",
        "--refrigerant",
        "R-134a",
        "--rating-point",
        "low back-pressure",
    ),
    "rotary": ("--motor-size", "1/3 hp"),
    "scroll": ("--displacement", "12 cm3", "--speed", "3500 rpm"),
}
GUESSED = {
    "temperature", "suction_pressure", "suction_pressure_range", "discharge_pressure", "discharge_pressure_range",
    "approach", "smallest_freezing_margin",
}  # fmt: skip
OF_KIND = {"reciprocating": {"frequency"}, "rotary": {"frequency", "nominal_power"}, "scroll": set()}
REST = {"compressor": "rotary", "voltage": "230 V", "cold_end": "120 K", "load": "12 W"}
REST["bottle"] = ("nitrogen", "propane")
LABEL = {"capacity": "4000 BTU/h", "refrigerant": "R-22", "rating_point": "air conditioning"}


def options(kind, *more):
    return ("--compressor", kind, *KINDS[kind], *AIM, *GASES, *more)


def started(capsys, path, *given) -> dict:
    """What the command prints with --json, having written the file."""
    return record_of(capsys, "start", str(path), *given)


# --- the file


@pytest.mark.parametrize("kind", KINDS)
def test_the_file_is_searched_at_once(kind, capsys, tmp_path, monkeypatch, one_model):
    """A small search; other sizes of recuperator, which it shows besides and which take longest, are left out."""
    monkeypatch.setattr("mixjt.studies.size_study.cooling_by_size", lambda *_: ())
    path = tmp_path / "new.toml"
    pressures = ("--suction-pressure", "2 bar", "--discharge-pressure", "10 bar")
    gases = ("--bottle", "ethane, isobutane")
    started(capsys, path, "--compressor", kind, *KINDS[kind], "--cold-end", "-40 degC", *pressures, *gases)
    few = "largest_number_of_gases = 2\nsamples = 8\nshortlist = 1"
    path.write_text(path.read_text().replace("#largest_number_of_gases = 5", few))
    best = record_of(capsys, "search", str(path))["candidates"][0]
    assert best["cooling_power_W"] > 0.0 and set(best["bottles"]) == {"ethane", "isobutane"}


@pytest.mark.parametrize("kind", KINDS)
def test_answers_stand_where_they_belong_and_all_else_is_marked(kind, capsys, tmp_path):
    path = tmp_path / "new.toml"
    record = started(capsys, path, *options(kind))
    case = read_case(path)
    assert case.circuit.compressor.kind == kind and case.load == 20.0
    assert case.circuit.cold_temperature == pytest.approx(213.15) and case.search.load == 20.0
    assert [bottle.ingredient.name for bottle in case.bottles] == ["ethane", "propane", "camping gas"]
    marked = re.findall(rf"^(\w+ = .*)  # {GUESS}$", path.read_text(), re.MULTILINE)
    assert sorted(marked) == sorted(text.partition("] ")[2] for text in record["guesses"])
    assert {one.partition(" =")[0] for one in marked} == GUESSED | OF_KIND[kind]
    assert any("wide guess" in text for text in record["warnings"]) == (kind == "rotary")
    assert any(text.startswith("Flammable: ethane, propane, n-butane") for text in record["cautions"])


def test_a_range_is_searched_and_the_circuit_stands_in_its_middle(capsys, tmp_path):
    path = tmp_path / "new.toml"
    given = ("--suction-pressure", "20 to 40 psig", "--discharge-pressure", "15 bar")
    started(capsys, path, *options("scroll", *given))
    case = read_case(path)
    psi, air = 6894.757293168, 101325.0  # Pa; NIST Special Publication 811, appendix B.8
    assert case.search.suction_pressure_range == pytest.approx((air + 20.0 * psi, air + 40.0 * psi))
    assert case.circuit.suction_pressure == pytest.approx(air + 30.0 * psi)
    assert case.search.discharge_pressure_range is None and case.circuit.discharge_pressure == 15e5


def test_what_a_command_has_found_is_no_guess_any_more(tmp_path):
    path = tmp_path / "new.toml"
    path.write_text(NewCase(REST | LABEL).text)
    found = {("circuit", "suction_pressure"): 2.2e5, ("blend", "nitrogen"): 0.4, ("blend", "propane"): 0.6}
    text = saved_text(read_case(path), found, "mixjt search")
    assert (
        'suction_pressure = "2.2 bar"  # set by mixjt search\n' in text and "[blend]\nnitrogen = 0.4" in text
    )
    assert text.count(GUESS) == path.read_text().count(GUESS) - 1


def test_parts_of_an_answer():
    questions = {one.name: one for one in QUESTIONS}
    suction, tube = questions["suction_pressure"], questions["small_tube"]
    assert suction.parts("900 to 2500 torr") == ["900 torr", "2500 torr"]
    assert suction.parts(" 5 inHg vacuum to 30 psig") == ["5 inHg vacuum", "30 psig"]
    assert tube.parts("6x1 mm") == tube.parts("6 \u00d7 1 mm") == ["6 mm", "1 mm"]
    assert tube.parts("1/4 in x 0.8 mm") == ["1/4 in", "0.8 mm"]


def test_tubes_make_the_recuperator(capsys, tmp_path):
    path = tmp_path / "new.toml"
    tubes = ("--tubes", "tube in tube", "--small-tube", "6 x 1 mm", "--large-tube", "1/2 in x 1 mm")
    refused = refusal(capsys, "start", str(path), *options("scroll", *tubes))
    assert '--large-tube: "/2 in" is not a unit of length' in refused
    started(capsys, path, *options("scroll", *tubes[:-1], "0.5 in x 1 mm", "--tube-length", "30 m"))
    coil = read_case(path).circuit.coil
    assert coil.length == 30.0 and "recuperator" not in read_case(path).raw


@pytest.mark.parametrize("size", [{"motor_size": "1/3 hp"}, LABEL])
def test_every_line_that_is_offered_can_be_filled_in(size):
    """All lines of a table at once, the # taken away, but for those that say the same as another."""
    text = NewCase(REST | size).text
    label = {"nominal_power"} if "capacity" in size else {"capacity", "power"}
    twice = {
        "rating": label,
        "recuperator": {"conductance"},
        "aftercooler": {"face_area"},
        "recuperator_tubes": {"length"},
    }
    for name in (*READY, "charge"):
        head, _, rest = re.split(rf"(^#?\[{name}\]\n)", text, flags=re.MULTILINE)
        lines, _, after = rest.partition("\n\n")
        left = twice.get(name, set())
        lines = re.sub(rf"^#(?! |(?:{'|'.join(left) or ' '}) = )", "", lines, flags=re.MULTILINE)
        case = case_of(case_file("new.toml", f"{head}[{name}]\n{lines}\n\n{after}"))
        assert set(case.raw[name]) >= (
            READY[name].keys() - left if name in READY else {"nitrogen", "propane"}
        )
        for reader in (case_volumes, case_oil, standstill_request, case_capillary):
            reader(case)


def test_what_is_offered_and_asked_is_a_key_of_the_case():
    asked = {place for one in QUESTIONS for place in one.places if place[0]} | set(ALWAYS)
    assert all(key in TABLES[table].keys for table, lines in READY.items() for key in lines)
    assert all(key in READY[table] for table, key in asked)


# --- refusals


def test_nothing_is_overwritten(capsys, tmp_path):
    taken = tmp_path / "taken.toml"
    taken.write_text("theirs")
    assert "is there already, and nothing is overwritten" in refusal(
        capsys, "start", str(taken), *options("scroll")
    )
    assert "there is no folder" in refusal(
        capsys, "start", str(tmp_path / "none" / "new.toml"), *options("scroll")
    )
    assert taken.read_text() == "theirs" and list(tmp_path.iterdir()) == [taken]


@pytest.mark.parametrize("missing", ["compressor", "motor-size", "cold-end", "bottle"])
def test_without_a_terminal_a_missing_answer_is_named(missing, capsys, tmp_path):
    given = {
        "--compressor": "rotary",
        "--motor-size": "1/3 hp",
        "--cold-end": "120 K",
        "--bottle": "nitrogen",
    }
    del given[f"--{missing}"]
    text = refusal(
        capsys, "start", str(tmp_path / "new.toml"), *(word for pair in given.items() for word in pair)
    )
    assert f"--{missing} is needed" in text and not list(tmp_path.iterdir())


@pytest.mark.parametrize(
    "given, complaint",
    [
        (("--load", "1/3 hp"), "--load: .* size of a motor"),
        (("--load", "12"), "--load: a power needs its unit"),
        (("--voltage", "230 A"), '--voltage: "A" is not a unit of voltage'),
        (("--ambient", "-90 degC"), "--ambient: .* out of range"),
        (("--suction-pressure", "4 bar to 2 bar"), "--suction-pressure: the lower value comes first"),
        (("--suction-pressure", "1 to 2 to 3 bar"), "--suction-pressure: needs a lower and an upper value"),
        (("--suction-pressure", "30 bar"), "not above the suction pressure of 30 bar"),
        (("--suction-pressure", "nan to 3 bar"), "--suction-pressure: needs a pressure"),
        (("--small-tube", "6 mm"), "--small-tube: needs"),
        (("--tubes", "tube in tubes"), '--tubes: .* did you mean "tube in tube"'),
        (("--tubes", "tube in tube"), "--small-tube is needed"),
        (("--bottle", "propan"), "--bottle: unknown gas"),
        (("--bottle", "mix: propane=0.3"), "--bottle: .* sum to 0.3"),
        (("--bottle", ": propane=1"), "--bottle: a bottle needs the name"),
        (("--bottle", ""), "--bottle: a bottle needs the name"),
        (("--bottle", "ethane"), "another bottle of ethane"),
        (("--bottle", "oxygen"), "oxygen"),
        (("--cold-end", "298 K", "--ambient", "290 K"), "not below the ambient"),
        (("--title", "a\x1bb"), "--title: .* control character"),
        (("--tube-length", "3 m"), r"lacks kind"),
    ],
)
def test_a_bad_answer_is_refused_as_the_reader_of_cases_does(given, complaint, capsys, tmp_path):
    assert re.search(
        complaint, refusal(capsys, "start", str(tmp_path / "new.toml"), *options("scroll"), *given)
    )
    assert not list(tmp_path.iterdir())


def test_every_question_is_an_option_and_its_answer_comes_back(capsys, tmp_path):
    given = {
        "title": 'box "one"', "ambient": "20 degC", "compressor": "rotary", "capacity": "4000 BTU/h",
        "displacement": "6.4 cm3", "speed": "2900 rpm", "refrigerant": "R-22", "rating_point": "air conditioning",
        "supply_frequency": "60 Hz", "voltage": "230 V", "rated_current": "2.2 A", "suction_pressure": "3 bar",
        "discharge_pressure": "15 bar", "tubes": "tube in tube", "small_tube": "6 x 1 mm", "large_tube": "12 x 1 mm",
        "tube_length": "30 m", "cold_end": "120 K", "load": "12 W",
    }  # fmt: skip
    beside = {"bottle", "motor_size", "approach"}  # asked where capacity or length is not known
    assert set(given) | beside == {one.name for one in QUESTIONS}
    words = [word for name, text in given.items() for word in (f"--{name.replace('_', '-')}", text)]
    record = started(
        capsys, tmp_path / "new.toml", *words, "--bottle", "nitrogen", "--bottle", "propane, ethane"
    )
    assert record["answers"] == given | {"bottle": ["nitrogen", "propane", "ethane"]}
    assert record["guesses"] == ['[search] smallest_freezing_margin = "2 K"']
    case = read_case(tmp_path / "new.toml")
    assert record["title"] == case.title == 'box "one"' and case.tables["rating"]["frequency"] == 60.0


# --- questions on a terminal


def talked(path, *lines: str) -> tuple[str, int]:
    """What a terminal shows when these lines answer its prompts, followed by the end of input; and the exit code."""
    pty = pytest.importorskip("pty", reason="needs a pseudo-terminal")
    main_end, other_end = pty.openpty()
    command = [sys.executable, "-m", "mixjt", "start", str(path)]
    with subprocess.Popen(
        command, stdin=other_end, stdout=other_end, stderr=other_end, cwd=ROOT, start_new_session=True
    ) as run:
        os.close(other_end)
        shown, waiting = "", [*(f"{line}\n" for line in lines), "\x04"]
        while True:
            try:
                shown += os.read(main_end, 65536).decode()
            except OSError:  # as Linux ends a terminal that nobody writes to any more
                break
            if waiting and re.search(r"(^|\n)[^\n]+: $", shown):
                os.write(main_end, waiting.pop(0).encode())
                shown += "<"
    os.close(main_end)
    return shown, run.returncode


def test_on_a_terminal_it_asks_until_the_answers_are_good(tmp_path):
    path = tmp_path / "new.toml"
    shown, code = talked(
        path, "receiver", "20 degC", "rotari", "rotary", "", "6.4 cm3", "", "2900 rpm", "", "",
        "4 bar", "3 bar", "3 bar", "15 bar", "", "5 K", "300 K", "", "120 K", "", "nitrogen", "methan", "propane", "",
    )  # fmt: skip
    assert code == 0, shown
    for complaint in (
        'did you mean "rotary"?', "this is needed: speed", "3 bar is not above the suction pressure of 4 bar",
        "not below the ambient", "did you mean methane",
    ):  # fmt: skip
        assert complaint in shown
    case = read_case(path)
    assert case.title == "receiver" and case.circuit.ambient_temperature == pytest.approx(293.15)
    assert (
        case.circuit.compressor.displacement == pytest.approx(6.4e-6)
        and case.circuit.cold_temperature == 120.0
    )
    assert (
        case.circuit.suction_pressure,
        case.circuit.discharge_pressure,
        case.circuit.recuperator_approach,
    ) == (3e5, 15e5, 5.0)
    assert case.load is None and [bottle.ingredient.name for bottle in case.bottles] == [
        "nitrogen",
        "propane",
    ]


def test_the_end_of_input_leaves_no_file(tmp_path):
    assert talked(tmp_path / "new.toml", "receiver")[1] == 130
    assert not list(tmp_path.iterdir())
