"""Every outside value of the validation page, and its table of measured series; sources stand beside the values."""

import re
from pathlib import Path

import numpy as np
import pytest
from measured_points import POINTS

from mixjt.fluid.measured import Series
from mixjt.validation.report import compared, page
from mixjt.validation.series import BAND_PERCENT, DEFAULT_PAIRS, deviations, summaries
from mixjt.validation.values import KNOWN_MISSES, VALUES

PAPER = re.compile(r"doi:\S+|arXiv:\d+\.\d+|[^,;()]+ \d+ \(\d{4}\) \d+")  # what a source names a paper by


@pytest.mark.parametrize("value", VALUES, ids=lambda value: value.what)
def test_model_holds_what_we_vouch_for(value):
    result = compared(value)
    if value.what in KNOWN_MISSES:
        assert result.verdict == "misses", "no longer a miss: take it off the list"
    else:
        assert result.verdict == "holds", f"{result.number:.6g} against {value.value:.6g} {value.unit}"


def test_page_in_the_docs_is_the_present_one():
    assert (Path(__file__).parent.parent / "docs" / "validation.md").read_text(encoding="utf-8") == page()


def test_page_has_a_line_for_each_value_and_series_and_hides_no_miss():
    text = page()
    assert text.count("| misses |") == len(KNOWN_MISSES) + 1  # and the heading of the second table
    assert all(value.what in text and value.source in text for value in VALUES)
    for row in summaries():
        assert text.count(f"| {' + '.join(row['gases'])} | {row['doi']} |") == len(row["results"])


def test_every_source_names_a_paper_or_a_book_and_who_wrote_it():
    for value in VALUES:
        authors = value.source.split(", ")[0]
        assert PAPER.search(value.source) or "problem 4.34" in value.source  # of a textbook
        assert authors == "authors not verified" or re.match(r"[A-Z][a-z]+( et al\.)?", authors), value.source
        assert not authors.startswith("J. ")


def deviation(point, name=None):
    """Calculated less measured bubble pressure of one point, in per cent."""
    one = Series(
        point.gases, point.doi, *(np.array([each]) for each in point[2:3] + (point.pressure, point.share))
    )
    return deviations(one, name)[0]


@pytest.mark.parametrize(
    "point", POINTS, ids=lambda point: f"{' + '.join(point.gases)}, {point.doi}, {point.share}"
)
def test_figures_of_the_series_are_those_of_their_points(point):
    """The figures on the page were made from files that are not kept here; two points of each series are."""
    (row,) = (
        each for each in summaries() if each["doi"] == point.doi and tuple(each["gases"]) == point.gases
    )
    for found in row["results"]:
        here = deviation(point, None if found["set"] == DEFAULT_PAIRS else found["set"])
        assert abs(here) <= abs(found["largest_percent"]) + 0.01
        if point.worst and found["set"] == DEFAULT_PAIRS:
            assert here == pytest.approx(found["largest_percent"], abs=0.01)
            assert (abs(here) > BAND_PERCENT) == (found["misses"] > 0)


def test_every_series_has_its_points_here():
    assert {(each.gases, each.doi) for each in POINTS} == {
        (tuple(row["gases"]), row["doi"]) for row in summaries()
    }


def test_single_values_of_a_series_lie_within_its_largest_deviation():
    """The two tables are made in two ways: a search with a stability test, and the equations of an incipient phase."""
    compared_points = 0
    for value in (
        each for each in VALUES if each.quantity == "bubble_pressure" and len(each.arguments[0]) == 2
    ):
        rows = [
            row
            for row in summaries()
            if row["doi"] in value.source and tuple(row["gases"]) == value.arguments[0]
        ]
        for row in rows:
            compared_points += 1
            assert abs(100.0 * compared(value).deviation) <= abs(row["results"][0]["largest_percent"]) + 0.01
    assert compared_points >= 20
