"""`mixjt sheet`: its page and record, what it says of a case that lacks something, what it refuses.

And the page in a real browser, on a phone, at the width of A4 and on paper: skipped where there is no Chromium to drive.
"""

import base64
import json
import re
import shutil
import signal
from contextlib import redirect_stdout
from io import StringIO
from types import SimpleNamespace

import pytest
from cli_samples import refusal, written
from sheet_samples import AIR, LACKING, SMALL, TITLE, Taken, without

from mixjt.cli.app import main
from mixjt.constants import ZERO_CELSIUS

WIDTH = 100
FLAGS = (
    "--headless=new", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
)  # fmt: skip
PHONE, A4 = 380, 794  # px; 210 mm are 794 px of 1/96 inch
PAPERS = {"A4": (8.27, 11.69), "letter": (8.5, 11.0)}  # inches: ISO 216 and ANSI Y14.1
POINTS = 72.0  # an inch
MARGINS = 2 * 13.0 / 25.4 * 96.0  # px, of the page's own @page
SECTIONS = [
    "cautions", "warnings", "missing", "parts", "blend", "charge", "readings", "set-points", "states", "trust", "case",
]  # fmt: skip


@pytest.fixture(scope="module")
def run(tmp_path_factory):
    """Page, record and terminal of the small machine, its cool-down in few steps."""
    folder, text = tmp_path_factory.mktemp("sheet"), StringIO()
    with pytest.MonkeyPatch.context() as patch, redirect_stdout(text):
        patch.setenv("COLUMNS", str(WIDTH))
        patch.setattr("mixjt.studies.cooldown.STEPS", 4)
        assert main(["sheet", written(folder, SMALL), "--out", str(folder / "out")]) == 0
    assert {path.name for path in (folder / "out").iterdir()} == {"sheet.html", "summary.json"}
    page = (folder / "out" / "sheet.html").read_text(encoding="utf-8")
    record = json.loads((folder / "out" / "summary.json").read_text())
    return SimpleNamespace(
        path=folder / "out" / "sheet.html", page=page, taken=Taken(page), record=record, text=text.getvalue()
    )


@pytest.fixture(scope="module")
def lacking(tmp_path_factory):
    """Folder and record of the same without throttle, volumes, rating of its parts and what it cools."""
    folder = tmp_path_factory.mktemp("lacking")
    with redirect_stdout(StringIO()):
        assert main(["sheet", written(folder, without(SMALL, *LACKING)), "--out", str(folder / "out")]) == 0
    return folder / "out", json.loads((folder / "out" / "summary.json").read_text())


def rows_of(run, section, first):
    """Rows of a section's tables that begin with a text, behind a box to tick or not."""
    return [row for row in run.taken.rows[section] if first in row[:2]]


def test_every_section_is_there_in_order(run):
    assert [one for one in run.taken.ids if one in SECTIONS] == SECTIONS


def test_the_charge_has_the_grams_and_gauge_of_the_record_boxes_and_room_to_write(run):
    names = [row["bottle"] for row in run.record["charge"]]
    assert names == ["ethane", "methane"]  # by rising vapour pressure
    for step in run.record["charge"]:
        (row,) = rows_of(run, "charge", step["bottle"])
        assert row[2] == f"{step['mass_g']:.1f}" and row[4] == f"{step['gauge_pressure_after_Pa'] / 1e5:.2f}"
        assert row[-2:] == ["", ""]
    ticked = [
        named["aria-label"] for tag, named in run.taken.attributes if tag == "input" and "aria-label" in named
    ]
    assert all(f"{name} done" in ticked for name in names)


