"""The command `mixjt charge`."""

from __future__ import annotations

from mixjt.cli.options import BlendText, CaseArgument, JsonOutput, ModelName, OutDirectory
from mixjt.fluid.model_names import DEFAULT


def charge(
    case_file: CaseArgument,
    out: OutDirectory = None,
    json: JsonOutput = False,
    blend: BlendText = None,
    model: ModelName = DEFAULT,
) -> int:
    """Tell what to weigh in: grams of each bottle, their order, and the gauge pressure after each.

    Gives the grams of the bottles that make the charge, by rising vapour pressure, the gauge pressure that the circuit then
    stands at on the bench, whether scale or gauge tells the grams better and what the error does to the cooling; the
    charge at rest and on the hottest day against the rating; the flammable mass against the room and published limits;
    what a little more of each bottle changes; and how far slip and oil, which nobody knows well, may shift all that.
    The charge is what the circuit holds in [volumes] while the blend circulates. The bench is described by [bench] of the case.

    \b
    Example
      mixjt charge mixtures-demo/receiver-120K.toml --out run
    """
    from mixjt.case.case import read_case
    from mixjt.case.charge_case import bottles_to_buy, charge_request, machine_to_settle
    from mixjt.case.contradictions import contradictions
    from mixjt.circuit.solve import solve_circuit
    from mixjt.cli.deliver import deliver
    from mixjt.cli.progress import step_progress, waiting
    from mixjt.cli.solved_case import among_bottles, chosen_blend, chosen_fluid
    from mixjt.report import charge_report as report
    from mixjt.report.circuit_report import circuit_cautions, print_closing
    from mixjt.report.output import checked_directory
    from mixjt.studies.at_rest import at_rest
    from mixjt.studies.charge.charge_plan import plan_charge
    from mixjt.studies.charge.doubts import hold_up_doubts
    from mixjt.studies.charge.drawn import usable_bottles
    from mixjt.studies.charge.top_up import top_ups

    def show() -> None:
        report.print_charge(told, record)
        print_closing(record["warnings"], record["cautions"], about_model)
        report.print_method(told)

    case = read_case(case_file)
    mixed = chosen_blend(case, blend)
    request, standstill = charge_request(case)
    checked_directory(out)
    bottles = usable_bottles(mixed.gases, case.bottles)
    fluid = chosen_fluid(model, among_bottles(mixed, case.bottles))
    with waiting("solving the circuit"):
        result = solve_circuit(fluid, case.circuit)
        rest = at_rest(result, standstill)
    with waiting("filling"):
        plan = plan_charge(rest, result.fluid, bottles, request, standstill)
    machine = machine_to_settle(case, result, plan.portions.given)
    with step_progress("topping up") as progress:
        more = top_ups(fluid, plan.portions, request, case.circuit, machine, progress)
    with step_progress("slip and oil") as progress:
        doubts = hold_up_doubts(result, machine, progress) if machine else ()
    told = report.Told(case, mixed, fluid, plan, more, doubts)
    record = report.charge_record(told)
    about_model = fluid.model.warnings(fluid.z, case.circuit.cold_temperature)
    record["warnings"] += [*bottles_to_buy(case, bottles), *contradictions(case), *about_model]
    record["cautions"] = [report.FILLING, *circuit_cautions(mixed, result)]
    return deliver(record, show, json, out, lambda: report.charge_tables(told), lambda: report.charge_pictures(told))
