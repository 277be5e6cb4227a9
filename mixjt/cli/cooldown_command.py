"""The command `mixjt cooldown`."""

from __future__ import annotations

from dataclasses import replace

from mixjt.cli.options import BlendText, CaseArgument, JsonOutput, ModelName, OutDirectory
from mixjt.fluid.model_names import DEFAULT


def cooldown(
    case_file: CaseArgument,
    out: OutDirectory = None,
    json: JsonOutput = False,
    blend: BlendText = None,
    model: ModelName = DEFAULT,
) -> int:
    """Follow the fixed machine from warm start to cold.

    With the capillary of [throttle] and the volumes of [volumes] the pressures settle by themselves, and so does
    what circulates of the charge, which is that of [charge], or else what the circuit holds as designed. Gives
    suction and discharge pressure, cooling, power and current from ambient to the lowest temperature, that
    temperature itself, and the time it takes to cool the masses of [cold_mass]. Without [volumes] the suction
    pressure is kept, as if the charge were adjusted.

    \b
    Example
      mixjt cooldown mixtures-demo/receiver-cooldown.toml --out run
    """
    from mixjt.case.case import read_case
    from mixjt.case.contradictions import contradictions
    from mixjt.case.standstill_case import standstill_request
    from mixjt.cli.deliver import deliver
    from mixjt.cli.followed_case import followed_case
    from mixjt.cli.solved_case import chosen_blend, chosen_fluid, starting_blend
    from mixjt.report import cooldown_report as report
    from mixjt.report.circuit_report import print_closing, with_rest
    from mixjt.report.first_start_report import with_start
    from mixjt.report.inventory_report import print_inventory
    from mixjt.report.output import checked_directory
    from mixjt.report.terminal import print_notes
    from mixjt.studies.at_rest import charge_at_rest

    def show() -> None:
        report.print_cooldown(case, mixed, found, record)
        print_inventory(rest.inventory)
        print_closing([*record["warnings"], *record["lost"]], record["cautions"])
        print_notes("How far to trust this", report.method_notes(machine))

    case = read_case(case_file)
    charged = case.charge is not None and blend is None
    mixed = starting_blend(case) if charged else chosen_blend(case, blend)
    checked_directory(out)
    fluid = chosen_fluid(model, mixed)
    followed = followed_case(case, fluid, charged)
    machine, charge, found = followed.machine, followed.charge, followed.found
    asked = standstill_request(case)
    if charge is not None:
        asked = replace(asked, charge=charge.mass)
    settled = found.states[-1].inventory if found.states else None
    rest = replace(charge_at_rest(charge.fluid if charge else fluid, asked), inventory=settled)
    record = with_rest(report.cooldown_record(case, machine, found, mixed, fluid.model.name), rest)
    record = with_start(record, followed.start)
    record["warnings"] += contradictions(case)
    record["cautions"] = _cautions(mixed, found)
    return deliver(
        record, show, json, out if found.states else None,
        lambda: report.cooldown_tables(found), lambda: report.cooldown_pictures(machine, found, mixed),
    )  # fmt: skip


def _cautions(blend, found) -> list[str]:
    """Cautions for the highest pressure and the lowest temperature on the way; none after an early interruption."""
    from mixjt.report.cautions import cautions

    if not found.states:
        return []
    highest = max(state.discharge_pressure for state in found.seen)
    coldest = min(state.cold_temperature for state in found.states)
    return cautions(blend.gases, blend.fractions, highest, coldest)
