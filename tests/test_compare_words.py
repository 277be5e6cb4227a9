"""Words of a comparison: crossings of made-up load lines, what precooled roads hold, advice from made-up figures."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from mixjt.circuit.solve import PLAIN, PRECOOLED, SEPARATOR
from mixjt.parts.stage_fluid import pure_fluid
from mixjt.report import compare_report
from mixjt.studies.at_rest import AtRest, Standstill, StandstillRequest
from mixjt.studies.compare import figures
from mixjt.studies.compare.advice import Option, advice, chosen
from mixjt.studies.compare.comparison import Carried, Crossing, Road
from mixjt.studies.compare.crossing import (
    blends_and_cascades,
    changes,
    cheapest,
    crossings,
    each_blend_and_cascades,
)
from mixjt.studies.compare.roads import road_label


def line(*points):
    return np.array([one[0] for one in points], dtype=float), np.array([one[1] for one in points], dtype=float)


def test_crossing_of_constructed_lines():
    # ln P linear in T: 100 exp(-0.01 (T - 100)) and 200 exp(-0.02 (T - 100)) meet where exp(0.01 (T - 100)) = 2
    one = line(*((t, 100.0 * np.exp(-0.01 * (t - 100.0))) for t in (100, 140, 200)))
    other = line(*((t, 200.0 * np.exp(-0.02 * (t - 100.0))) for t in (110, 150, 190)))
    ((at, low, high),) = crossings(one, other)
    assert at == pytest.approx(100.0 + 100.0 * np.log(2.0)) and (low, high) == (150.0, 190.0)
    assert crossings(other, one)[0] == pytest.approx((at, low, high))
    assert crossings(one, line((100, 300), (200, 200))) == ()
    assert crossings(one, line((300, 1), (310, 2))) == ()
    assert crossings(one, one) == ()


def test_the_cheapest_of_several_lines():
    temperatures, powers = cheapest([line((100, 10), (200, 10)), line((150, 5), (250, 5)), line()])
    assert list(temperatures) == [100.0, 150.0, 200.0, 250.0]
    assert list(powers) == pytest.approx([10.0, 5.0, 5.0, 5.0])


def made_up(name, *points, fluids=None):
    kept = tuple(
        Carried(float(t), float(p), 1.0, 1.0, "", None, fluids=(one,))
        for (t, p), one in zip(points, fluids or "a" * len(points), strict=True)
    )
    return Road(name, None, None, "", kept, None, ())


def test_crossing_in_words():
    blend = made_up(PLAIN, (90, 200), (150, 60), (230, 20))
    cascade = made_up("cascade-2", (130, 200), (150, 90), (230, 10))
    found = blends_and_cascades([blend, cascade])
    # between 150 K and 230 K the logarithms of the ratio go from ln(90/60) to ln(10/20)
    expected = 150.0 + 80.0 * np.log(1.5) / (np.log(1.5) + np.log(2.0))
    assert found.temperatures == pytest.approx((expected,))
    assert found.between == ((150.0, 230.0),) and found.joined == (True,)
    assert "the cascade takes less above, the blend below" in found.sentence
    assert "below 130.0 K (-143 degC) only blends carry the load, down to 90.0 K" in found.sentence
    assert each_blend_and_cascades([blend, made_up(PRECOOLED), cascade]) == {PLAIN: found.temperatures}
    dear = blends_and_cascades([blend, made_up("cascade-3", (150, 190), (230, 100))])
    assert dear.temperatures == () and "the best blend draws less power throughout" in dear.sentence
    alone = blends_and_cascades([made_up(PLAIN, (150, 60)), made_up("cascade-2", (150, 90))])
    assert alone.sentence == "only at 150.0 K (-123 degC) both are known, and there the best blend draws less power"
    apart = blends_and_cascades([made_up(PLAIN, (90, 200), (100, 100)), cascade])
    assert "no temperature of the load line is reached both" in apart.sentence


def test_a_crossing_across_a_change_of_fluid_is_only_bracketed():
    blend = made_up(PLAIN, (90, 200), (150, 60), (230, 20), fluids="abb")
    assert changes(blend) == (True, False, False)
    cascade = made_up("cascade-2", (130, 200), (150, 90), (230, 10), fluids="xxy")
    found = blends_and_cascades([blend, cascade])
    assert found.joined == (False,) and found.between == ((150.0, 230.0),)
    assert "somewhere between 150.0 K (-123 degC) and 230.0 K (-43 degC), where the fluids change" in found.sentence
    # the same where the cheapest blend is another road on the other side
    other = made_up(PRECOOLED, (150, 70), (230, 15))
    assert blends_and_cascades([blend, other, made_up("cascade-2", (150, 90), (230, 10))]).joined == (False,)


@pytest.mark.parametrize(
    "fluids, where",
    [
        ("aaaa", "at 125.0 K (-148 degC) and 225.0 K (-48 degC)"),
        ("aaab", "at 125.0 K (-148 degC); and somewhere between 200.0 K (-73 degC) and 250.0 K (-23 degC), where the fluids change"),
        (
            "abbc",
            "somewhere between 100.0 K (-173 degC) and 150.0 K (-123 degC), "
            + "between 200.0 K (-73 degC) and 250.0 K (-23 degC), where the fluids change",
        ),
    ],
)
def test_two_crossings_are_told_in_one_sentence(fluids, where):
    """Half and twice the power: by logarithms they cross half way between two points."""
    blend = made_up(PLAIN, (100, 100), (150, 100), (200, 100), (250, 100), fluids=fluids)
    cascade = made_up("cascade-2", (100, 50), (150, 200), (200, 200), (250, 50))
    found = blends_and_cascades([blend, cascade])
    assert found.temperatures == pytest.approx((125.0, 225.0))
    assert found.sentence == f"the best blend and the best cascade take the same power {where}"


def test_a_road_s_crossing_is_told_only_where_it_is_another_than_that_of_the_best():
    found = SimpleNamespace(
        crossing=Crossing((150.0,), "the best cross at 150 K"),
        road_crossings={PLAIN: (150.0,), PRECOOLED: (120.0, 140.0), SEPARATOR: ()},
    )
    others = compare_report._crossings(found)
    assert [text.partition(":")[0] for text in others] == [f"{road_label(one)} and the best cascade" for one in (PRECOOLED, SEPARATOR)]
    assert "120" in others[0] and "140" in others[0] and others[1].endswith("nowhere on the load line")


# --- what a precooled road holds

PROPANE_HOT = 17.1e5  # Pa at 50 degC (Lemmon, McLinden, Wagner 2009)


@pytest.mark.parametrize(
    "rating, blend, buffer",
    [
        (16e5, 18e5, None),  # propane stands above the rating, whatever is added to the blend
        (16e5, 15e5, None),
        (17.5e5, 18e5, 0.002),
        (None, 18e5, 0.002),
    ],
)
def test_no_buffer_is_told_where_the_precooler_s_own_fluid_stands_above_the_rating(monkeypatch, rating, blend, buffer):
    rest = Standstill(0.09, 9e5, blend, "vapour", buffer=0.002)
    monkeypatch.setattr(figures, "at_rest", lambda *given: AtRest(rest, rating, ()))
    result = SimpleNamespace(fluid=None, suction_pressure=3e5)
    request = SimpleNamespace(standstill=StandstillRequest(0.006, 0.09, 295.15, 323.15, largest_pressure=rating))
    stage = SimpleNamespace(fluid=pure_fluid("propane"))
    (_, hottest, found), said = figures._standing(None, result, stage, request)
    assert found == buffer
    assert hottest == pytest.approx(max(blend, PROPANE_HOT), rel=5e-3)
    assert [("rating of their own" in text) for text in said] == [True] * (rating == 16e5)
    (_, alone, without), _ = figures._standing(None, result, None, request)
    assert (alone, without) == (blend, 0.002)


@pytest.mark.parametrize(
    "gases, charge, grams",
    [
        (("nitrogen", "propane"), 0.09, 90.0 * 44.096 / (28.014 + 44.096)),  # molar masses: IUPAC, from memory
        (("nitrogen", "propane"), None, None),
        (("nitrogen", "argon"), None, 0.0),
    ],
)
def test_flammable_grams_are_the_blend_s_own_with_a_precooler_too(gases, charge, grams):
    result = SimpleNamespace(gases=gases, composition=np.array([0.5, 0.5]), precooler_fluid="propane")
    request = SimpleNamespace(standstill=StandstillRequest(0.006, charge, 295.15, 323.15))
    mass, fraction = figures._flammable(result, request)
    assert mass == (None if grams is None else pytest.approx(grams / 1e3, rel=1e-4))
    assert (fraction > 0.0) == ("propane" in gases)


def test_the_precooler_s_own_flammable_charge_is_named():
    def said(fluid, stage="a stage"):
        return figures._burning_precooler(SimpleNamespace(precooler_fluid=fluid), stage)

    (text,) = said("propane")
    assert "own charge of propane" in text and "leaves out" in text
    assert said("R-134a") == [] and said("propane", None) == []


# --- advice

BLEND = Option(PLAIN, "plain blend", 100.0, 1, 15e5, 9e5, 86.0, 0.05)
PARTED = Option(SEPARATOR, "blend with separator", 96.0, 1, 15e5, 9e5, 85.0, 0.05)
TWO = Option("cascade-2", "cascade of 2", 90.0, 2, 20e5, 30e5, 118.0)


@pytest.mark.parametrize(
    "options, best",
    [
        ([BLEND, TWO], BLEND),  # a tenth more power spares a compressor
        ([BLEND, replace(TWO, power=79.0)], replace(TWO, power=79.0)),  # more than a quarter does not
        ([BLEND, PARTED], BLEND),  # a separator must save more than a tenth
        ([BLEND, replace(PARTED, power=90.0)], replace(PARTED, power=90.0)),
        ([replace(BLEND, power=None), TWO], TWO),
        ([TWO, Option("cascade-3", "cascade of 3", 80.0, 3)], TWO),
        ([Option(PRECOOLED, "precooled blend", 99.0, 2, 15e5, 9e5, 80.0), BLEND], BLEND),
        ([replace(BLEND, power=None)], None),
    ],
)
def test_choice(options, best):
    assert chosen(options) == best
    assert chosen(options[::-1]) == best


def test_advice_gives_reasons():
    text = advice([BLEND, TWO, Option("cascade-3", "cascade of 3", None, obstacle="freezes")], 120.0)
    assert text.startswith("Build the plain blend: 100 W with 1 compressor; the cascade of 2 needs 10 % less (90 W)")
    assert "which does not pay for its further parts" in text
    assert "15 bar running and 9 bar standing on the hottest day" in text
    assert "it reaches 86 K" in text and "cascade of 3 does not get there" in text
    assert text.endswith(".") and text.count(".") == 1


def test_advice_quotes_the_scaled_machine_and_the_one_at_hand():
    text = advice([replace(BLEND, own=(29.5, 243.0)), TWO], 120.0)
    assert "100 W with 1 compressor scaled to the load (the case's own carries 29.5 W and draws 243 W)" in text


def test_advice_does_not_judge_what_was_not_looked_for():
    unknown = replace(TWO, power=None, obstacle="not looked for", looked_for=False)
    text = advice([BLEND, unknown], 120.0, interrupted=True)
    assert "cascade of 2 was not looked for to the end" in text and "not get there" not in text
    lost = replace(BLEND, power=None, obstacle="too cold")
    expected = (
        "No advice: cascade of 2 was not looked for to the end, and of the others none carries the load (plain blend: too "
        "cold)."
    )
    assert advice([lost, unknown], 120.0, interrupted=True) == expected


def test_advice_admits_doubt_and_little_reserve():
    close = advice([BLEND, replace(TWO, power=103.0)], 88.0)
    assert "gap to the cascade of 2 is within the band of the blend's cooling" in close
    assert "hardly colder than the load needs" in close
    assert "within what" not in advice([BLEND, replace(TWO, power=120.0)], 120.0)
    assert "standing not known" in advice([replace(BLEND, standing=None)], 120.0)


def test_advice_where_nothing_works():
    text = advice([replace(BLEND, power=None, obstacle="too cold")], 60.0)
    assert text == "None of these roads carries the load at 60 K (plain blend: too cold)."


def test_a_road_that_carries_nothing_is_no_neighbour_of_a_crossing():
    blend = made_up(PLAIN, (150, 60), (230, 20))
    cascade = made_up("cascade-2", (150, 90), (230, 10), fluids="ab")
    alone, beside = (blends_and_cascades(roads) for roads in ([blend, cascade], [blend, cascade, made_up("cascade-4")]))
    assert "where the fluids change" in beside.sentence and beside.sentence == alone.sentence