def test_readings_are_gauge_and_absolute_from_rest_to_cold(run):
    readings = run.record["readings"]
    whens = list(dict.fromkeys(row["when"] for row in readings))
    assert whens == [
        "at rest on the bench", "at rest, all warm", "at rest, hottest day", "first minutes", "cooling down", "coldest followed",
        "cold, as designed",
    ]  # fmt: skip
    for row in readings:
        assert row["suction_gauge_pressure_Pa"] == pytest.approx(row["suction_pressure_Pa"] - AIR)
        assert row["discharge_gauge_pressure_Pa"] == pytest.approx(row["discharge_pressure_Pa"] - AIR)
    assert readings[0]["suction_pressure_Pa"] - AIR == pytest.approx(
        run.record["charge"][-1]["gauge_pressure_after_Pa"]
    )
    assert readings[2]["suction_pressure_Pa"] == pytest.approx(run.record["hot_standing_pressure_Pa"])
    assert readings[3]["discharge_pressure_Pa"] == pytest.approx(
        run.record["first_start"]["first_discharge_pressure_Pa"]
    )
    way = [row for row in readings if row["when"] == "cooling down"]
    assert [row["time_s"] for row in way] == pytest.approx([row["time_s"] for row in run.record["cool_down"]])
    assert way[-1]["cold_temperature_K"] == pytest.approx(200.0) and way[-1]["time_s"] == pytest.approx(
        run.record["time_to_target_s"]
    )
    for row in (readings[0], way[0], way[-1], readings[-1]):
        shown = f"{row['suction_gauge_pressure_Pa'] / 1e5:.2f}", f"{row['discharge_pressure_Pa'] / 1e5:.2f}"
        assert any(shown == (cells[3], cells[6]) for cells in rows_of(run, "readings", row["when"]))


def test_set_points_come_from_the_case_and_what_the_machine_does(run):
    found = {row["device"]: row for row in run.record["set_points"]}
    assert found["relief valve, low side"]["most_pressure_Pa"] == pytest.approx(16e5)
    assert found["low-pressure cut-out"]["least_pressure_Pa"] == pytest.approx(AIR)
    assert found["discharge thermostat"]["most_temperature_K"] == pytest.approx(107 + ZERO_CELSIUS)
    highest = max(row["discharge_pressure_Pa"] for row in run.record["readings"])
    assert found["relief valve, high side"]["least_pressure_Pa"] == pytest.approx(highest)
    ((*_, above, most, blank),) = rows_of(run, "set-points", "relief valve, low side")
    assert most.startswith("15.1 bar gauge (16.0 abs): [standstill] largest_pressure") and blank == ""
    assert "hottest day" in above
    assert "local codes and licensed practice" in run.taken.texts["set-points"]


def test_parts_are_as_the_case_states_them(run):
    for what, stated in (
        ("displacement", "6.4 cm3"),
        ("conductance", "20 W/K"),
        ("length", "1.6 m"),
        ("buffer", "6 L"),
    ):
        assert any(
            len(row) == 4 and row[1].startswith(what) and row[2:] == [stated, ""]
            for row in run.taken.rows["parts"]
        )
    stated = {(row["table"], row["key"]): row["stated"] for row in run.record["parts"]}
    assert stated["volumes", "recuperator_low"] == "0.5 L" and ("cold_mass", "coldest") not in stated
    (smallest,) = rows_of(run, "parts", "smallest diameter")
    assert smallest[1] == f"{1e3 * run.record['throttle_sensitivity'][1]['diameter_m']:.3f}"


def test_cautions_are_for_the_highest_pressure_and_warnings_are_all_there(run):
    highest = max(row["discharge_pressure_Pa"] for row in run.record["readings"])
    assert f"Pressure: {highest / 1e5:.3g} bar" in run.taken.texts["cautions"]
    for words in ("Flammable: methane, ethane", "never heat a bottle", "Local codes", "Asphyxiation"):
        assert words in run.taken.texts["cautions"]
    told = run.taken.texts["warnings"] + run.taken.texts["trust"]
    assert run.record["warnings"] and all(one in told for one in run.record["warnings"])
    assert (
        run.record["model"] in run.taken.texts["trust"] and run.record["version"] in run.taken.texts["trust"]
    )
    assert "cooling is known to about" in run.taken.texts["trust"]


def test_the_case_is_printed_in_full_and_what_looks_like_markup_in_it_stays_text(run):
    assert SMALL in run.taken.texts["case"]
    assert TITLE in run.taken.texts[""] and "script" not in run.taken.tags and "b" not in run.taken.tags
    assert run.taken.titles[0].startswith(TITLE)


