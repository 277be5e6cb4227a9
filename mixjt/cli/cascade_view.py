"""A cascade design as people read it on the terminal."""

from __future__ import annotations

from collections.abc import Sequence

from mixjt.case.case import Case
from mixjt.cli.cautions import cautions, flammable_caution
from mixjt.cli.show import print_notes, print_quantities, print_table
from mixjt.constants import ZERO_CELSIUS
from mixjt.cycles.cascade_records import CascadeResult
from mixjt.studies.cascade_design import CascadeDesign
from mixjt.studies.cascade_warming import Warming

REASONS = 12  # shown; --out has them all


def print_design(case: Case, design: CascadeDesign, warmed: Sequence[Warming]) -> None:
    """All of it, the best cascade in full."""
    best = design.best
    print(case.title or case.file)
    if best is None:
        print("Interrupted before a cascade was found.")
        return
    cascade = best.cascade
    print(f"  load       {cascade.load:.4g} W at {_both(cascade.cold_temperature)}")
    print(f"  ambient    {_both(cascade.ambient_temperature)}")
    print(f"  effort     {design.evaluations} sets of temperatures in {design.seconds:.1f} s")
    print("  model      reference equation of each pure fluid; a blend's own model\n")
    _print_candidates(design)
    _print_stages(best)
    _print_whole(best)
    if warmed:
        print_warmings({len(best.stages): warmed}, cascade.suction_temperature)
    _print_standstill(best)
    _print_exergy(best)
    _print_ruled_out(design)
    print_notes("Design", design.messages)
    print_notes("Warnings", best.warnings)
    print_notes("Cautions", cascade_cautions(best))


def cascade_cautions(result: CascadeResult) -> list[str]:
    """What may hurt the builder of a cascade."""
    coldest = min(stage.cycle.stage.evaporating_temperature for stage in result.stages)
    burning = list(dict.fromkeys(stage.fluid.name for stage in result.stages if stage.fluid.flammable))
    found = cautions((), (), max(result.running_pressures), coldest)
    if burning:
        found.insert(0, flammable_caution(burning))
    return found


def _print_candidates(design: CascadeDesign) -> None:
    rows = [
        (len(one.stages), " + ".join(one.fluids), one.total_power, one.cop, 100.0 * one.carnot_fraction,
         1e6 * sum(one.displacements), max(one.running_pressures) / 1e5, max(one.discharge_temperatures),
         one.lowest_temperature)
        for one in design.candidates
    ]  # fmt: skip
    columns = ("stages", "fluids, coldest first", "power|W|.1f", "COP|W/W|.3f", "Carnot|%|.1f",
               "displacement|cm3/rev|.2f", "highest|bar abs|.1f", "hottest|K|.0f", "reaches|K|.1f")  # fmt: skip
    print_table("Cascades, least power first", columns, rows)


def _print_stages(result: CascadeResult) -> None:
    air = result.cascade.atmosphere
    rows = []
    for number, stage in enumerate(result.stages, start=1):
        cycle = stage.cycle
        rows.append((
            number, stage.fluid.name, cycle.stage.evaporating_temperature - ZERO_CELSIUS,
            cycle.stage.condensing_temperature - ZERO_CELSIUS, cycle.suction_pressure / 1e5,
            (cycle.suction_pressure - air) / 1e5, cycle.discharge_pressure / 1e5,
            (cycle.discharge_pressure - air) / 1e5, cycle.pressure_ratio,
            cycle.discharge_temperature - ZERO_CELSIUS, 1e6 * stage.displacement, 1e3 * stage.mass_flow,
            stage.compressor_power, stage.condenser_heat,
        ))  # fmt: skip
    columns = ("", "fluid", "evaporates|degC|.1f", "condenses|degC|.1f", "suction|bar abs|.2f", "|bar gauge|.2f",
               "discharge|bar abs|.2f", "|bar gauge|.2f", "ratio||.2f", "outlet|degC|.0f", "swept|cm3/rev|.2f",
               "flow|g/s|.3f", "power|W|.1f", "condenser|W|.1f")  # fmt: skip
    print_table("Stages of the best cascade", columns, rows)


def _print_whole(result: CascadeResult) -> None:
    rows = [
        ("electrical power", result.total_power, "W"),
        ("COP", result.cop, "W/W"),
        ("fraction of Carnot", 100.0 * result.carnot_fraction, "%"),
        ("lowest temperature of these fluids within the limits", result.lowest_temperature, "K"),
    ]
    for number, one in enumerate(result.condensers, start=1):
        rows.append((f"UA of the condenser between stages {number} and {number + 1}", one.conductance, "W/K"))
        rows.append(("  smallest approach", one.smallest_approach, "K"))
    mass = result.flammable_mass
    rows.append(("flammable charge", None if mass is None else 1e3 * mass, "g"))
    print_quantities("Whole", rows)
    print()


def print_warmings(warmings: dict[int, Sequence[Warming]], temperature: float) -> None:
    """By number of stages, what it costs to warm suction gas to a temperature [K]."""
    rows = [
        (stages, one.by, one.result and one.result.total_power,
         one.result and max(one.result.discharge_temperatures) - ZERO_CELSIUS,
         " + ".join(one.result.fluids) if one.result else None)
        for stages, many in warmings.items()
        for one in many
    ]  # fmt: skip
    title = f"What warming colder suction gas to {temperature:.4g} K costs"
    print_table(title, ("stages", "warmed by", "power|W|.1f", "hottest outlet|degC|.0f", "fluids"), rows)


def _print_standstill(result: CascadeResult) -> None:
    rows = [
        (number, stage.fluid.name, 1e3 * rest.charge, rest.charge_source, rest.ambient_pressure / 1e5,
         rest.hottest_pressure / 1e5, None if rest.vessel is None else 1e3 * rest.vessel)
        for number, (stage, rest) in enumerate(zip(result.stages, result.standstills, strict=True), start=1)
        if rest is not None
    ]  # fmt: skip
    if rows:
        columns = ("", "fluid", "charge|g|.1f", "charge is", "at ambient|bar abs|.2f", "hottest day|bar abs|.2f",
                   "expansion vessel|L|.3f")  # fmt: skip
        print_table("At rest, all warm", columns, rows)


def _print_exergy(result: CascadeResult) -> None:
    rows = [
        (f"stage {number + 1}" if number is not None else "", component, lost, 100.0 * lost / result.total_power)
        for number, component, lost in result.exergy
    ]
    print_table("Exergy", ("where", "component", "exergy|W", "share|%|.1f"), rows)


def _print_ruled_out(design: CascadeDesign) -> None:
    """The cascades that failed, then the single fluids."""
    ordered = sorted(design.ruled_out, key=lambda one: len(one.fluids) == 1)
    shown = list(dict.fromkeys(one.text for one in ordered))
    notes = shown[:REASONS]
    if len(shown) > REASONS:
        notes.append(f"and {len(shown) - REASONS} more; --out or --json has all of them")
    print_notes("Ruled out", notes)


def _both(temperature: float) -> str:
    return f"{temperature:.5g} K ({temperature - ZERO_CELSIUS:.1f} degC)"
