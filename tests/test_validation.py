"""Every outside value of the validation page, on both models; sources stand beside the values."""

import re
from pathlib import Path

import pytest

from mixjt.validation.report import PAPER, compared, is_fitted, page
from mixjt.validation.values import KNOWN_MISSES, VALUES


@pytest.mark.parametrize("value", VALUES, ids=lambda value: value.what)
@pytest.mark.parametrize("model", ["multi-fluid", "reference"])
def test_model_holds_what_we_vouch_for(value, model):
    result = compared(value, model)
    if getattr(value, model) is None:
        assert result.verdict in ("no parameters", "not vouched for")
    elif (model, value.what) in KNOWN_MISSES:
        assert result.verdict == "misses", "no longer a miss: take it off the list"
    else:
        assert result.verdict == "holds", f"{result.number:.6g} against {value.value:.6g} {value.unit}"


def test_page_in_the_docs_is_the_present_one():
    assert (Path(__file__).parent.parent / "docs" / "validation.md").read_text(encoding="utf-8") == page()


def test_page_has_a_line_for_each_value_and_hides_no_miss():
    text = page()
    assert text.count("| misses |") == len(KNOWN_MISSES)
    assert all(value.what in text and value.source in text for value in VALUES)


def test_every_source_names_a_paper_or_a_book_and_who_wrote_it():
    for value in VALUES:
        authors = value.source.split(", ")[0]
        assert PAPER.search(value.source) or "problem 4.34" in value.source  # of a textbook
        assert authors == "authors not verified" or re.match(r"[A-Z][a-z]+( et al\.)?", authors), value.source
        assert not authors.startswith("J. ")


@pytest.mark.parametrize("part", ["two liquids, nitrogen + ethane", "eutectic of methane + ethane"])
def test_values_that_chose_a_pair_are_no_predictions(part):
    """Both pairs were read off a grid so that they meet these measurements; see the pair table's sources."""
    values = [value for value in VALUES if value.what.startswith(part)]
    assert len(values) == 2 and all(is_fitted(value) for value in values)


def test_values_of_pure_gases_are_predictions_of_no_pair():
    assert not any(is_fitted(value) for value in VALUES if not isinstance(value.arguments[0], tuple))
