"""What is said of a cool-down and its load line: figures, tables, pictures, and the text on the terminal."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

from mixjt.blend import Blend
from mixjt.case.case import Case
from mixjt.circuit.fixed_machine import FixedMachine
from mixjt.circuit.inventory import HIGH, LOW, Inventory
from mixjt.report.circuit_report import (
    ALL_FIGURES,
    AT_REST,
    BLEND_SHARES,
    INTERRUPTED,
    MODEL,
    TITLE,
    print_heading,
)
from mixjt.report.figure import Figure, Listing, listing, print_figures, record_of
from mixjt.report.first_start_report import print_start
from mixjt.report.terminal import print_quantities
from mixjt.studies.cooldown import Cooldown

LOAD_LINE = (  # of (settled state, net power)
    Figure("cold_temperature_K", lambda row: row[0].cold_temperature, text="cold end", form=".1f"),
    Figure("suction_pressure_Pa", lambda row: row[0].suction_pressure, text="suction", form=".2f"),
    Figure("discharge_pressure_Pa", lambda row: row[0].discharge_pressure, text="discharge", form=".2f"),
    Figure("cooling_power_W", lambda row: row[0].cooling_power, text="cooling", form=".1f"),
    Figure("net_power_W", lambda row: float(row[1]), "less the load", text="net", form=".1f"),
    Figure("molar_flow_mol_per_s", lambda row: row[0].molar_flow),
    Figure("compressor_power_W", lambda row: row[0].compression.electrical_power, text="power", form=".0f"),
    Figure("supply_current_A", lambda row: row[0].compression.supply_current, text="current", form=".2f"),
    Figure("discharge_temperature_K", lambda row: row[0].compression.discharge_temperature, text="outlet", form=".0f"),
    Figure("valve_temperature_K", lambda row: row[0].compression.valve_temperature),
    Figure("suction_temperature_K", lambda row: row[0].compressor_inlet.temperature, text="inlet", form=".0f"),
    Figure("suction_vapour_fraction", lambda row: row[0].compressor_inlet.vapour_fraction, text="vapour",
           unit="mol/mol", form=".3f"),
)  # fmt: skip
WAY = (  # of (moment, when it comes)
    Figure("time_s", lambda row: float(row[1]), text="time", form=".0f"),
    Figure("cold_temperature_K", lambda row: row[0].settled.cold_temperature, text="cold end", form=".1f"),
    Figure("recuperator_temperature_K", lambda row: row[0].copper_temperature, "mean of its copper", text="copper",
           form=".0f"),
    Figure("suction_pressure_Pa", lambda row: row[0].settled.suction_pressure, text="suction", form=".2f"),
    Figure("discharge_pressure_Pa", lambda row: row[0].settled.discharge_pressure, text="discharge", form=".2f"),
    Figure("drawn_power_W", lambda row: row[0].drawn, "given off by cold end and copper", text="drawn", form=".1f"),
    Figure("from_copper_W", lambda row: row[0].settled.from_recuperator_metal, "by the copper alone"),
    Figure("compressor_power_W", lambda row: row[0].settled.compression.electrical_power),
    Figure("supply_current_A", lambda row: row[0].settled.compression.supply_current, text="current", form=".2f"),
    Figure("discharge_temperature_K", lambda row: row[0].settled.compression.discharge_temperature, text="outlet", form=".0f"),
    Figure("valve_temperature_K", lambda row: row[0].settled.compression.valve_temperature, text="valve", form=".0f"),
    Figure("suction_temperature_K", lambda row: row[0].settled.compressor_inlet.temperature, text="inlet", form=".0f"),
)  # fmt: skip
CIRCULATES = "What circulates on the way down"
LIQUID_HELD = Figure("recuperator_g", lambda row: row[0].settled.inventory and _in_recuperator(row[0].settled.inventory),
                     "what the recuperator holds; besides, `circulating_GAS` of each gas [mol/mol]", text="recuperator",
                     table=CIRCULATES, form=".0f")  # fmt: skip
FIGURES = (  # of a case, its blend, the name of the property model, and what was found
    *TITLE,
    MODEL,
    BLEND_SHARES,
    Figure("target_temperature_K", "case.circuit.cold_temperature", "the case's cold end and load"),
    Figure("load_W", "case.load"),
    Figure("recuperator_conductance_W_per_K", "machine.conductance",
           "held from warm to cold: that of `[recuperator]`, or what the circuit needs at its approach"),
    Figure("lowest_temperature_K", "found.lowest_temperature",
           "under the load; null where it still cools at the coldest state"),
    Figure("time_to_target_s", "found.time_to_target", "null where the target is not reached"),
    replace(INTERRUPTED, read="found.interrupted"),
    Figure("load_line", lambda run: load_line_listing(run["found"]), "a list, from warm to cold: what the cold end "
           "takes up where it stays at a temperature", rows=LOAD_LINE),
    Figure("cool_down", lambda run: way_listing(run["found"]), "a list over time, down to the target", rows=(*WAY, LIQUID_HELD)),
    Figure("lost", lambda run: list(run["found"].lost), "temperatures that could not be settled, and why"),
    Figure("warnings", lambda run: list(run["found"].warnings),
           "with every limit of the compressor that is passed on the way and the cold end where it is passed most: "
           "temperatures of line and valve, pressure ratio, current and electrical power, the label's suction pressure"),
)  # fmt: skip

def cooldown_record(case: Case, machine: FixedMachine, found: Cooldown, blend: Blend, model: str) -> dict:
    """The cool-down's figures and its load line; None where there is no such quantity."""
    return record_of(FIGURES, {"case": case, "machine": machine, "found": found, "blend": blend, "model": model})


