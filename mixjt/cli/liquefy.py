"""The command `mixjt liquefy`."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated

import typer

from mixjt.cli.options import BlendText, CaseFile, JsonOutput, ModelName, OutDirectory
from mixjt.interrupt import happened
from mixjt.properties.names import DEFAULT

BestBlendSwitch = Annotated[
    bool,
    typer.Option(
        "--best-blend", help="Look for the blend of the case's bottles that liquefies most, and solve that."
    ),
]


def liquefy(
    case_file: CaseFile,
    out: OutDirectory = None,
    json: JsonOutput = False,
    blend: BlendText = None,
    model: ModelName = DEFAULT,
    best_blend: BestBlendSwitch = False,
) -> int:
    """Find how much nitrogen the machine liquefies.

    The feed of the case's [liquefier] is cooled in a third passage of the recuperator, condensed at the cold
    end and let down to one atmosphere. Gives the liquid per day, the flash loss, the energy, the oxygen in
    liquid and vapour, and the product over feed pressures.

    \b
    Examples
      mixjt liquefy mixtures-demo/liquid-nitrogen.toml --out run
      mixjt liquefy mixtures-demo/liquid-nitrogen.toml --best-blend
    """
    from mixjt.case.case import read_case
    from mixjt.case.liquefier_case import liquefier_request
    from mixjt.cli import liquefy_view as view
    from mixjt.cli.deliver import deliver
    from mixjt.cli.request import chosen_blend, chosen_model
    from mixjt.files.liquefier_records import liquefier_record
    from mixjt.files.output import checked_directory
    from mixjt.files.records import band_record
    from mixjt.studies.liquefier import liquefier_report, product_band

    checked_directory(out)
    case = read_case(case_file)
    request = liquefier_request(case, model)
    mixture = _best_blend(case, request, blend, model) if best_blend else chosen_blend(case, blend)
    properties = chosen_model(model, mixture.gases)
    if happened():  # the best blend so far, then, without what goes with it
        request = replace(request, largest_pressure=None)
    report = liquefier_report(properties, mixture.composition, request)
    band = None if happened() else product_band(properties, report.result, request)
    record = liquefier_record(case, report)
    record |= band_record(band)
    record["warnings"] += band.warnings if band else ()
    record["interrupted"] = happened()
    record["cautions"] = view.all_cautions(mixture, report.result)
    return deliver(
        record, lambda: view.print_report(case, mixture, report, record, band), json, out,
        lambda: _tables(report), lambda: _pictures(report),
    )  # fmt: skip


def _best_blend(case, request, blend: str | None, model: str):
    """The blend of the case's bottles that liquefies most, told on stderr."""
    from mixjt.cli.request import chosen_model, search_request
    from mixjt.cli.show import say
    from mixjt.errors import InputError
    from mixjt.studies.liquefier_blend import best_blend

    if blend is not None:
        raise InputError("--best-blend looks for a blend and --blend gives one: leave one of them out")
    search = search_request(case)
    say("looking for the blend that liquefies most; this takes some ten seconds")
    found = best_blend(chosen_model(model, search.gases), search, request)
    amounts = ", ".join(f"{name}={amount:.4f}" for name, amount in found.amounts.items())
    say(f'best of {found.evaluations} blends: --blend "{amounts}"')
    return found.blend


def _tables(report) -> dict:
    from mixjt.files import liquefier_records, records

    result = report.result
    tables = {
        "state_points": records.state_point_table(result),
        "feed_points": liquefier_records.feed_point_table(result),
        "exergy": records.exergy_table(result),
        "pinch": records.pinch_table(result.pinch),
    }
    if report.curve is not None:
        tables["feed_pressures"] = liquefier_records.pressure_table(report.curve)
    if report.boil_off is not None:
        tables["boil_off"] = liquefier_records.boil_off_table(report)
    return tables


def _pictures(report) -> dict:
    from mixjt.plots import liquefier as plots

    pictures = {"pinch": lambda: plots.composite_figure(report.result)}
    if report.curve is not None:
        pictures["feed_pressures"] = lambda: plots.pressure_figure(report.result, report.curve)
    if report.boil_off is not None:
        pictures["boil_off"] = lambda: plots.boil_off_figure(report.boil_off)
    return pictures
