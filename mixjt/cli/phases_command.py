"""The command `mixjt phases`."""

from __future__ import annotations

from mixjt.cli.options import BlendText, CaseArgument, JsonOutput, ModelName, OutDirectory
from mixjt.fluid.model_names import DEFAULT


def phases(
    case_file: CaseArgument,
    out: OutDirectory = None,
    json: JsonOutput = False,
    blend: BlendText = None,
    model: ModelName = DEFAULT,
) -> int:
    """Show the phases of a blend at both pressures, its dew and bubble points, and its pressure at rest.

    Gives bubble point, dew point and glide at suction and discharge pressure, bubble and dew points at round
    pressures, the vapour fraction from the cold end to the warm end, where the blend
    splits into two liquids, and, with [standstill] in the case, the pressure of the charge at rest. With
    --out the whole phase envelope, through the critical point.

    \b
    Example
      mixjt phases mixtures-demo/receiver-120K.toml --out run
    """
    from mixjt.case.case import read_case
    from mixjt.case.standstill_case import standstill_request
    from mixjt.cli.deliver import deliver
    from mixjt.cli.progress import waiting
    from mixjt.cli.solved_case import chosen_blend, chosen_fluid
    from mixjt.report import phases_report as report
    from mixjt.report.cautions import cautions
    from mixjt.report.circuit_report import print_closing, print_heading
    from mixjt.report.output import checked_directory
    from mixjt.studies.phases import blend_phases

    def show() -> None:
        print_heading(case, mixed, record)
        report.print_phases(found)
        print_closing(record["warnings"], record["cautions"], fluid.model.notes)

    case = read_case(case_file)
    mixed = chosen_blend(case, blend)
    checked_directory(out)
    fluid = chosen_fluid(model, mixed)
    with waiting("tracing the phases"):
        found = blend_phases(fluid, case.circuit, standstill_request(case), bool(out))
    record = report.phase_record(case, mixed, found)
    coldest = case.circuit.cold_temperature
    record["cautions"] = cautions(mixed.gases, mixed.fractions, found.high.pressure, coldest)
    return deliver(
        record, show, json, out, lambda: report.phase_tables(found), lambda: report.phase_pictures(found, mixed)
    )
