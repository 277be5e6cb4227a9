"""A comparison of roads as people read it on the terminal."""

from __future__ import annotations

from mixjt.case.case import Case
from mixjt.cli.cascade_view import print_warmings
from mixjt.cli.cautions import cautions, flammable_caution
from mixjt.cli.show import print_notes, print_table
from mixjt.constants import ZERO_CELSIUS
from mixjt.files.compare_records import road_warnings
from mixjt.studies.compare.crossing import changes
from mixjt.studies.compare.names import CASCADES, road_label
from mixjt.studies.compare.records import Comparison, Road

WIDTH = 7  # of a power with its mark


def print_comparison(case: Case, found: Comparison, model: str | None) -> None:
    """All of it, the advice last."""
    print(case.title or case.file)
    print(f"  load       {found.load:.4g} W at {_both(found.cold_temperature)}")
    print(f"  ambient    {_both(found.ambient_temperature)}")
    print(f"  model      {model or 'no'} model of blends; reference equation of each pure fluid\n")
    working = [road for road in found.roads if road.figures is not None]
    if working:
        _print_figures(working)
        _print_more(working)
    without = [road for road in found.roads if road.obstacle]
    print_notes("Do not carry the load", [f"{road.label}: {road.obstacle}" for road in without if road.looked_for])
    print_notes("Not known", [f"{road.label}: {road.obstacle}" for road in without if not road.looked_for])
    warmed = {CASCADES[road.name]: road.warmings for road in found.roads if road.warmings}
    if warmed:
        print()
        print_warmings(warmed, found.suction_temperature)
    _print_line(found)
    print_notes("Terms", found.messages)
    _print_left_out(found)
    warnings = [f"{road.label}: {text}" for road in found.roads for text in road_warnings(road)]
    print_notes("Warnings", warnings)
    print_notes("Cautions", _cautions(working))
    print(f"\nCrossing: {found.crossing.sentence}.")
    for road, temperatures in found.road_crossings.items():
        where = " and ".join(_both(one) for one in temperatures) or "nowhere on the load line"
        print(f"  {road_label(road)} and the best cascade: {where}")
    print(f"Advice: {found.advice}")


def _print_figures(roads: list[Road]) -> None:
    rows = [
        (
            road.label, one.power, one.cop, 100.0 * one.carnot_fraction, one.compressors, 3600.0 * one.swept_flow,
            1e6 * one.displacement, road.lowest_temperature, None if road.band is None else 100.0 * road.band.fraction,
        )
        for road in roads
        for one in [road.figures]
    ]  # fmt: skip
    columns = ("road", "power|W|.1f", "COP|W/W|.3f", "Carnot|%|.1f", "compressors", "swept|m3/h|.3f",
               "displacement|cm3/rev|.2f", "reaches|K|.1f", "band|%|.0f")  # fmt: skip
    print_table("Each road scaled to the load", columns, rows)
    rows = [
        (
            road.label, one.own_capacity, one.own_power, one.running_pressure / 1e5,
            _scaled(one.hot_standing_pressure, 1e-5), " ".join(f"{hot:.0f}" for hot in one.discharge_temperatures),
        )
        for road in roads
        for one in [road.figures]
    ]  # fmt: skip
    columns = ("road", "carries|W|.1f", "draws|W|.1f", "running|bar abs|.1f", "hot at rest|bar abs|.1f", "outlets|K")
    print_table("With the case's own compressor in every stage", columns, rows)


def _print_more(roads: list[Road]) -> None:
    rows = [
        (
            road.label, _scaled(one.standing_pressure, 1e-5), _scaled(one.standing_limit, 1e-5),
            _scaled(one.buffer, 1e3), one.bottles,
            _scaled(one.flammable_mass, 1e3),
            None if one.flammable_fraction is None else 100.0 * one.flammable_fraction, one.recuperator_conductance,
            one.condenser_conductance, one.contents,
        )
        for road in roads
        for one in [road.figures]
    ]  # fmt: skip
    columns = ("road", "at rest|bar abs|.1f", "rating|bar abs|.1f", "buffer to add|L|.2f", "bottles", "flammable|g|.0f",
               "of the mass|%|.0f", "recuperator|W/K|.2f", "condensers|W/K|.2f", "contents")  # fmt: skip
    print_table("What they hold", columns, rows)


def _scaled(value: float | None, factor: float) -> float | None:
    return None if value is None else value * factor


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
    rows = [(t, t - ZERO_CELSIUS, *(known.get(t) for known in powers)) for t in temperatures]
    columns = ("cold end|K|.1f", "|degC|.0f", *(f"{road.label}|W" for road in found.roads))
    print()
    print_table("Power along the load line; * other bottles or fluids than at the next warmer one", columns, rows)
    warmest = {road: (at, why) for road, at, why in found.lost}  # the last one, as they ascend
    print_notes(
        "What ends a line", [f"{road_label(road)} at {_both(at)}: {why}" for road, (at, why) in warmest.items()]
    )


def _print_left_out(found: Comparison) -> None:
    """Each sentence once, with the roads it belongs to."""
    belongs: dict[str, list[str]] = {}
    for road in found.roads:
        for text in road.leaves_out:
            belongs.setdefault(text, []).append(road.label)
    groups: dict[tuple[str, ...], list[str]] = {}
    for text, labels in belongs.items():
        groups.setdefault(tuple(labels), []).append(text)
    notes = [f"{', '.join(labels)}: {'; '.join(texts)}" for labels, texts in groups.items()]
    print_notes("What this leaves out", notes)


def _cautions(roads: list[Road]) -> list[str]:
    """Of what burns, the highest pressure and the coldest place of all roads."""
    if not roads:
        return []
    highest = max(road.figures.running_pressure for road in roads)
    burning = [road.label for road in roads if road.figures.flammable_fraction]
    found = cautions((), (), highest, min(road.carried.temperature for road in roads))
    if burning:
        found.insert(0, flammable_caution(burning))
    return found


def _both(temperature: float) -> str:
    return f"{temperature:.5g} K ({temperature - ZERO_CELSIUS:.1f} degC)"
