"""Figures declared once, and tables on the terminal that fit and fold no number."""

from types import SimpleNamespace

import pytest

from mixjt.report.figure import EVERY, Figure, listing, print_figures, record_of
from mixjt.report.pages import key_table
from mixjt.report.terminal import print_table, print_warnings

FIGURES = (
    Figure("suction_pressure_Pa", "stage.suction", "at the inlet", "suction", "Stage", 2),
    Figure("cop", lambda result: 0.5 * result.power, "", "COP", "Stage", 1),
    Figure("notes", "notes", "for the file alone"),
)
MANY = [f"column {k}|bar abs|.3f" for k in range(12)]
VALUES = [1000.0 + k for k in range(12)]


def test_a_record_has_every_figure_and_none_where_the_way_ends():
    result = SimpleNamespace(stage=None, power=3.0, notes="x")
    assert record_of(FIGURES, result) == {"suction_pressure_Pa": None, "cop": 1.5, "notes": "x"}
    assert record_of(FIGURES[2:], {"notes": 1}) == {"notes": 1}


def test_the_terminal_shows_the_unit_of_the_key_in_the_order_of_ranks(capsys):
    print_figures(FIGURES, "Stage", {"suction_pressure_Pa": 1.19e5, "cop": 1.5})
    lines = [line.split() for line in capsys.readouterr().out.splitlines()]
    assert lines[:3] == [["Stage"], ["COP", "1.500", "W/W"], ["suction", "1.190", "bar", "abs"]]


def test_a_listing_is_a_file_and_a_table(capsys):
    figures = (Figure("mass_g", "mass", text="mass"), Figure("", lambda one: "own", text="note", table=EVERY))
    made = listing(figures, [SimpleNamespace(mass=2.0)])
    assert (made.columns, made.rows, made.records()) == (("mass_g",), ((2.0,),), [{"mass_g": 2.0}])
    made.show("Weighed")
    assert "own" in capsys.readouterr().out


def test_figures_without_a_help_join_the_row_before():
    assert key_table(FIGURES).splitlines()[2] == "| `suction_pressure_Pa`, `cop` | at the inlet |"


@pytest.mark.parametrize("columns", (40, 60, 80, 100))
def test_no_number_is_folded_and_no_line_is_too_long(capsys, monkeypatch, columns):
    monkeypatch.setenv("COLUMNS", str(columns))
    title = "A title that is long enough to need more than one line of forty"
    row = ("low side between sections", *VALUES, "a long sentence that may well be wrapped over lines")
    print_table(title, ["name", *MANY, "said"], [row])
    text = capsys.readouterr().out
    assert max(len(line) for line in text.splitlines()) <= columns
    assert all(f"{value:.3f}" in text.split() for value in VALUES)


def test_warnings_stand_once_and_what_is_about_models_last(capsys, monkeypatch):
    monkeypatch.setenv("COLUMNS", "40")
    limit = "a model's limit"
    print_warnings([limit, "liquid reaches the compressor and breaks its valves", limit], [limit])
    lines = capsys.readouterr().out.splitlines()
    assert lines[1:] == ["Warnings", "  - liquid reaches the compressor and", "    breaks its valves", f"  - {limit}"]
