"""The command `mixjt liquefy`."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated

import typer

from mixjt.cli.options import BlendText, CaseArgument, JsonOutput, ModelName, OutDirectory
from mixjt.fluid.model_names import DEFAULT
from mixjt.interrupt import happened

BestBlendSwitch = Annotated[
    bool,
    typer.Option(
        "--best-blend", help="Look for the blend of the case's bottles that liquefies most, and solve that."
    ),
]


def liquefy(
    case_file: CaseArgument,
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
    from mixjt.cli.deliver import deliver
    from mixjt.cli.progress import waiting
    from mixjt.cli.solved_case import chosen_blend, chosen_fluid
    from mixjt.report import liquefier_report as reports
    from mixjt.report.circuit_report import with_band
    from mixjt.report.output import checked_directory
    from mixjt.studies.liquefier_study import liquefier_report, product_band

    checked_directory(out)
    case = read_case(case_file)
    request = liquefier_request(case, model)
    mixture = _best_blend(case, request, blend, model) if best_blend else chosen_blend(case, blend)
    fluid = chosen_fluid(model, mixture)
    if happened():  # the best blend so far, then, without what goes with it
        request = replace(request, largest_pressure=None)
    with waiting("solving the liquefier"):
        report = liquefier_report(fluid, request)
        band = None if happened() else product_band(report.result, request)
    record = with_band(reports.liquefier_record(case, report), band)
    record["interrupted"] = happened()
    record["cautions"] = reports.all_cautions(mixture, report.result)
    return deliver(
        record, lambda: reports.print_report(case, mixture, report, record, band), json, out,
        lambda: reports.liquefier_tables(report), lambda: reports.liquefier_pictures(report, band),
    )  # fmt: skip


def _best_blend(case, request, blend: str | None, model: str):
    """The blend of the case's bottles that liquefies most, told on stderr."""
    from mixjt.cli.solved_case import chosen_model, search_request
    from mixjt.errors import InputError
    from mixjt.report.terminal import say
    from mixjt.studies.liquefier_blend import best_blend

    if blend is not None:
        raise InputError("--best-blend looks for a blend and --blend gives one: leave one of them out")
    search = search_request(case)
    say("looking for the blend that liquefies most; this takes some ten seconds")
    found = best_blend(chosen_model(model, search.gases), search, request)
    amounts = ", ".join(f"{name}={amount:.4f}" for name, amount in found.amounts.items())
    say(f'best of {found.evaluations} blends: --blend "{amounts}"')
    return found.blend
