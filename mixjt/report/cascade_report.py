"""What is said of a cascade design: its figures, tables, pictures, cautions, and the text on the terminal."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from mixjt.cascade.cascade_curves import PowerCurve
from mixjt.cascade.cascade_records import CascadeResult
from mixjt.cascade.design import CascadeDesign
from mixjt.cascade.warming import Warming
from mixjt.case.case import Case
from mixjt.constants import ZERO_CELSIUS
from mixjt.report.cautions import machine_cautions
from mixjt.report.circuit_report import INTERRUPTED, STATES, TITLE, WARNINGS, print_closing
from mixjt.report.figure import EVERY, Figure, Listing, listing, print_figures, record_of
from mixjt.report.terminal import print_notes, print_quantities, print_title

REASONS = 12  # shown; --out has them all
WHOLE, CYCLES, COMPRESSORS, AT_REST = "Whole", "Stages of the best cascade", "Their compressors", "At rest, all warm"
GAUGE = "bar gauge"


def _highest_standing(result: CascadeResult) -> float | None:
    standing = result.standing_pressures
    return None if None in standing else max(standing)


def fluids_text(result: CascadeResult) -> str:
    """Its fluids, coldest stage first."""
    return " + ".join(result.fluids)


STAGES = (  # of (number, stage, standstill, its condenser to the next warmer stage, pressure of the air)
    Figure("stage", lambda row: row[0], text="", table=EVERY),
    Figure("fluid", lambda row: row[1].fluid.name, text="fluid", table=EVERY),
    Figure("evaporating_temperature_K", lambda row: row[1].cycle.stage.evaporating_temperature, text="evaporates",
           table=CYCLES, form=".1f"),
    Figure("condensing_temperature_K", lambda row: row[1].cycle.stage.condensing_temperature, text="condenses",
           table=CYCLES, form=".1f"),
    Figure("suction_pressure_Pa", lambda row: row[1].cycle.suction_pressure, text="suction", table=CYCLES, form=".2f"),
    Figure("suction_pressure_gauge_Pa", lambda row: row[1].cycle.suction_pressure - row[4], text="", table=CYCLES,
           unit=GAUGE, scale=1e5, form=".2f"),
    Figure("discharge_pressure_Pa", lambda row: row[1].cycle.discharge_pressure, text="discharge", table=CYCLES,
           form=".2f"),
    Figure("discharge_pressure_gauge_Pa", lambda row: row[1].cycle.discharge_pressure - row[4], text="", table=CYCLES,
           unit=GAUGE, scale=1e5, form=".2f"),
    Figure("pressure_ratio", lambda row: row[1].cycle.pressure_ratio, text="ratio", table=CYCLES, form=".2f"),
    Figure("discharge_temperature_K", lambda row: row[1].cycle.discharge_temperature, text="outlet", table=COMPRESSORS,
           form=".0f"),
    Figure("valve_temperature_K", lambda row: row[1].cycle.valve_temperature),
    Figure("displacement_m3_per_rev", lambda row: row[1].displacement, text="swept", table=COMPRESSORS, form=".2f"),
    Figure("swept_flow_m3_per_s", lambda row: row[1].swept_flow),
    Figure("volumetric_efficiency", lambda row: row[1].volumetric_efficiency),
    Figure("molar_flow_mol_per_s", lambda row: row[1].molar_flow),
    Figure("mass_flow_g_per_s", lambda row: 1e3 * row[1].mass_flow, text="flow", table=COMPRESSORS, form=".3f"),
    Figure("compressor_power_W", lambda row: row[1].compressor_power, text="power", table=COMPRESSORS, form=".1f"),
    Figure("load_W", lambda row: row[1].load),
    Figure("heat_leak_W", lambda row: row[1].evaporator_heat - row[1].load),
    Figure("suction_heat_W", lambda row: row[1].suction_heat),
    Figure("hot_gas_heat_W", lambda row: row[1].hot_gas_heat),
    Figure("condenser_heat_W", lambda row: row[1].condenser_heat, text="condenser", table=COMPRESSORS, form=".1f"),
    Figure("desuperheater_heat_W", lambda row: row[1].desuperheater_heat),
    Figure("shell_heat_W", lambda row: row[1].shell_heat),
    Figure("cascade_condenser_conductance_W_per_K", lambda row: row[3] and row[3].conductance),
    Figure("cascade_condenser_smallest_approach_K", lambda row: row[3] and row[3].smallest_approach),
    Figure("charge_kg", lambda row: row[2] and row[2].charge, text="charge", table=AT_REST, unit="g", scale=1e-3,
           form=".1f"),
    Figure("charge_source", lambda row: row[2] and row[2].charge_source, text="charge is", table=AT_REST),
    Figure("standing_pressure_ambient_Pa", lambda row: row[2] and row[2].ambient_pressure, text="at ambient",
           table=AT_REST, form=".2f"),
    Figure("standing_pressure_hottest_Pa", lambda row: row[2] and row[2].hottest_pressure, text="hottest day",
           table=AT_REST, form=".2f"),
    Figure("expansion_vessel_m3", lambda row: row[2] and row[2].vessel, text="expansion vessel", table=AT_REST,
           form=".3f"),
)  # fmt: skip
STATE_POINTS = (Figure("stage", lambda row: row[2]), *STATES)
EXERGY = (  # of (stage, component, lost), and what all lose
    Figure("stage", lambda row: None if row[0] is None else row[0] + 1),
    Figure("", lambda row: f"stage {row[0] + 1}" if row[0] is not None else "", text="where"),
    Figure("component", lambda row: row[1], text="component"),
    Figure("exergy_W", lambda row: row[2], text="exergy"),
    Figure("", lambda row: 100.0 * row[2] / row[3], text="share", unit="%", form=".1f"),
)
WARMINGS = (  # of (number of stages, warming)
    Figure("number_of_compressors", lambda row: row[0], text="stages"),
    Figure("suction_warming", lambda row: row[1].by, text="warmed by"),
    Figure("load_W", lambda row: row[1].result and row[1].result.cascade.load, text="load", form=".4g"),
    Figure("total_power_W", lambda row: row[1].result and row[1].result.total_power, text="power", form=".1f"),
    Figure("cop", lambda row: row[1].result and row[1].result.cop),
    Figure("highest_discharge_temperature_K", lambda row: row[1].result and max(row[1].result.discharge_temperatures),
           text="hottest outlet", form=".0f"),
    Figure("fluids", lambda row: row[1].result and fluids_text(row[1].result), text="fluids"),
    Figure("obstacle", lambda row: row[1].obstacle),
)  # fmt: skip
CANDIDATES = (
    Figure("number_of_compressors", lambda one: len(one.stages), text="stages"),
    Figure("fluids", fluids_text, text="fluids, coldest first"),
    Figure("intermediate_temperatures_K", lambda one: " ".join(f"{t:.4f}" for t in one.intermediate_temperatures)),
    Figure("load_W", "cascade.load", text="load", form=".4g"),
    Figure("total_power_W", "total_power", text="power", form=".1f"),
    Figure("cop", "cop", text="COP", form=".3f"),
    Figure("carnot_fraction", "carnot_fraction", text="Carnot", form=".1f"),
    Figure("total_displacement_m3_per_rev", lambda one: sum(one.displacements), text="swept", form=".2f"),
    Figure("highest_running_pressure_Pa", lambda one: max(one.running_pressures), text="highest", form=".1f"),
    Figure("highest_discharge_temperature_K", lambda one: max(one.discharge_temperatures), text="hottest", form=".0f"),
    Figure("cascade_condenser_conductance_W_per_K", "condenser_conductance"),
    Figure("lowest_temperature_K", "lowest_temperature", text="reaches", form=".1f"),
)
POWER = (  # of (curve, fluid, temperature, power, whether within the limits)
    Figure("warmer_stage", lambda row: row[0].warmer + 1),
    Figure("fluid", lambda row: row[1]),
    Figure("evaporating_temperature_K", lambda row: row[2]),
    Figure("total_power_W", lambda row: row[3]),
    Figure("within_limits", lambda row: bool(row[4])),
)
RULED_OUT = (
    Figure("number_of_compressors", "stages"),
    Figure("role", "role"),
    Figure("fluids", lambda one: " + ".join(one.fluids)),
    Figure("reason", "reason"),
)
FIGURES = (
    Figure("fluids", lambda result: list(result.fluids), "coldest first"),
    Figure("intermediate_temperatures_K", lambda result: list(result.intermediate_temperatures),
           "evaporating temperatures of all stages but the coldest"),
    Figure("number_of_compressors", lambda result: len(result.stages), "one a stage"),
    Figure("total_power_W", "total_power", "electrical, of all compressors", "electrical power", WHOLE, 1),
    Figure("load_W", "cascade.load",
           "at the cold end; with `displacement` of given compressors the result: the greatest that they carry"),
    Figure("cop", "cop", "as of a circuit", "COP", WHOLE, 2),
    Figure("carnot_fraction", "carnot_fraction", "", "fraction of Carnot", WHOLE, 3),
    Figure("cold_temperature_K", "cascade.cold_temperature"),
    Figure("ambient_temperature_K", "cascade.ambient_temperature"),
    Figure("lowest_temperature_K", "lowest_temperature", "of these fluids, within the limits",
           "lowest temperature of these fluids within the limits", WHOLE, 4),
    Figure("total_displacement_m3_per_rev", lambda result: sum(result.displacements), "of all compressors"),
    Figure("highest_running_pressure_Pa", lambda result: max(result.running_pressures),
           "of any stage; null where a stage's volumes or charge are not stated"),
    Figure("highest_standing_pressure_Pa", _highest_standing),
    Figure("highest_discharge_temperature_K", lambda result: max(result.discharge_temperatures), "of any stage"),
    Figure("flammable_mass_kg", "flammable_mass", "null where a charge is not known", "flammable charge", WHOLE, 5,
           unit="g", scale=1e-3),
    Figure("cascade_condenser_conductance_W_per_K", "condenser_conductance", "UA of all"),
    Figure("condenser_approach_K", "cascade.condenser_approach",
           "of the warmest condensing temperature above ambient, and the conductance from the fluid to air of ambient "
           "temperature that it takes; `null` where the liquid leaves as cold as the air",
           "condenser to air: approach", WHOLE, 6),
    Figure("condenser_conductance_W_per_K", "air_conductance", "", "condenser to air: conductance", WHOLE, 7),
    Figure("energy_residual", "energy_residual", "as of a circuit"),
    Figure("exergy_residual", "exergy_residual"),
    Figure("stages", lambda result: stages(result),
           "coldest first; `cascade_condenser_...` are those of the exchanger with the next warmer stage", rows=STAGES),
    WARNINGS,
)  # fmt: skip
BEST = (  # of the best cascade and what warms its suction gas
    Figure("exergy", lambda run: exergy_parts(run["best"]), "no stage where it spans two", rows=EXERGY),
    Figure("state_points", lambda run: state_points(run["best"]), "in flow order", rows=STATE_POINTS),
    Figure("suction_warmings", lambda run: [(len(run["best"].stages), one) for one in run["warmings"]],
           "by hot gas, surroundings and nothing", rows=WARMINGS),
)  # fmt: skip
DESIGN = (
    Figure("best_by_stages", lambda design: {count: result_record(one) for count, one in design.by_count.items()},
           "from number of stages to the keys of the best cascade"),
    Figure("candidates", lambda design: [result_record(one) for one in design.candidates],
           "all that were kept, with the same keys, least power or greatest load first"),
    Figure("ruled_out", "ruled_out", "what does not serve, and why", rows=RULED_OUT),
    Figure("evaluations", "evaluations", "sets of temperatures tried"),
    INTERRUPTED,
    Figure("messages", lambda design: list(design.messages), "about the design; what may hurt the builder"),
    Figure("cautions", lambda design: [] if design.best is None else cascade_cautions(design.best)),
)  # fmt: skip


def cascade_record(case: Case, design: CascadeDesign, warmings: Sequence[Warming] = ()) -> dict:
    """The design as one record, its best cascade at the top level; every key ends in its unit."""
    record = record_of(TITLE, {"case": case})
    if design.best is not None:
        record |= result_record(design.best) | record_of(BEST, {"best": design.best, "warmings": warmings})
    record |= record_of(DESIGN, design)
    record.setdefault("warnings", [])
    return record


def result_record(result: CascadeResult) -> dict:
    """Figures of one cascade and of its stages, coldest first."""
    return record_of(FIGURES, result)


def stages(result: CascadeResult) -> Listing:
    """One row a stage, coldest first; its cascade condenser is the one to the next warmer stage."""
    condensers = (*result.condensers, *(None,) * len(result.stages))
    air = (result.cascade.atmosphere,) * len(result.stages)
    numbers = range(1, len(result.stages) + 1)
    return listing(STAGES, zip(numbers, result.stages, result.standstills, condensers, air, strict=False))


def state_points(result: CascadeResult) -> Listing:
    """State points of every stage in flow order."""
    rows = [(*point, n) for n, stage in enumerate(result.stages, start=1) for point in stage.points.items()]
    return listing(STATE_POINTS, rows)


def exergy_parts(result: CascadeResult) -> Listing:
    """Exergy destroyed in each component, and last carried out by the load; no stage where it spans two."""
    return listing(EXERGY, [(*part, result.total_power) for part in result.exergy])


def warming_listing(warmings: Mapping[int, Sequence[Warming]]) -> Listing:
    """By number of stages, the same load with suction gas warmed by hot gas, by the surroundings, and by nothing."""
    return listing(WARMINGS, [(count, one) for count, many in warmings.items() for one in many])


def power_listing(result: CascadeResult, curves: Sequence[PowerCurve]) -> Listing:
    """Power against each intermediate temperature, the others held."""
    rows = [
        (curve, result.fluids[curve.warmer], *point)
        for curve in curves
        for point in zip(curve.temperatures, curve.powers, curve.within, strict=True)
    ]
    return listing(POWER, rows)


def cascade_tables(design: CascadeDesign, curves: Sequence[PowerCurve]) -> dict[str, Listing]:
    """Of the best cascade, of all candidates, least power first, and of what was ruled out, for files."""
    best = design.best
    return {
        "stages": stages(best),
        "state_points": state_points(best),
        "exergy": exergy_parts(best),
        "candidates": listing(CANDIDATES, design.candidates),
        "ruled_out": listing(RULED_OUT, design.ruled_out),
    } | ({"power": power_listing(best, curves)} if curves else {})


def cascade_pictures(best: CascadeResult, curves: Sequence[PowerCurve]) -> dict[str, Callable]:
    """Every stage in its diagram, and power against the intermediate temperatures."""
    from mixjt.cascade.cascade_curves import stage_domes
    from mixjt.plots.cascade_plot import power_figure, stages_figure

    return {"stages": lambda: stages_figure(best, stage_domes(best))} | (
        {"power": lambda: power_figure(best, curves)} if curves else {}
    )


def cascade_cautions(result: CascadeResult) -> list[str]:
    """What may hurt the builder of a cascade."""
    coldest = min(stage.cycle.stage.evaporating_temperature for stage in result.stages)
    burning = list(dict.fromkeys(stage.fluid.name for stage in result.stages if stage.fluid.flammable))
    return machine_cautions(burning, max(result.running_pressures), coldest)


def print_design(case: Case, design: CascadeDesign, warmed: Sequence[Warming], record: Mapping) -> None:
    """All of it, the best cascade in full."""
    best = design.best
    if best is None:
        print(f"{case.title or case.file}\nInterrupted before a cascade was found.")
        return
    cascade = best.cascade
    print_title(case.title or case.file, {
        "load": f"{cascade.load:.4g} W at {both_scales(cascade.cold_temperature)}"
        + (", the greatest that the stated compressors carry" if design.greatest else ""),
        "ambient": both_scales(cascade.ambient_temperature),
        "effort": f"{design.evaluations} sets of temperatures in {design.seconds:.1f} s",
        "model": "reference equation of each pure fluid; a blend's own model",
    })  # fmt: skip
    sought, spared = ("greatest load", "carnot_fraction") if design.greatest else ("least power", "load_W")
    listing([one for one in CANDIDATES if one.key != spared], design.candidates).show(f"Cascades, {sought} first")
    found = stages(best)
    for table in (CYCLES, COMPRESSORS):
        found.show(table, table)
    _print_whole(best, record)
    if warmed:
        print_warmings({len(best.stages): warmed}, cascade.suction_temperature)
    known = [number for number, rest in enumerate(best.standstills) if rest is not None]
    if known:
        found.show(AT_REST, AT_REST, known)
    exergy_parts(best).show("Exergy")
    print_closing(best.warnings, record["cautions"])
    _print_ruled_out(design)
    print_notes("Design", design.messages)


def print_warmings(warmings: Mapping[int, Sequence[Warming]], temperature: float) -> None:
    """By number of stages, what it costs to warm suction gas to a temperature [K]."""
    warming_listing(warmings).show(f"What warming colder suction gas to {temperature:.4g} K costs")


def both_scales(temperature: float) -> str:
    """A temperature in K and in degC, for a sentence."""
    return f"{temperature:.5g} K ({temperature - ZERO_CELSIUS:.1f} degC)"


def _print_whole(result: CascadeResult, record: Mapping) -> None:
    print_figures(FIGURES, WHOLE, record)
    rows = []
    for number, one in enumerate(result.condensers, start=1):
        rows.append((f"UA between stages {number} and {number + 1}", one.conductance, "W/K"))
        rows.append(("  smallest approach", one.smallest_approach, "K"))
    if rows:
        print_quantities("Cascade condensers", rows)
        print()


def _print_ruled_out(design: CascadeDesign) -> None:
    """The cascades that failed, then the single fluids."""
    ordered = sorted(design.ruled_out, key=lambda one: len(one.fluids) == 1)
    shown = list(dict.fromkeys(one.text for one in ordered))
    notes = shown[:REASONS]
    if len(shown) > REASONS:
        notes.append(f"and {len(shown) - REASONS} more; --out or --json has all of them")
    print_notes("Ruled out", notes)
