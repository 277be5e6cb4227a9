"""`--save NEW.toml`: what a command has found in its place in the user's file, all else as it was."""

import difflib
import re
import tomllib
from pathlib import Path

import pytest
from cli_samples import edited, record_of, refusal, written
from test_cli_compressor import LABEL, POLYNOMIALS

from mixjt.case.case import read_case
from mixjt.case.saved_case import saved_text
from mixjt.case.sensitivity_case import weighing_request
from mixjt.cli.app import main
from mixjt.errors import InputError
from mixjt.units import written_quantity
from mixjt.whole import write_new

DEMOS = Path(__file__).parent.parent / "mixtures-demo"
DEMO, WHOLE, TUBES = (DEMOS / f"receiver-{name}.toml" for name in ("120K", "cooldown", "tubes"))
PSI = 6894.757293168  # Pa; NIST Special Publication 811, appendix B.8
SHORT_SEARCH = "largest_number_of_gases = 3\nsamples = 16\nshortlist = 1\nseed = 7"
ERRORS = '["1 g", "2 g", "1 g", "1 g", "1000 mg"]'
FEW_CELLS = 'cells = 24\ntube_norm = "EN 12735-1"'  # fewer tubes are offered then, too

pytestmark = [pytest.mark.slow, pytest.mark.usefixtures("one_model", "own_length")]


@pytest.fixture
def own_length(monkeypatch):
    """No other lengths of a coil are looked at: nothing of them is saved."""
    monkeypatch.setattr("mixjt.studies.recuperator_study.LENGTH_RATIOS", (1.0,))


def put(path, *values) -> str:
    """The text of a case with (table, key, value) in it."""
    return saved_text(read_case(path), {(table, key): value for table, key, value in values}, "mixjt test")


def line(text: str, key: str) -> str:
    """The only line that states a key."""
    found = [one for one in text.splitlines() if one.startswith(key)]
    assert len(found) == 1
    return found[0]


def changed_lines(before: str, after: str) -> list[str]:
    return [one for one in difflib.ndiff(before.splitlines(), after.splitlines()) if one[0] in "+-"]


def alike(first: dict, second: dict, rel: float = 1e-6) -> None:
    """Equal numbers under the keys of both, but for residuals, which are noise."""
    numbers = {key for key, value in first.items() if isinstance(value, float) and key in second}
    numbers -= {"energy_residual", "exergy_residual"}
    assert len(numbers) > 10
    for key in numbers:
        # Pa, drops of tubes stand still at 2e-8 of the pressure, which moves an approach of some kelvin by 1e-5 K; a band is a
        # difference of coolings good to rel
        still = 0.03 if "drop" in key else 1e-5 if "approach" in key else rel if "band" in key else 1e-12
        assert second[key] == pytest.approx(first[key], rel=rel, abs=still), key


# --- quantities


@pytest.mark.parametrize(
    "value, dimension, like, text",
    [
        (2.5e5, "pressure", "3 bar", "2.5 bar"),
        (85e3 + 20.0 * PSI, "pressure", "29 psig", "20 psig"),  # gauge, with 850 mbar outside
        (85e3 - 2.0 * 3386.389, "pressure", "10 inHg vacuum", "2 inHg vacuum"),  # NIST SP 811, conventional inch
        (123.15, "temperature", "20 degC", "-150 degC"),
        (233.15, "temperature", "0 degF", "-40 degF"),
        (48.0, "frequency", "2900 rpm", "2880 rpm"),
        (6.4e-6, "volume", "5 cm3/rev", "6.4 cm3/rev"),
        (1.27e-3, "length", "0.06 in", "0.05 in"),
        (0.125, "fraction", "30 %", "12.5 %"),
        (0.125, "fraction", 0.3, 0.125),
        (0.0, "fraction", "30 %", 0.0),
        (1.5, "length", None, "1.5 m"),
        (8e-4, "length", None, "0.8 mm"),
        (1.5e5, "pressure", None, "1.5 bar"),
        (13.5, "mass", None, "13.5 kg"),
        (1.2e5, "pressure", "10 inHg vacuum", "1.2 bar"),  # no vacuum says that
    ],
)
def test_a_value_keeps_the_unit_of_the_line(value, dimension, like, text):
    found = written_quantity(value, dimension, like, 85e3)
    if not isinstance(text, str):
        assert found == text
        return
    number, _, unit = found.partition(" ")
    assert unit == text.partition(" ")[2]
    assert float(number) == pytest.approx(float(text.partition(" ")[0]), rel=1e-6)


# --- the text


