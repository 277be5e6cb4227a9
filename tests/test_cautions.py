"""Figures of the cautions against CoolProp and the catalogue, and the pages that repeat them."""

import re
from pathlib import Path

import CoolProp
import pytest

from mixjt.gases import gas, gas_names
from mixjt.report.cautions import AIR_CONDENSES, ENRICHMENT_WARNED, cautions

ROOT = Path(__file__).parent.parent
# Dry air by volume: ISO 2533:1975, Standard Atmosphere (from memory), carbon dioxide and traces left out.
AIR = {"Nitrogen": 0.7808, "Oxygen": 0.2095, "Argon": 0.0093}
LINKING = "tutorial throttle recuperator cooldown compressor cascade liquefier case-file solids limits insulation".split()
LPG = {"n-Propane": 0.30, "n-Butane": 0.70}  # in the liquid, by mole


def page(name):
    """A page with its line breaks and rows of blanks taken as one blank."""
    return " ".join((ROOT / name).read_text(encoding="utf-8").split())


def boundary(gases, kind, value, vapour_fraction):
    """CoolProp's state of a blend on its bubble or dew curve."""
    state = CoolProp.AbstractState("HEOS", "&".join(gases))
    state.set_mole_fractions([share / sum(gases.values()) for share in gases.values()])
    order = (vapour_fraction, value) if kind == CoolProp.QT_INPUTS else (value, vapour_fraction)
    state.update(kind, *order)
    return state


def test_air_condenses_below_the_figure_of_the_caution():
    dew = boundary(AIR, CoolProp.PQ_INPUTS, 101325.0, 1.0)
    assert 0.0 <= AIR_CONDENSES - dew.T() < 0.5
    assert dew.mole_fractions_liquid()[1] == pytest.approx(0.5, abs=0.03)  # "half of it oxygen at first"


def test_enrichment_is_warned_of_with_a_margin_and_not_beyond():
    def text(coldest):
        return " ".join(cautions((), (), 15e5, coldest))

    assert ENRICHMENT_WARNED > AIR_CONDENSES
    assert f"below about {AIR_CONDENSES:.0f} K" in text(ENRICHMENT_WARNED - 0.1)
    assert "Oxygen enrichment" not in text(ENRICHMENT_WARNED)


@pytest.mark.parametrize("name", ["README.md", "docs/cooldown.md", "docs/bench.md"])
def test_pages_name_both_temperatures_of_the_caution(name):
    assert f"below about {AIR_CONDENSES:.0f} K" in page(name)
    assert f"below {ENRICHMENT_WARNED:.0f} K" in page(name)


def test_lower_flammable_limits_of_the_pages_are_those_of_the_catalogue():
    burning = [gas(name) for name in gas_names() if gas(name).flammable]
    limits = {100.0 * entry.lower_flammable_limit: entry.name for entry in burning}
    (least, first), (greatest, last) = min(limits.items()), max(limits.items())
    for name in ("README.md", "docs/bench.md"):
        assert f"from {least:.1f} % ({first}) to {greatest:.1f} % ({last})" in page(name)


def test_vapour_over_camping_gas_is_richer_in_propane_by_what_the_page_says():
    vapour = boundary(LPG, CoolProp.QT_INPUTS, 293.15, 0.0).mole_fractions_vapor()[0]
    liquid = "30 mole % of propane and 70 % of n-butane"
    said = re.search(liquid + r".*? some (\d+) mole % propane", page("docs/bench.md"))
    assert 100.0 * vapour == pytest.approx(float(said[1]), abs=1.0)


def test_the_bench_page_is_linked_where_it_matters():
    assert "](docs/bench.md)" in page("README.md")
    for name in LINKING:
        assert "](bench.md" in page(f"docs/{name}.md"), name
    assert "docs/bench.md" in cautions((), (), 15e5, 300.0)[-1]
