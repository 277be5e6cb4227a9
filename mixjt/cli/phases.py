"""The command `mixjt phases`."""

from __future__ import annotations

from mixjt.cli.options import BlendText, CaseFile, JsonOutput, ModelName, OutDirectory
from mixjt.properties.names import DEFAULT

ROWS = 20  # of the table on the terminal; --out has all of it


def phases(
    case_file: CaseFile,
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
    from mixjt.cli.cautions import cautions
    from mixjt.cli.deliver import deliver
    from mixjt.cli.request import chosen_blend, chosen_model
    from mixjt.files.output import checked_directory
    from mixjt.files.phase_records import phase_record
    from mixjt.studies.phases import blend_phases

    case = read_case(case_file)
    mixed = chosen_blend(case, blend)
    checked_directory(out)
    found = blend_phases([chosen_model(model, mixed.gases)], mixed.composition, case.circuit, standstill_request(case), bool(out))
    record = phase_record(case, mixed, found)
    coldest = case.circuit.cold_temperature
    record["cautions"] = cautions(mixed.gases, mixed.fractions, found.high.pressure, coldest)
    return deliver(
        record, lambda: _print(case, mixed, record, found), json, out,
        lambda: _tables(found), lambda: _pictures(found, mixed),
    )  # fmt: skip


def _print(case, blend, record: dict, found) -> None:
    from mixjt.cli import circuit_view as view
    from mixjt.cli import phases_view

    view.print_heading(case, blend, record["model"])
    phases_view.print_saturation(found)
    phases_view.print_states(found, ROWS)
    phases_view.print_standstill(found)
    view.print_closing(record["warnings"], record["cautions"])


def _tables(found) -> dict:
    """States, envelope and points."""
    from mixjt.files import phase_records as records

    return {
        "phases": records.phase_table((found.low, found.high)),
        "saturation": records.saturation_table(found.points),
        "envelope": records.envelope_table(found.envelopes),
        "two_liquids": records.two_liquids_table(found.region),
    }


def _pictures(found, blend) -> dict:
    from mixjt.plots.envelope import envelope_figure

    isobars = [
        (side, line.pressure, (line.temperatures[0], line.temperatures[-1]))
        for side, line in (("suction", found.low), ("discharge", found.high))
    ]
    return {
        "envelope": lambda: envelope_figure(found.envelopes, found.region, isobars, blend.gases, blend.composition)
    }