def test_only_the_lines_with_values_change_and_keep_their_comments():
    text = put(DEMO, ("compressor", "displacement", 7e-6), ("throttle", "length", 1.25))
    assert changed_lines(DEMO.read_text(), text) == [
        '- displacement = "6.4 cm3"        # per revolution',
        '+ displacement = "7 cm3"          # per revolution; set by mixjt test',
        '+ length = "1.25 m"  # set by mixjt test',
    ]


def test_what_the_case_says_already_stays_as_it_is(tmp_path):
    said = (("circuit", "suction_pressure", 3e5), ("aftercooler", "approach", 8.0), ("blend", "methane", 0.43))
    assert put(DEMO, *said) == DEMO.read_text()
    assert put(DEMO, ("circuit", "suction_pressure", 3.0001e5)) != DEMO.read_text()


def test_who_set_a_value_is_said_once(tmp_path):
    once = written(tmp_path, put(DEMO, ("compressor", "displacement", 7e-6)))
    assert line(put(once, ("compressor", "displacement", 8e-6)), "displacement").endswith(
        "# per revolution; set by mixjt test"
    )


def test_a_new_key_stands_with_its_table_and_a_new_table_at_the_end(tmp_path):
    head = DEMO.read_text().partition("[blend]")[0]
    path = written(tmp_path, head.replace("[cold_end]", "# --- the cold end ---\n[cold_end]"))
    text = put(path, ("throttle", "length", 1.25), ("blend", "nitrogen", 0.25), ("blend", "R-600a", 0.0),
               ("blend", "methane", 0.75))  # fmt: skip
    lines = text.splitlines()
    assert lines.index('length = "1.25 m"  # set by mixjt test') < lines.index("# --- the cold end ---")
    assert tomllib.loads(text)["blend"] == {"nitrogen": 0.25, "R-600a": 0.0, "methane": 0.75}


@pytest.mark.parametrize(
    "before, after",
    [
        ("[blend]\nnitrogen = 0.5\npropane = 0.5\n", ""),
        ("", "blend = {nitrogen = 0.5, propane = 0.5} # mine\n"),
        ("", "blend.nitrogen = 0.5 # mine\nblend.propane = 0.5\n"),
        ("", "blend = {nitrogen = 1.0}\n"),
    ],
)
def test_tables_in_every_form_of_the_language(tmp_path, before, after):
    head = DEMO.read_text().partition("[blend]")[0]
    path = tmp_path / "case.toml"
    path.write_bytes((after + head + before).replace("\n", "\r\n").encode("utf-8-sig"))
    text = put(path, ("blend", "nitrogen", 0.25), ("blend", "propane", 0.5), ("blend", "R-170", 0.25))
    assert tomllib.loads(text)["blend"] == {"nitrogen": 0.25, "propane": 0.5, "R-170": 0.25}
    assert "set by mixjt test" in text and ("# mine" in text) == ("mine" in after)
    assert text.startswith("# [blend] set by mixjt test\r\n") == bool(after)
    assert set((after + head).splitlines()) - set(text.splitlines()) <= set(after.splitlines())


def test_a_value_that_no_case_may_have_is_refused():
    with pytest.raises(InputError, match=r"\[recuperator\] approach: .* out of range"):
        put(DEMO, ("recuperator", "approach", 61.0))


# --- the file


@pytest.mark.parametrize(
    "verb, case", [("search", DEMO), ("recuperator", TUBES), ("throttle", DEMO), ("compressor", DEMO)]
)
def test_a_place_that_cannot_be_saved_to_is_refused_before_anything_is_solved(capsys, tmp_path, monkeypatch, verb, case):
    def solved(*_):
        raise AssertionError("solved before the place was looked at")

    monkeypatch.setattr("mixjt.cli.solved_case.chosen_model", solved)
    monkeypatch.setattr(f"mixjt.cli.{verb}_command.chosen_model", solved, raising=False)
    own, taken = tmp_path / "own.toml", tmp_path / "taken.toml"
    own.write_text(case.read_text())
    taken.write_text("theirs")
    for place, complaint in (
        (taken, "is there already, and nothing is overwritten"),
        (own, "is the case file itself"),
        (tmp_path / "none" / "new.toml", f"there is no folder {tmp_path / 'none'}"),
        (tmp_path, "is there already"),
        (taken / "new.toml", "cannot write"),
        (tmp_path / ("x" * 300), "cannot write"),
    ):
        assert complaint in refusal(capsys, verb, str(own), "--save", str(place))
    assert taken.read_text() == "theirs" and own.read_text() == case.read_text()
    assert {path.name for path in tmp_path.iterdir()} == {"own.toml", "taken.toml"}


def test_a_command_without_a_result_writes_nothing(capsys, tmp_path):
    case = edited(tmp_path, DEMO, ('diameter = "0.8 mm"', 'diameter = "0.25 mm"'))
    assert "cannot pass" in refusal(capsys, "throttle", case, "--save", str(tmp_path / "new.toml"))
    assert [path.name for path in tmp_path.iterdir()] == ["case.toml"]