def load_line_listing(found: Cooldown) -> Listing:
    """One row a cold-end temperature, from warm to cold."""
    return listing(LOAD_LINE, zip(found.states, found.net_power, strict=True))


def way_listing(found: Cooldown) -> Listing:
    """One row a settled state on the way down."""
    rows = list(zip(found.way.moments, found.way.moment_times, strict=True))
    return listing((*WAY, *_circulating(rows)), rows)


def _circulating(rows) -> list[Figure]:
    """Columns of what circulates, where the charge is known."""
    if not rows or rows[0][0].settled.inventory is None:
        return []
    shown = {"table": CIRCULATES, "form": ".4f", "unit": "mol/mol"}
    gases = [(i, name) for i, name in enumerate(rows[0][0].settled.fluid.gases) if rows[0][0].settled.fluid.z[i] > 0.0]
    return [
        Figure("", lambda row: row[0].settled.cold_temperature, text="cold end", table=CIRCULATES, unit="K", form=".1f"),
        LIQUID_HELD,
        *(Figure(f"circulating_{name}", lambda row, i=i: float(row[0].settled.fluid.z[i]), text=name, **shown) for i, name in gases),
    ]


def _in_recuperator(inventory: Inventory) -> float:
    """[g]"""
    return 1e3 * (inventory.mass_in(HIGH) + inventory.mass_in(LOW))


def cooldown_tables(found: Cooldown) -> dict[str, Listing]:
    """Load line, and what is to be seen over time."""
    return {"load_line": load_line_listing(found)} | ({"cooldown": way_listing(found)} if found.way.times.size else {})


def cooldown_pictures(machine: FixedMachine, found: Cooldown, blend: Blend) -> dict[str, Callable]:
    """The same as pictures."""
    from mixjt.plots.cooldown_plot import cooldown_figure, load_line_figure

    mixed = blend.gases, blend.composition
    pictures = {"load_line": lambda: load_line_figure(found, *mixed)}
    if found.way.times.size:
        pictures["cooldown"] = lambda: cooldown_figure(found, machine.circuit.compressor, *mixed)
    return pictures


def print_cooldown(case: Case, blend: Blend, found: Cooldown, record: Mapping) -> None:
    """Lowest temperature and time to the target, the charge at rest, the load line, and what all rests on."""
    print_heading(case, blend, record)
    minutes = None if found.time_to_target is None else found.time_to_target / 60.0
    print_quantities("Cool-down", (
        ("recuperator, held", record["recuperator_conductance_W_per_K"], "W/K"),
        ("lowest temperature under the load", found.lowest_temperature, "K"),
        (f"time to {record['target_temperature_K']:.4g} K", minutes, "min"),
    ))  # fmt: skip
    print()
    print_figures(ALL_FIGURES, AT_REST, record)
    print_start(record)
    if found.way.moments:
        way_listing(found).show("On the way down")
        print()
        if found.way.moments[0].settled.inventory is not None:
            way_listing(found).show(CIRCULATES, CIRCULATES)
            print()
    if found.states:
        load_line_listing(found).show("Load line at settled pressures, the cold end held at each temperature")
    else:
        print("No point of the load line was settled yet.")


def method_notes(machine: FixedMachine) -> list[str]:
    """What the figures rest on, and how far to trust them."""
    kept = "the suction pressure kept, as without [volumes]" if machine.charge is None else "the charge held by [volumes]"
    notes = [f"pressures settle between compressor and capillary with {kept}; flows of capillaries are good to 20-30 %"]
    if machine.charge is None:
        notes.append("the stated blend circulates: without [volumes] nothing tells what liquid and oil keep back")
    else:
        notes.append(
            f"slip ({machine.volumes.slip}) and oil decide what is kept back of the heavy gases, and both are rough: "
            "`mixjt charge` shows the range"
        )
    return notes