def test_pictures_say_in_words_what_is_read_off_them_and_share_no_id(run):
    pictures = [named for tag, named in run.taken.attributes if tag == "svg"]
    assert len(pictures) == 3 and all(named["role"] == "img" for named in pictures)
    assert len(set(run.taken.ids)) == len(run.taken.ids)
    meant = re.findall(r'(?:href="|url\()#([^")]+)', run.page) + [
        named["aria-labelledby"] for named in pictures
    ]
    assert len(meant) > 3 and set(meant) <= set(run.taken.ids)
    pinch, cooldown, _ = run.taken.titles[1:]
    assert f"to {run.record['smallest_approach_K']:.3g} K" in pinch
    assert f"in {run.record['time_to_target_s'] / 60:.0f} minutes" in cooldown and "to 200 K" in cooldown


def test_nothing_is_fetched_from_outside(run):
    assert not {"link", "img", "iframe", "object", "base", "image"} & set(run.taken.tags)
    fetching = [
        named for _, named in run.taken.attributes if {"src", "srcset", "action", "background"} & set(named)
    ]
    assert fetching == [] and "@import" not in run.page and not re.search(r"url\((?!#)", run.page)
    assert all(named.get("href", "#").startswith("#") for _, named in run.taken.attributes)
    assert all(named.get("xlink:href", "#").startswith("#") for _, named in run.taken.attributes)


def test_the_terminal_shows_what_is_needed_most_within_its_width(run):
    assert max(map(len, run.text.splitlines())) <= WIDTH
    for title in (
        "Let in, in this order",
        "What gauges and meters should show",
        "Cut-outs and relief valves",
        "Not on the sheet",
    ):
        assert title in run.text


def test_a_case_that_lacks_things_has_a_sheet_that_says_what_finds_them(lacking):
    folder, record = lacking
    missing = " ".join(record["missing"])
    for words in (
        "`mixjt throttle`",
        "`mixjt recuperator`",
        "[volumes]",
        "[recuperator_tubes]",
        "[cold_mass]",
        "largest_pressure",
    ):
        assert words in missing
    assert record["charge"] is None and record["cool_down"] is None and record["first_start"] is None
    assert [row["when"] for row in record["readings"]] == ["cold, as designed"]
    taken = Taken((folder / "sheet.html").read_text(encoding="utf-8"))
    assert all(one in taken.texts["missing"] for one in record["missing"])
    assert len(taken.titles) == 2  # the page's and the pinch picture's