@pytest.mark.parametrize("links", [True, False])
def test_a_file_that_came_meanwhile_is_not_overwritten(tmp_path, monkeypatch, links):
    def no_links(*_):
        raise PermissionError("no links on this disk")

    if not links:
        monkeypatch.setattr("os.link", no_links)
    write_new(tmp_path / "new.toml", "ours\r\n")
    assert (tmp_path / "new.toml").read_bytes() == b"ours\r\n"
    with pytest.raises(FileExistsError):
        write_new(tmp_path / "new.toml", "again")
    assert (tmp_path / "new.toml").read_bytes() == b"ours\r\n"
    assert [path.name for path in tmp_path.iterdir()] == ["new.toml"]


def test_a_full_disk_leaves_no_half_file(capsys, tmp_path, monkeypatch):
    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.link", full)
    monkeypatch.setattr("os.rename", full)
    place = tmp_path / "new.toml"
    assert main(["compressor", str(DEMO), "--save", str(place)]) == 2
    assert f"cannot write {place}: No space left on device" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


# --- the commands


def test_a_capillary_is_saved_and_found_again(capsys, tmp_path):
    once, twice = (str(tmp_path / f"{name}.toml") for name in ("once", "twice"))
    cut = record_of(capsys, "throttle", str(DEMO), "--save", once)
    assert read_case(once).tables["throttle"]["length"] == pytest.approx(cut["length_m"], rel=1e-9)
    again = record_of(capsys, "throttle", once, "--save", twice)
    assert again["found"] == "flow"
    assert again["mass_flow_g_per_s"] == pytest.approx(again["circuit_mass_flow_g_per_s"], rel=1e-6)
    assert Path(twice).read_text() == Path(once).read_text()


def test_the_blend_of_the_command_line_is_saved_with_its_capillary(capsys, tmp_path):
    case = edited(tmp_path, DEMO, ('weighing_errors = ["1 g"]', f"weighing_errors = {ERRORS}"))
    place, blend = str(tmp_path / "new.toml"), "R-728=0.25, methane=0.35, propane=0.25, camping gas=0.15"
    said = record_of(capsys, "throttle", case, "--blend", blend, "--save", place)
    saved = read_case(place)
    assert saved.raw["blend"] == {
        "nitrogen": 0.25, "methane": 0.35, "ethane": 0.0, "isobutane": 0.0, "camping gas": 0.15, "propane": 0.25,
    }  # fmt: skip
    assert said["blend"] == pytest.approx(saved.blend.without_absent().to_dict())
    assert saved.tables["sensitivity"]["weighing_errors"] == pytest.approx((1e-3, 2e-3, 1e-3, 1e-3, 1e-3, 2e-3))
    assert len(weighing_request(saved, None, 0.1).errors) == 4  # of what is present


@pytest.mark.parametrize("stated", [True, False])
def test_a_coil_is_saved_with_what_it_holds_and_changes_nothing_the_second_time(capsys, tmp_path, stated):
    changes = [("[cold_mass]", f"{FEW_CELLS}\n\n[cold_mass]")]
    if not stated:
        changes += [('length = "30 m"\n', ""), ("[throttle]", '[recuperator]\napproach = "4 K"\n\n[throttle]')]
    case, (once, twice) = edited(tmp_path, WHOLE, *changes), (str(tmp_path / f"{name}.toml") for name in ("1", "2"))
    rated = record_of(capsys, "recuperator", case, "--save", once)
    tables, raw = read_case(once).tables, read_case(once).raw
    found = tables["recuperator_tubes"]["length"]
    assert found == pytest.approx(rated["recuperator_length_m"], rel=1e-9)
    assert found == 30.0 if stated else rated["smallest_approach_K"] == pytest.approx(4.0, rel=1e-3)
    assert not {"approach", "conductance"} & raw.get("recuperator", {}).keys()  # they follow from the length
    # areas of a bore of 4 mm and of the gap between 6 and 10 mm; copper of 8940 kg/m3
    areas = {"high": 4.0e-6, "low": 16.0e-6}
    for side, area in areas.items():
        assert tables["volumes"][f"recuperator_{side}"] == pytest.approx(3.14159265 * area * found, rel=1e-3)
    weight = 8940.0 * 3.14159265 / 4.0 * ((36 - 16) + (144 - 100)) * 1e-6 * found
    assert tables["cold_mass"]["recuperator_copper"] == pytest.approx(weight, rel=1e-3)
    record_of(capsys, "recuperator", once, "--save", twice)
    assert Path(twice).read_text() == Path(once).read_text()
    cycle = record_of(capsys, "cycle", once)
    for key in ("cop", "compressor_power_W", "min_enthalpy_difference_J_per_mol"):  # of the circuit, not of the rating
        assert cycle[key] == pytest.approx(rated[key], rel=1e-6 if stated else 1e-3)


