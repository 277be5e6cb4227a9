"""What is said of a comparison of roads: its figures, tables, pictures, and the text on the terminal."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace

from mixjt.case.case import Case
from mixjt.case.rating_case import guess_warnings
from mixjt.report.cascade_report import WARMINGS, both_scales, print_warmings, warming_listing
from mixjt.report.cautions import machine_cautions
from mixjt.report.circuit_report import BAND_FIGURES, INTERRUPTED, MODEL, TITLE, print_closing
from mixjt.report.figure import EVERY, Figure, Listing, listing
from mixjt.report.terminal import print_notes, print_table, print_title, wrapped
from mixjt.studies.compare.comparison import Comparison, Road
from mixjt.studies.compare.crossing import changes
from mixjt.studies.compare.roads import CASCADES, road_label

WIDTH = 7  # of a power with its mark
SCALED, OWN = "Each road scaled to the load", "With the case's own compressor in every stage"
HELD, MADE = "What they hold", "What they are made of"
LISTS = ("discharge_temperatures_K", "bottles", "warnings", "leaves_out")


def _flammable_g(road: Road) -> float | None:
    mass = road.figures and road.figures.flammable_mass
    return None if mass is None else 1e3 * mass


def road_warnings(road: Road) -> list[str]:
    """Of the circuit, and of its band."""
    own = [] if road.figures is None else list(road.figures.warnings)
    return own + ([] if road.band is None else list(road.band.warnings))


def _outlets(road: Road) -> str | None:
    return road.figures and " ".join(f"{hot:.0f}" for hot in road.figures.discharge_temperatures)


FIGURES = (  # None where a road does not carry the load, and obstacle says why
    Figure("road", "name"),
    Figure("name", "label", text="road", table=EVERY),
    Figure("looked_for", "looked_for", "false where an interruption left the road unknown"),
    Figure("obstacle", lambda road: road.obstacle or None, "null where it carries the load; then all figures are there"),
    Figure("total_power_W", "figures.power", text="power", table=SCALED, form=".1f"),
    Figure("cop", "figures.cop", text="COP", table=SCALED, form=".3f"),
    Figure("carnot_fraction", "figures.carnot_fraction", text="Carnot", table=SCALED, form=".1f"),
    Figure("number_of_compressors", "figures.compressors", text="compressors", table=SCALED),
    Figure("total_swept_flow_m3_per_h", lambda road: road.figures and 3600.0 * road.figures.swept_flow, text="swept",
           table=SCALED, form=".3f"),
    Figure("total_displacement_cm3_per_rev", lambda road: road.figures and 1e6 * road.figures.displacement,
           text="displacement", table=SCALED, form=".2f"),
    Figure("own_compressor_cooling_power_W", "figures.own_capacity", text="carries", table=OWN, form=".1f"),
    Figure("own_compressor_power_W", "figures.own_power", text="draws", table=OWN, form=".1f"),
    Figure("highest_running_pressure_Pa", "figures.running_pressure", text="running", table=OWN, form=".1f"),
    Figure("standing_pressure_Pa", "figures.standing_pressure", text="at rest", table=HELD, form=".1f"),
    Figure("hot_standing_pressure_Pa", "figures.hot_standing_pressure", text="hot at rest", table=OWN, form=".1f"),
    Figure("buffer_volume_m3", "figures.buffer", text="buffer to add", table=HELD, rank=99.2, form=".2f"),
    Figure("largest_standing_pressure_Pa", "figures.standing_limit", text="rating", table=HELD, rank=99.1, form=".1f"),
    Figure("highest_discharge_temperature_K", lambda road: road.figures and max(road.figures.discharge_temperatures)),
    Figure("discharge_temperatures_K", lambda road: road.figures and list(road.figures.discharge_temperatures)),
    Figure("", _outlets, text="outlets", table=OWN, unit="K"),
    Figure("flammable_mass_g", _flammable_g, text="flammable", table=HELD, rank=99.4, form=".0f"),
    Figure("flammable_mass_fraction", "figures.flammable_fraction", text="of the mass", table=HELD, rank=99.5, form=".0f"),
    Figure("number_of_bottles", "figures.bottles", text="bottles", table=HELD, rank=99.3),
    Figure("recuperator_conductance_W_per_K", "figures.recuperator_conductance", text="recuperator", table=MADE,
           form=".2f"),
    Figure("equal_conductance_power_W", "equal_power", text="with equal UA", table=MADE, form=".1f"),
    Figure("cascade_condenser_conductance_W_per_K", "figures.condenser_conductance", text="condensers", table=MADE,
           form=".2f"),
    Figure("lowest_temperature_K", "lowest_temperature", text="reaches", table=SCALED, form=".1f"),
    *(Figure(one.key, f"band.{one.read}") for one in BAND_FIGURES),
    Figure("", lambda road: road.band and 100.0 * road.band.fraction, text="band", table=SCALED, unit="%", form=".0f"),
    Figure("contents", "figures.contents", text="contents", table=MADE),
    Figure("bottles", "carried.bottles"),
    Figure("warnings", road_warnings),
    Figure("leaves_out", lambda road: list(road.leaves_out)),
)  # fmt: skip
STORED = tuple(figure for figure in FIGURES if figure.key)
LINE = (  # of (road, point of its load line, whether its fluids change)
    Figure("road", lambda row: row[0].name),
    Figure("cold_temperature_K", lambda row: row[1].temperature),
    Figure("total_power_W", lambda row: row[1].power),
    Figure("cop", lambda row: row[1].cop),
    Figure("own_compressor_cooling_power_W", lambda row: row[1].own_capacity),
    Figure("other_fluids_than_next_warmer", lambda row: row[2]),
    Figure("contents", lambda row: row[1].contents),
)


LOST = (  # of (road, temperature, reason)
    Figure("road", lambda row: row[0]),
    Figure("cold_temperature_K", lambda row: row[1]),
    Figure("reason", lambda row: row[2]),
)
RECORD = (  # of a case, what was found for it, and the name of the blends' model
    replace(MODEL, help="the property model of the blends; null without any"),
    *TITLE,
    Figure("load_W", "found.load", "what is carried, at what temperature, in what surroundings"),
    Figure("cold_temperature_K", "found.cold_temperature"),
    Figure("ambient_temperature_K", "found.ambient_temperature"),
    Figure("advice", "found.advice", "a sentence"),
    Figure("equal_conductance_W_per_K", "found.equal_conductance",
           "UA that the roads' `equal_conductance_power_W` belong to: stated, or the least that a blend's road takes"),
    Figure("crossing_temperatures_K", lambda run: list(run["found"].crossing.temperatures),
           "where blend and cascade take the same power; empty where they do not"),
    Figure("crossing_between_K", lambda run: [list(one) for one in run["found"].crossing.between],
           "for each, the two temperatures of the line it lies between"),
    Figure("crossing_joined", lambda run: list(run["found"].crossing.joined),
           "for each, whether the fluids stay the same there"),
    Figure("crossing", "found.crossing.sentence", "the same in a sentence"),
    Figure("road_crossing_temperatures_K",
           lambda run: {road: list(one) for road, one in run["found"].road_crossings.items()}, "by blend road"),
    Figure("roads", "found.roads", "the rows of `roads.csv`", rows=STORED),
    Figure("load_line", lambda run: road_line_listing(run["found"]), "the rows of `load_line.csv`", rows=LINE),
    Figure("lost", "found.lost", "wherever the load was tried in vain", rows=LOST),
    Figure("suction_warmings", lambda run: warming_listing(_warmings(run["found"])),
           "the rows of `suction_warming.csv`", rows=WARMINGS),
    Figure("elapsed_s", "found.seconds", "the time it took"),
    replace(INTERRUPTED, read="found.interrupted"),
    Figure("messages", lambda run: [*run["found"].messages, *guess_warnings(run["case"])], "the terms"),
)  # fmt: skip


def road_line_listing(found: Comparison) -> Listing:
    """One row a road and temperature of the load line, coldest first, saying where its fluids change."""
    rows = [(road, *one) for road in found.roads for one in zip(road.line, changes(road), strict=True)]
    return listing(LINE, rows)


def compare_tables(found: Comparison) -> dict[str, Listing]:
    """One row a road, lists joined by semicolons; the load line; what warms the suction gas."""
    joined = [
        Figure(one.key, lambda road, one=one: _cell(one.value(road))) if one.key in LISTS else one for one in STORED
    ]
    return {
        "roads": listing(joined, found.roads),
        "load_line": road_line_listing(found),
        "suction_warming": warming_listing(_warmings(found)),
    }


def compare_pictures(found: Comparison) -> dict[str, Callable]:
    """Power and capacity against cold temperature."""
    from mixjt.plots.compare_plot import compare_figure

    return {"compare": lambda: compare_figure(found)}


def print_comparison(case: Case, found: Comparison, model: str | None) -> None:
    """All of it, the advice last."""
    print_title(case.title or case.file, {
        "load": f"{found.load:.4g} W at {both_scales(found.cold_temperature)}",
        "ambient": both_scales(found.ambient_temperature),
        "model": f"{model or 'no'} model of blends; reference equation of each pure fluid",
    })  # fmt: skip
    working = [road for road in found.roads if road.figures is not None]
    if working:
        for table in (SCALED, OWN, HELD, MADE):
            listing(FIGURES, working).show(table, table)
    without = [road for road in found.roads if road.obstacle]
    print_notes("Do not carry the load", [f"{road.label}: {road.obstacle}" for road in without if road.looked_for])
    print_notes("Not known", [f"{road.label}: {road.obstacle}" for road in without if not road.looked_for])
    warmed = _warmings(found)
    if any(one.result for many in warmed.values() for one in many):
        print()
        print_warmings(warmed, found.suction_temperature)
    _print_line(found)
    about_models = {text for road in found.roads if road.band for text in road.band.warnings}
    warnings = _by_roads(found, road_warnings)
    print_closing(
        [f"{labels}: {text}" for labels, texts in warnings.items() for text in texts], _cautions(working),
        [f"{labels}: {text}" for labels, texts in warnings.items() for text in texts if text in about_models],
    )  # fmt: skip
    print_notes("Terms", [*found.messages, *guess_warnings(case)])
    left_out = _by_roads(found, lambda road: road.leaves_out)
    print_notes("What this leaves out", [f"{labels}: {'; '.join(texts)}" for labels, texts in left_out.items()])
    print()
    print(wrapped("Crossing: ", f"{found.crossing.sentence}."))
    for text in _crossings(found):
        print(wrapped("  ", text))
    print(wrapped("Advice: ", found.advice))


def _warmings(found: Comparison) -> dict:
    """By number of stages, what cascades cost at the cold end by what warms their suction gas."""
    return {CASCADES[road.name]: road.warmings for road in found.roads if road.warmings}


def _crossings(found: Comparison) -> list[str]:
    return [
        f"{road_label(road)} and the best cascade: "
        f"{' and '.join(both_scales(one) for one in temperatures) or 'nowhere on the load line'}"
        for road, temperatures in found.road_crossings.items()
        if temperatures != found.crossing.temperatures
    ]


def _print_line(found: Comparison) -> None:
    """Power of every road at every temperature, warmest first."""
    temperatures = sorted({round(one.temperature, 2) for road in found.roads for one in road.line}, reverse=True)
    if len(temperatures) < 2:
        return
    powers = [
        {round(one.temperature, 2): f"{one.power:.1f}{'*' if changed else ' '}".rjust(WIDTH)
         for one, changed in zip(road.line, changes(road), strict=True)}
        for road in found.roads
    ]  # fmt: skip
    rows = [(t, *(known.get(t) for known in powers)) for t in temperatures]
    columns = ("cold end|K|.1f", *(f"{road.label}|W" for road in found.roads))
    print()
    print_table("Power along the load line; * other bottles or fluids than at the next warmer one", columns, rows)
    warmest = {road: (at, why) for road, at, why in found.lost}  # the last one, as they ascend
    print_notes(
        "What ends a line", [f"{road_label(road)} at {both_scales(at)}: {why}" for road, (at, why) in warmest.items()]
    )


def _by_roads(found: Comparison, texts_of: Callable[[Road], Iterable[str]]) -> dict[str, list[str]]:
    """Each sentence once, under the roads it belongs to."""
    belongs: dict[str, list[str]] = {}
    for road in found.roads:
        for text in dict.fromkeys(texts_of(road)):
            belongs.setdefault(text, []).append(road.label)
    groups: dict[str, list[str]] = {}
    for text, labels in belongs.items():
        groups.setdefault(", ".join(labels), []).append(text)
    return groups


def _cautions(roads: list[Road]) -> list[str]:
    """Of what burns, the highest pressure and the coldest place of all roads."""
    if not roads:
        return []
    highest = max(road.figures.running_pressure for road in roads)
    burning = [road.label for road in roads if road.figures.flammable_fraction]
    return machine_cautions(burning, highest, min(road.carried.temperature for road in roads))


def _cell(value) -> str | None:
    if isinstance(value, dict):
        value = [f"{name} {share:.6g}" for name, share in value.items()]
    return "; ".join(str(one) for one in value) if value else None
