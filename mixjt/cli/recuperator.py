"""The command `mixjt recuperator`."""

from __future__ import annotations

from mixjt.cli.options import BlendText, CaseFile, JsonOutput, ModelName, OutDirectory
from mixjt.properties.names import DEFAULT


def recuperator(
    case_file: CaseFile,
    out: OutDirectory = None,
    json: JsonOutput = False,
    blend: BlendText = None,
    model: ModelName = DEFAULT,
) -> int:
    """Rate a recuperator made of tube in its circuit, or find the length it needs.

    [recuperator_tubes] gives the tubes. With their length, the circuit is solved with the heat transfer and the
    pressure drops of that tube; without it, the length follows from the approach. Also: what the 20-30 % band of the
    correlations means, other lengths, and the tubes one can buy.

    \b
    Examples
      mixjt recuperator mixtures-demo/receiver-tubes.toml
      mixjt recuperator mixtures-demo/receiver-tubes.toml --out run
    """
    from mixjt.case.case import read_case
    from mixjt.case.contradictions import missed_approach
    from mixjt.case.recuperator_case import recuperator_request
    from mixjt.cli import circuit_view, request
    from mixjt.cli.deliver import deliver
    from mixjt.files.output import checked_directory
    from mixjt.files.records import band_record, case_record
    from mixjt.files.recuperator_records import recuperator_record
    from mixjt.studies.band import cooling_band
    from mixjt.studies.recuperator import solve_recuperator

    case = read_case(case_file)
    asked = recuperator_request(case)
    checked_directory(out)
    chosen = request.chosen_blend(case, blend)
    properties = request.chosen_model(model, chosen.gases)
    result = solve_recuperator(properties, chosen.composition, case.circuit, asked)
    solved = result.solved
    band = cooling_band(properties, solved.result, solved.circuit)
    own = recuperator_record(result)
    record = case_record(case, solved.result) | band_record(band) | own
    more = missed_approach(case, result)
    record["warnings"] += [*case_record(case, solved.result)["warnings"], *more, *(band.warnings if band else ())]
    record["cautions"] = circuit_view.circuit_cautions(chosen, solved.result)
    return deliver(
        record, lambda: _print(case, chosen, band, result, record), json, out,
        lambda: _tables(result), lambda: _pictures(result),
    )  # fmt: skip


def _print(case, blend, band, result, record: dict) -> None:
    from mixjt.cli import circuit_view
    from mixjt.cli.recuperator_view import print_recuperator

    circuit_view.print_heading(case, blend, result.solved.result.model, band)
    print_recuperator(result, record)
    circuit_view.print_circuit_closing(record["warnings"], blend, result.solved.result)


def _tables(result) -> dict:
    from mixjt.files import recuperator_records as tables

    return {
        "recuperator_cells": tables.cell_table(result.solved.rating),
        "recuperator_lengths": tables.length_table(result),
        "recuperator_offers": tables.offer_table(result),
    }


def _pictures(result) -> dict:
    from mixjt.plots.exchanger import exchanger_figure, trade_figure

    return {"recuperator": lambda: exchanger_figure(result), "recuperator_trade": lambda: trade_figure(result)}
