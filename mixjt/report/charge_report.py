"""What is said of charging a circuit: figures, tables, pictures, and the text on the terminal."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from mixjt.blend import Blend
from mixjt.case.case import Case
from mixjt.fluid.fluid import Fluid
from mixjt.report.circuit_report import AT_REST, BLEND_SHARES, MODEL, STANDING_FIGURES, TITLE, WARNINGS
from mixjt.report.figure import EVERY, Figure, Listing, listing, print_figures, record_of
from mixjt.report.inventory_report import BY_PART, by_part, print_inventory, shares
from mixjt.report.terminal import print_notes, print_title
from mixjt.studies.charge.charge_plan import ChargePlan
from mixjt.studies.charge.doubts import Doubt
from mixjt.studies.charge.drawn import CARTRIDGE, CYLINDER, HIGH_PRESSURE
from mixjt.studies.charge.filling import filling_curve
from mixjt.studies.charge.top_up import TopUps

GAUGE = {"unit": "bar gauge", "scale": 1e5, "form": ".2f"}
CHARGE, ROOM = "The charge", "The charge in the room"
FILL, ERRORS = "in this order", "errors"
READINGS = (
    "slip and oil are rough, and heavy gas is hard to take out again: fill in what the least of the last table takes first; once "
    "the machine is cold its suction, discharge and throttle inlet tell which row is yours, and what to top up"
)
FILLING = (
    "Filling: leak-tested and evacuated first, compressor off, no air; every bottle through its own valve and check valve, "
    "nitrogen and all gas of high pressure through a regulator; relief valves in place; never heat a bottle with a flame."
)


@dataclass(frozen=True)
class Told:
    """All that is told: the case, its blend in circulation, what to do, what topping up does, and what slip and oil may do."""

    case: Case
    blend: Blend
    fluid: Fluid
    plan: ChargePlan
    more: TopUps | None = None
    doubts: tuple[Doubt, ...] = ()

    @property
    def rows(self) -> list[tuple]:
        """Of (step, what is in after it [kg], local atmosphere [Pa], what its error does to the cooling [W])."""
        rows, held = [], 0.0
        for step in self.plan.steps:
            held += step.mass
            cooling_error = self.more and self.more.cooling_error(step)
            rows.append((step, held, self.plan.request.atmosphere, cooling_error))
        return rows


STEPS = (  # of such a row
    Figure("bottle", lambda row: row[0].bottle.name, text="bottle", table=EVERY),
    Figure("mass_g", lambda row: 1e3 * row[0].mass, "to let in", text="let in", table=EVERY, form=".1f"),
    Figure("total_mass_g", lambda row: 1e3 * row[1], "in the circuit then", text="in all", table=FILL, form=".1f"),
    Figure("gauge_pressure_after_Pa", lambda row: row[0].after - row[2], "at the bench's temperature, both sides "
           "equalised, above the local atmosphere", text="gauge then", table=FILL, **GAUGE),
    Figure("pressure_rise_Pa", lambda row: row[0].after - row[0].before, text="rise", table=FILL, unit="bar", scale=1e5,
           form=".2f"),
    Figure("phases", lambda row: row[0].phases, "in the circuit then", text="in the circuit", table=FILL),
    Figure("bottle_gauge_pressure_Pa", lambda row: None if row[0].bottle.pressure is None
           else row[0].bottle.pressure - row[2], "vapour pressure of the bottle at the bench's temperature; `null` above the "
           "critical temperature", text="bottle at", table=FILL, **GAUGE),
    Figure("fill_by", lambda row: row[0].way, '"weight", "pressure", or "weight, small bottle" where the scale does not '
           "carry the bottle and the gauge tells nothing: buy it in a small one", text="fill by", table=EVERY),
    Figure("scale_error_g", lambda row: 1e3 * row[0].scale_error, "standard deviation of weighing", text="by scale", table=ERRORS, form=".2f"),
    Figure("pressure_error_g", lambda row: row[0].pressure_error and 1e3 * row[0].pressure_error, "the same of filling by pressure; "
           "`null` where it tells nothing", text="by gauge", table=ERRORS, form=".2f"),
    Figure("error_percent", lambda row: 100.0 * row[0].error / row[0].mass, "of this mass, the way it is filled",
           text="of the mass", table=ERRORS, form=".1f"),
    Figure("cooling_error_W", lambda row: row[3], "what that does to the cooling", text="cooling", table=ERRORS,
           form=".2f"),
)  # fmt: skip
DRAWN = Figure("drawn", lambda row: row[4], "mole fractions of what comes out of the bottle")
LIMITS = (  # of (limit, mass of the charge)
    Figure("limit", lambda row: row[0].name, text="published limit of another kind of machine"),
    Figure("largest_charge_g", lambda row: row[0].mass and 1e3 * row[0].mass, text="charge at most", form=".0f"),
    Figure("charge_percent", lambda row: row[0].mass and 100.0 * row[1] / row[0].mass, text="this charge", form=".0f"),
)
TOP_UPS = (
    Figure("bottle", "name", text="bottle"),
    Figure("added_g", lambda row: 1e3 * row.mass, text="added", form=".2f"),
    Figure("standing_change_Pa", "standing", "at rest on the bench", text="at rest", unit="bar", scale=1e5, form="+.3f"),
    Figure("suction_change_Pa", "suction", text="suction", unit="bar", scale=1e5, form="+.3f"),
    Figure("discharge_change_Pa", "discharge", text="discharge", unit="bar", scale=1e5, form="+.3f"),
    Figure("cooling_change_W", "cooling", text="cooling", form="+.2f"),
    Figure("cooling_change_less_W", "cooling_less", "of the cooling, with as much less of it; only where the pressures are "
           "held", text="if less", form="+.2f"),
    Figure("throttle_inlet_change_K", "throttle_inlet", text="throttle inlet", form="+.2f"),
)  # fmt: skip
DOUBTS = (
    Figure("hold_up", "name", text="slip and oil"),
    Figure("charge_mass_g", lambda row: row.wanted and 1e3 * row.wanted.charge.mass, "which the same blend in circulation then takes; "
           "the rest is of the charge as planned, settled at the cold end's temperature", text="would take", form=".0f"),
    Figure("suction_pressure_Pa", "settled.suction_pressure", text="suction", form=".2f"),
    Figure("discharge_pressure_Pa", "settled.discharge_pressure", text="discharge", form=".2f"),
    Figure("throttle_inlet_K", "settled.throttle_inlet.temperature", text="throttle inlet", form=".1f"),
    Figure("cooling_power_W", "settled.cooling_power", text="cooling", form=".1f"),
    Figure("circulating_blend", lambda row: row.settled and shares(row.settled.fluid)),
)  # fmt: skip
CURVE = (  # of ((bottle, mass, pressure), local atmosphere)
    Figure("bottle", lambda row: row[0][0]),
    Figure("mass_g", lambda row: 1e3 * row[0][1]),
    Figure("gauge_pressure_Pa", lambda row: row[0][2] - row[1]),
)
FIGURES = (
    *TITLE,
    replace(MODEL, read="plan.model.name"),
    Figure("bench_temperature_K", "plan.request.bench_temperature", "of circuit and bottles while filling",
           "bench temperature", CHARGE, 3),
    Figure("atmosphere_Pa", "plan.request.atmosphere", "the local atmosphere, from which gauge pressures count",
           "local atmosphere", CHARGE, 4),
    Figure("volume_m3", "plan.request.volume", "of the whole circuit", "volume of the circuit", CHARGE, 2),
    Figure("charge_mass_g", lambda told: 1e3 * told.plan.mass, "of all that is filled in", "charge", CHARGE, 1),
    Figure("charge", lambda told: charge_records(told), "a list in filling order", rows=(*STEPS, DRAWN)),
    Figure("charged_blend", lambda told: shares(Fluid(told.plan.model, told.plan.composition)),
           "mole fraction of each gas in the charge, and in what circulates"),
    Figure("circulating_blend", lambda told: shares(told.fluid)),
    Figure("charge_by_part", lambda told: by_part(told.plan.inventory), "where it is while the circuit runs; `null` without "
           "`[volumes]`", rows=BY_PART),
    Figure("hold_up_doubts", lambda told: doubt_listing(told.doubts), "what another slip, and half or double the oil, would do",
           rows=DOUBTS),
    Figure("flammable_mass_g", lambda told: 1e3 * told.plan.leak.flammable_mass, "of the gases that burn",
           "of it burns", CHARGE, 1.5),
    Figure("lower_flammable_limit_kg_per_m3", "plan.leak.lower_limit",
           "of the charge at 25 °C and one atmosphere; `null` where nothing burns", "lower flammable limit", ROOM),
    Figure("room_flammability_fraction", "plan.leak.room_share", "share of the lower flammable limit that the room comes to "
           "if all leaks, evenly mixed; `null` without `room_volume`", "the room, if all leaks", ROOM, unit="% of it",
           scale=0.01),
    Figure("charge_limits", lambda told: limit_listing(told.plan), "charges that published standards allow other kinds of "
           "machines, and how much of them this charge is; none where nothing burns, and figures of a room are `null` without `room_volume`", rows=LIMITS),
    Figure("top_ups", lambda told: top_up_listing(told.more), "what a hundredth of the charge more of each bottle "
           "changes; `null` where that is not known", rows=TOP_UPS),
    Figure("top_ups_settled", "more.settled", "true where the fixed machine settles anew with it; false where the "
           "circuit's pressures are held and only the composition changes"),
    replace(WARNINGS, read=lambda told: list(told.plan.warnings)),
)  # fmt: skip


def charge_record(told: Told) -> dict:
    """The figures of a charge, and those of the charge at rest."""
    about = record_of([BLEND_SHARES], {"blend": told.blend})
    return about | record_of(FIGURES, told) | record_of(STANDING_FIGURES, told.plan.rest)


def charge_records(told: Told) -> Listing:
    """One row a bottle, with what comes out of it."""
    model = told.plan.model
    return listing((*STEPS, DRAWN), [(*row, shares(Fluid(model, row[0].bottle.z))) for row in told.rows])


def limit_listing(plan: ChargePlan) -> Listing:
    """One row a published limit."""
    return listing(LIMITS, [(limit, plan.leak.mass) for limit in plan.leak.limits])


def top_up_listing(more: TopUps) -> Listing:
    """One row a bottle."""
    return listing(TOP_UPS, more.rows)


def doubt_listing(doubts) -> Listing:
    """One row a doubt."""
    return listing(DOUBTS, doubts)


def charge_tables(told: Told) -> dict[str, Listing]:
    """The filling, the pressure on the way, and what topping up does."""
    plan = told.plan
    way = filling_curve(plan.model, plan.steps, plan.request)
    return {
        "charge": listing(STEPS, told.rows),
        "filling": listing(CURVE, [(point, plan.request.atmosphere) for point in way]),
        "top_ups": top_up_listing(told.more),
        **({"hold_up_doubts": listing(DOUBTS[:-1], told.doubts)} if told.doubts else {}),
    }


def charge_pictures(told: Told) -> dict[str, Callable]:
    """Gauge pressure against grams."""
    from mixjt.plots.charge_plot import filling_figure

    return {"filling": lambda: filling_figure(told.plan)}


def print_charge(told: Told, record: Mapping) -> None:
    """What to fill in, in which order, how well it is told, and what the whole charge does."""
    about = {"blend": f"{told.blend.text}, in circulation", "model": record["model"]}
    print_title(told.case.title or told.case.file, about)
    print_figures(FIGURES, CHARGE, record)
    steps = listing(STEPS, told.rows)
    steps.show("Let in, in this order", FILL)
    steps.show("How far off that may be (standard deviations)", ERRORS)
    print_figures(STANDING_FIGURES, AT_REST, record)
    if told.plan.leak.limits:
        print_figures(FIGURES, ROOM, record)
        limit_listing(told.plan).show("What standards allow elsewhere; local codes decide")
    print_inventory(told.plan.inventory)
    top_up_listing(told.more).show("What a little more of each changes")
    if told.doubts:
        doubt_listing(told.doubts).show("If slip and oil are other than counted, with the charge as above (below 0 W it stays warmer)")


def print_method(told: Told) -> None:
    """What the figures rest on."""
    settled = "the fixed machine settled anew with it" if told.more.settled else "the composition; pressures are held"
    notes = (
        "all is at the bench's temperature: let it come to rest after each bottle, gas that expands is cold",
        "masses by weight are differences of two readings of the bottle, those by pressure of two readings of the gauge",
        f"bottles of unstated gross_mass: {CYLINDER:g} kg for gas above {HIGH_PRESSURE / 1e5:g} bar, else {CARTRIDGE:g} kg",
        f"what a little more of each changes: {settled}",
        *([READINGS] if told.doubts else []),
    )
    print_notes("How to read this", notes)