def test_json_is_the_record_alone(capsys, tmp_path):
    case = written(tmp_path, without(SMALL, *LACKING))
    assert main(["sheet", case, "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert {"parts", "readings", "set_points", "missing", "cooling_power_W", "cautions"} <= set(found)
    assert [path.name for path in tmp_path.iterdir()] == ["case.toml"]


def test_the_page_is_written_whole_or_nothing_is(capsys, monkeypatch, tmp_path):
    def failing(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("mixjt.report.sheet_page.sheet_page", failing)
    case = written(tmp_path, without(SMALL, *LACKING))
    assert main(["sheet", case, "--out", str(tmp_path / "out")]) == 2
    assert "No space left" in capsys.readouterr().err and not (tmp_path / "out").exists()


@pytest.fixture
def interruptible():
    """Ctrl-C as on a terminal: a job in the background is started with it ignored."""
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    yield
    signal.signal(signal.SIGINT, before)


def test_a_cool_down_cut_short_leaves_a_sheet_that_says_so(capsys, monkeypatch, tmp_path, interruptible):
    monkeypatch.setattr(
        "mixjt.studies.cooldown.settle_machine", lambda *_: signal.raise_signal(signal.SIGINT)
    )
    assert main(["sheet", written(tmp_path, SMALL), "--out", str(tmp_path / "out")]) == 130
    assert "Interrupted: " in capsys.readouterr().out
    taken = Taken((tmp_path / "out" / "sheet.html").read_text(encoding="utf-8"))
    assert "the end of the cool-down: it was interrupted" in taken.texts["missing"]
    assert json.loads((tmp_path / "out" / "summary.json").read_text())["interrupted"]


@pytest.mark.parametrize(("before", "after", "said"), [
    ("buffer = ", "bufer = ", "did you mean buffer?"),
    ('discharge_pressure = "15 bar"', 'discharge_pressure = "2 bar"', "is not above the suction pressure"),
    ("ethane = 0.7", "oxygen = 0.7", "can explode"),
])  # fmt: skip
def test_bad_cases_are_refused_in_a_line(capsys, tmp_path, before, after, said):
    assert before in SMALL
    assert said in refusal(
        capsys, "sheet", written(tmp_path, SMALL.replace(before, after, 1)), "--out", str(tmp_path / "out")
    )
    assert not (tmp_path / "out").exists()


# --- in a browser


@pytest.fixture(scope="module")
def browser(tmp_path_factory):
    """A Chromium of its own that notes what it complains of and what it asks for."""
    webdriver = pytest.importorskip(
        "selenium.webdriver", reason="selenium, of the extra [test], is not installed"
    )
    program = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)
    driver = shutil.which("chromedriver")
    if not (program and driver):
        pytest.skip("no Chromium with its chromedriver is installed (Debian: chromium, chromium-driver)")
    options = webdriver.ChromeOptions()
    options.binary_location = program
    for flag in (*FLAGS, f"--user-data-dir={tmp_path_factory.mktemp('profile')}"):
        options.add_argument(flag)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    chromium = webdriver.Chrome(options=options, service=webdriver.ChromeService(driver))
    yield chromium
    chromium.quit()


def opened(browser, sheet, width, medium="screen"):
    """The sheet at a width, and the addresses that were asked for."""
    browser.get_log("performance"), browser.get_log("browser")  # of pages before
    screen = {"width": width, "height": 800, "deviceScaleFactor": 1, "mobile": width == PHONE}
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", screen)
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": medium})
    browser.get(sheet.as_uri())
    events = [json.loads(entry["message"])["message"] for entry in browser.get_log("performance")]
    asked = [one["params"] for one in events if one["method"] == "Network.requestWillBeSent"]
    return [
        one["request"]["url"] for one in asked if one["documentURL"] == sheet.as_uri()
    ]  # not what a new tab asks for


@pytest.mark.parametrize("width", [PHONE, A4])
def test_nothing_is_wider_than_the_page_and_nothing_is_asked_for_from_outside(browser, run, width):
    asked = opened(browser, run.path, width)
    assert asked == [run.path.as_uri()]
    assert browser.get_log("browser") == []
    assert browser.execute_script("return document.documentElement.scrollWidth") <= width
    assert (
        browser.execute_script("return document.documentElement.clientWidth") > 0.9 * width
    )  # less a bar to scroll with


@pytest.mark.parametrize("width", [PHONE, A4])
def test_all_pictures_are_shown_with_a_text_alternative(browser, run, width):
    opened(browser, run.path, width)
    boxes = browser.execute_script(
        "return [...document.querySelectorAll('svg')].map(one => one.getBoundingClientRect())"
        ".map(box => [box.width, box.height])"
    )
    assert len(boxes) == 3 and all(wide > 300.0 and high > 200.0 for wide, high in boxes)
    for picture in browser.find_elements("css selector", "svg"):
        assert picture.aria_role in ("img", "image") and picture.accessible_name in run.taken.titles[1:]


def test_on_paper_nothing_is_cut(browser, run):
    opened(browser, run.path, int(A4 - MARGINS), "print")
    cut = browser.execute_script(
        "return [...document.querySelectorAll('html, .box, pre, table')].filter(one => one.scrollWidth > one.clientWidth + 1)"
        ".map(one => one.outerHTML.slice(0, 200))"
    )
    assert cut == []


@pytest.mark.parametrize("paper", PAPERS)
def test_it_prints(browser, run, paper):
    opened(browser, run.path, A4)
    wide, high = PAPERS[paper]
    options = {"paperWidth": wide, "paperHeight": high, "printBackground": True}
    pdf = base64.b64decode(browser.execute_cdp_cmd("Page.printToPDF", options)["data"])
    boxes = [tuple(map(float, box.split())) for box in re.findall(rb"/MediaBox\s*\[([^]]*)\]", pdf)]
    assert 4 <= len(re.findall(rb"/Type\s*/Page\b", pdf)) <= 12
    assert boxes and all(
        box == pytest.approx((0.0, 0.0, POINTS * wide, POINTS * high), abs=1.0) for box in boxes
    )
