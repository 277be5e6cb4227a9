"""The command `mixjt cycle`."""

from __future__ import annotations

from mixjt.cli.options import (
    BlendText,
    CaseArgument,
    CircuitKind,
    JsonOutput,
    ModelName,
    OutDirectory,
    SaveFile,
)
from mixjt.fluid.model_names import DEFAULT


def cycle(
    case_file: CaseArgument,
    out: OutDirectory = None,
    save: SaveFile = None,
    json: JsonOutput = False,
    blend: BlendText = None,
    model: ModelName = DEFAULT,
    circuit: CircuitKind = "plain",
) -> int:
    """Solve the throttle circuit for one blend.

    Gives the greatest cooling at the stated recuperator approach, every state point, the power, the exergy
    lost in each component, what must be charged with [volumes] in the case, and warnings about what would not
    work. With a [charge] it is the other way round: what circulates of it, at which suction pressure. A precooled circuit, or one with a phase
    separator, is compared with the plain one of the same blend.

    \b
    Examples
      mixjt cycle mixtures-demo/receiver-120K.toml
      mixjt cycle mixtures-demo/receiver-120K.toml --blend "nitrogen=0.4, ethane=0.3, propane=0.3" --out run
      mixjt cycle mixtures-demo/receiver-precooled.toml --circuit precooled --out run
    """
    from mixjt.case.answers import search_answer
    from mixjt.case.first_start_case import start_request
    from mixjt.case.saved_case import checked_new_file
    from mixjt.circuit.solve import PLAIN
    from mixjt.cli.deliver import Saving, deliver
    from mixjt.cli.solved_case import ambient_ends, solved_circuit
    from mixjt.report import circuit_report as report
    from mixjt.report.ends_report import TITLE, end_listing
    from mixjt.report.figure import EVERY
    from mixjt.report.first_start_report import print_start, with_start
    from mixjt.report.inventory_report import print_inventory
    from mixjt.report.kinds_report import precooling_pictures, precooling_tables
    from mixjt.report.output import checked_directory
    from mixjt.studies.first_start import look_at_start

    def show() -> None:
        report.print_heading(solved.case, solved.blend, record, solved.band)
        report.print_circuit(solved.result, record)
        print_inventory(solved.rest.inventory)
        if ends:
            end_listing(ends).show(TITLE, EVERY)
        print_start(record)
        report.print_closing(record["warnings"], record["cautions"], solved.about_models)

    checked_directory(out)
    checked_new_file(save)
    solved = solved_circuit(case_file, blend, model, circuit, with_curve=out is not None, follow_charge=True)
    held = solved.rest.inventory if circuit == PLAIN else None
    start = start_request(solved.case, held and held.charge)
    record = with_start(solved.record, look_at_start(start))
    ends, lost = ambient_ends(solved, circuit)
    if ends or lost:
        record["ambient_ends"] = end_listing(ends).records()
        record["warnings"] = [*record["warnings"], *lost]
    return deliver(
        record, show, json, out,
        lambda: report.circuit_tables(solved.result) | precooling_tables(solved.study),
        lambda: report.circuit_pictures(solved.result, solved.band)
        | precooling_pictures(solved.study, solved.band),
        Saving(save, solved.case, "mixjt cycle", lambda: search_answer(solved.case, solved.blend.to_dict(), solved.result)),
    )  # fmt: skip
