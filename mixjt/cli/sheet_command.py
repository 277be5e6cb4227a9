"""The command `mixjt sheet`."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, TypeVar

from mixjt.cli.options import BlendText, CaseArgument, JsonOutput, ModelName, OutDirectory
from mixjt.fluid.model_names import DEFAULT

if TYPE_CHECKING:
    from mixjt.cli.solved_case import Solved
    from mixjt.report.sheet_report import Sheet
    from mixjt.studies.charge.charge_plan import ChargePlan

Found = TypeVar("Found")


def sheet(
    case_file: CaseArgument,
    out: OutDirectory = None,
    json: JsonOutput = False,
    blend: BlendText = None,
    model: ModelName = DEFAULT,
) -> int:
    """Make a sheet for the bench: one page with all that is built, filled in, read off and set.

    With --out it is sheet.html, which prints on A4 and letter and needs nothing else: parts, charge with boxes to tick,
    what the gauges should show at rest, at the start, on the way and cold, set-points of cut-outs and relief valves,
    states, pictures, cautions, and the case file. What the case does not tell is named there, with the command that
    finds it.

    \b
    Example
      mixjt sheet mixtures-demo/receiver-cooldown.toml --out run
    """
    from mixjt.cli.deliver import deliver
    from mixjt.cli.solved_case import solved_circuit
    from mixjt.report import sheet_report as report
    from mixjt.report.circuit_report import print_closing
    from mixjt.report.output import checked_directory
    from mixjt.report.sheet_page import sheet_page

    def show() -> None:
        report.print_sheet(told, record)
        print_closing(record["warnings"], record["cautions"], about_models)

    checked_directory(out)
    solved = solved_circuit(case_file, blend, model, follow_charge=True, to_fill=True)
    told = _told(solved, solved.case.charge is not None and blend is None)
    about_models = (*(told.throttle.warnings if told.throttle else ()), *solved.about_models)
    record = report.sheet_record(told, solved.record)
    return deliver(
        record, show, json, out, pages=lambda: {"sheet.html": sheet_page(told, record, about_models)}
    )


def _told(solved: Solved, charged: bool) -> Sheet:
    """All that can be told of a solved case, and what it lacks for the rest."""
    from mixjt.case import sheet_case as lacks
    from mixjt.case.first_start_case import start_request
    from mixjt.cli.followed_case import followed_case
    from mixjt.cli.progress import waiting
    from mixjt.cli.throttle_command import throttle_of
    from mixjt.report.sheet_report import Sheet
    from mixjt.studies.first_start import look_at_start
    from mixjt.studies.readings import expected_readings
    from mixjt.studies.set_points import set_points

    case, result, missing = solved.case, solved.result, []
    with waiting("filling"):
        plan = _tried("charge", missing, lacks.charge_lacks(case), lambda: _plan(solved))
        throttle = _tried("capillary", missing, lacks.throttle_lacks(case), lambda: throttle_of(case, result))
    followed = _tried(
        "start and cool-down",
        missing,
        lacks.cooldown_lacks(case),
        lambda: followed_case(case, result.fluid, charged),
    )
    missing += lacks.other_lacks(case)
    machine, found = (followed.machine, followed.found) if followed else (None, None)
    if found and found.interrupted:
        missing.append("the end of the cool-down: it was interrupted; run `mixjt sheet` again")
    held = solved.rest.inventory
    start = followed.start if followed else look_at_start(start_request(case, held and held.charge))
    bench = plan.steps[-1].after if plan else None
    readings = expected_readings(
        result, bench, (plan.rest if plan else solved.rest).found, start.found, found
    )
    rating, atmosphere = case.tables["standstill"]["largest_pressure"], case.tables["ambient"]["pressure"]
    points = set_points(case.circuit.compressor, readings, rating, atmosphere)
    return Sheet(
        case, solved.blend, result, solved.band, plan, throttle, machine, found, start, readings, points, tuple(missing)
    )  # fmt: skip


def _plan(solved: Solved) -> ChargePlan:
    from mixjt.case.charge_case import charge_request
    from mixjt.studies.charge.charge_plan import plan_charge
    from mixjt.studies.charge.drawn import usable_bottles

    request, standstill = charge_request(solved.case)
    bottles = usable_bottles(solved.blend.gases, solved.case.bottles)
    return plan_charge(solved.rest, solved.result.fluid, bottles, request, standstill)


def _tried(what: str, missing: list[str], lacking: list[str], find: Callable[[], Found]) -> Found | None:
    """What is found where nothing is lacking for it, or None: then missing says why."""
    from mixjt.errors import MixjtError

    missing += lacking
    if lacking:
        return None
    try:
        return find()
    except MixjtError as error:
        missing.append(f"{what}: {error}")
        return None