def without_size(folder: Path, rating: str) -> str:
    """The demo with a machine that only its rating describes."""
    text = re.sub(r"^\[rating\].*\n(?:\w.*\n)*", "", DEMO.read_text(), flags=re.MULTILINE)
    for key in ("displacement", "speed", "isentropic_efficiency", "clearance"):
        text = re.sub(rf"^{key} = .*\n", "", text, flags=re.MULTILINE)
    return written(folder, f"{text}\n[rating]\n{rating}\n")


@pytest.mark.parametrize(
    "rating",
    [
        LABEL + 'rated_current = "2.2 A"',
        LABEL + 'power = "450 W"',
        POLYNOMIALS + "current_coefficients = [0.6, 0.01, 0.022, 0, 1.6e-4, 0, 0, 0, 0, 0]",
    ],
    ids=["label", "label with power", "polynomials"],
)
def test_a_rated_machine_is_saved_without_a_change_of_any_result(capsys, tmp_path, rating):
    case, (once, twice) = without_size(tmp_path, rating), (str(tmp_path / f"{name}.toml") for name in ("1", "2"))
    before = record_of(capsys, "compressor", case, "--save", once)
    machine = read_case(once).tables["compressor"]
    assert machine["displacement"] and machine["speed"] == pytest.approx(48.25)  # 50 Hz, two poles, 3.5 % slip
    after = record_of(capsys, "compressor", once, "--save", twice)
    assert Path(twice).read_text() == Path(once).read_text()
    for one, other in zip(before["map"], after["map"], strict=True):
        alike(one, other) if one.get("power_W") else None
    alike(record_of(capsys, "cycle", case), record_of(capsys, "cycle", once))


@pytest.fixture(scope="module")
def searched(tmp_path_factory):
    """A search that chose a pressure, its record, and the case it saved."""
    folder = tmp_path_factory.mktemp("search")
    ranges = 'suction_pressure_range = ["2 bar", "4 bar"]'
    case = edited(
        folder, WHOLE, ("largest_number_of_gases = 5", f"{SHORT_SEARCH}\n{ranges}"),
        ("[cold_mass]", f"{FEW_CELLS}\n\n[cold_mass]"),
        ('displacement = "6.4 cm3"', '# displacement = "6.4 cm3"'), ("isentropic_efficiency = 0.74\n", ""),
    )  # fmt: skip
    place = str(folder / "new.toml")
    with pytest.MonkeyPatch.context() as patch:
        printed = []
        patch.setattr("mixjt.report.terminal.print_json", printed.append)
        patch.setattr("mixjt.studies.size_study.RATIOS", (0.85, 1.0))
        assert main(["search", case, "--json", "--save", place]) == 0
    return case, printed[0], place


def test_cycle_on_the_saved_case_gives_the_figures_of_the_search(capsys, searched):
    case, found, place = searched
    best = found["candidates"][0]
    assert best["suction_pressure_Pa"] != pytest.approx(3e5, rel=1e-3)
    saved = read_case(place)
    assert {name: x for name, x in saved.raw["blend"].items() if x > 0.0} == pytest.approx(best["bottles"], abs=1e-9)
    assert set(read_case(case).raw["blend"]) <= set(saved.raw["blend"])
    alike(best, record_of(capsys, "cycle", place))


def test_a_saved_search_runs_through_the_commands_until_nothing_changes(capsys, tmp_path, searched):
    text = Path(searched[2]).read_text().replace('length = "1.6 m"                # cut from the reel\n', "")
    chain = [written(tmp_path, text)]
    for verb in ("compressor", "recuperator", "throttle", "recuperator"):
        chain.append(str(tmp_path / f"{len(chain)}.toml"))
        record_of(capsys, verb, chain[-2], "--save", chain[-1])
    texts = [Path(path).read_text() for path in chain]
    assert texts[2] != texts[1] and texts[3] != texts[2] and texts[3] == texts[4]
    for verb in ("cycle", "pinch", "phases"):
        record_of(capsys, verb, chain[-1])


def test_what_an_interrupted_search_has_found_is_saved(capsys, tmp_path, monkeypatch):
    def interrupted(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr("mixjt.studies.band.grid_cooling", interrupted)
    monkeypatch.setattr("mixjt.studies.size_study.RATIOS", (0.85, 1.0))
    case = edited(tmp_path, DEMO, ("largest_number_of_gases = 5", SHORT_SEARCH))
    place = tmp_path / "new.toml"
    assert main(["search", case, "--json", "--save", str(place)]) == 130
    assert "set by mixjt search" in place.read_text() and read_case(place).blend is not None
