"""The command `mixjt cooldown`."""

from __future__ import annotations

from mixjt.cli.options import BlendText, CaseFile, JsonOutput, ModelName, OutDirectory
from mixjt.properties.names import DEFAULT


def cooldown(
    case_file: CaseFile,
    out: OutDirectory = None,
    json: JsonOutput = False,
    blend: BlendText = None,
    model: ModelName = DEFAULT,
) -> int:
    """Follow the fixed machine from warm start to cold.

    With the capillary of [throttle] and the charge of [volumes] the pressures settle by themselves. Gives
    suction and discharge pressure, cooling, power and current from ambient to the lowest temperature, that
    temperature itself, and the time it takes to cool the masses of [cold_mass]. Without [volumes] the suction
    pressure is kept, as if the charge were adjusted.

    \b
    Example
      mixjt cooldown mixtures-demo/receiver-cooldown.toml --out run
    """
    from mixjt.case.case import read_case
    from mixjt.case.contradictions import contradictions
    from mixjt.case.cooldown_case import cooldown_request, fixed_machine
    from mixjt.case.standstill_case import standstill_request
    from mixjt.cli.deliver import deliver
    from mixjt.cli.progress import step_progress
    from mixjt.cli.request import chosen_blend, chosen_model
    from mixjt.files.cooldown_records import cooldown_record
    from mixjt.files.output import checked_directory
    from mixjt.files.records import at_rest_record
    from mixjt.studies.cooldown import cool_down
    from mixjt.studies.standstill import at_rest

    case = read_case(case_file)
    mixed = chosen_blend(case, blend)
    request = cooldown_request(case)
    checked_directory(out)
    properties = chosen_model(model, mixed.gases)
    machine = fixed_machine(case, float(mixed.composition @ properties.molar_masses))
    with step_progress("settling") as report:
        found = cool_down(properties, mixed.composition, machine, request, report)
    rest = at_rest(properties, mixed.composition, standstill_request(case))
    record = cooldown_record(case, machine, found, mixed, properties.name) | at_rest_record(rest)
    record["warnings"] = [*rest.warnings, *record["warnings"], *contradictions(case)]
    record["cautions"] = _cautions(mixed, found)
    return deliver(
        record, lambda: _print(case, mixed, record, machine, found), json, out if found.states else None,
        lambda: _tables(machine, found), lambda: _pictures(found, mixed),
    )  # fmt: skip


def _print(case, blend, record: dict, machine, found) -> None:
    from mixjt.cli import circuit_view as view
    from mixjt.cli import cooldown_view

    view.print_heading(case, blend, record["model"])
    cooldown_view.print_outcome(record)
    view.print_figures("The charge at rest, all warm", view.AT_REST, record)
    cooldown_view.print_load_line(found)
    cooldown_view.print_notes_on_method(machine)
    view.print_closing([*record["warnings"], *record["lost"]], record["cautions"])


def _cautions(blend, found) -> list[str]:
    """Cautions for the highest pressure and the lowest temperature on the way; none after an early interruption."""
    from mixjt.cli.cautions import cautions

    if not found.states:
        return []
    highest = max(state.discharge_pressure for state in found.states)
    coldest = min(state.cold_temperature for state in found.states)
    return cautions(blend.gases, blend.fractions, highest, coldest)


def _tables(machine, found) -> dict:
    """Load line and way."""
    from mixjt.files.cooldown_records import load_line_table, way_table

    way = {"cooldown": way_table(found)} if found.times.size else {}
    return {"load_line": load_line_table(found)} | way


def _pictures(found, blend) -> dict:
    from mixjt.plots.cooldown import cooldown_figure, load_line_figure

    pictures = {"load_line": lambda: load_line_figure(found, blend.gases, blend.composition)}
    if found.times.size:
        pictures["cooldown"] = lambda: cooldown_figure(found, blend.gases, blend.composition)
    return pictures
