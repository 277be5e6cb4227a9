"""What is said of a liquefier: its figures, tables, pictures, cautions, and the text on the terminal."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

from mixjt.blend import Blend
from mixjt.case.case import Case
from mixjt.case.rating_case import guess_warnings
from mixjt.circuit.liquefier_result import DAY, KILOWATT_HOUR, LiquefierResult
from mixjt.circuit.liquefier_warnings import ENRICHED
from mixjt.parts.places import FEED_SUPPLY, FLASH_VAPOUR, PRODUCT
from mixjt.report import circuit_report
from mixjt.report.cautions import cautions
from mixjt.report.figure import Figure, Listing, curve, listing, print_figures, record_of
from mixjt.report.terminal import wrapped
from mixjt.studies.band import Band
from mixjt.studies.liquefier_study import LiquefierReport, specific_energy

LITRES = 1e3  # per m3
NORMAL_VOLUME = 0.022413969545  # m3/mol of ideal gas at 273.15 K and 101325 Pa; CODATA 2018
LIQUID, ENERGY, OXYGEN = "Liquid", "Energy", "Oxygen"
BLEND_ENERGY_KG, BLEND_ENERGY_L = "specific_energy_kWh_per_kg", "specific_energy_kWh_per_L"
ALL_ENERGY_KG, ALL_ENERGY_L = (
    "specific_energy_with_feed_compressor_kWh_per_kg", "specific_energy_with_feed_compressor_kWh_per_L",
)  # fmt: skip


def _litres(result: LiquefierResult) -> float:
    """Liquid drawn off [L/s]."""
    return result.volume_rate * LITRES


def _least_work(result: LiquefierResult) -> float:
    return result.product_least_work / result.product_molar_mass / KILOWATT_HOUR


FIGURES = (  # of the result, then of the report that holds it
    Figure("product_kg_per_day", lambda result: result.mass_rate * DAY, "liquid drawn off", "liquid", LIQUID, 1),
    Figure("product_L_per_day", lambda result: _litres(result) * DAY, "", "  by volume", LIQUID, 2),
    Figure("product_temperature_K", lambda result: result.feed_points[PRODUCT].temperature, "its state", "  temperature",
           LIQUID, 3),
    Figure("product_pressure_Pa", "passage.product_pressure"),
    Figure("product_density_kg_per_m3", "product_density", "", "  density", LIQUID, 4),
    Figure("flash_loss_fraction", "flash_fraction", "share of the feed that flashes (moles), and its mass", "flash loss",
           LIQUID, 8, unit="% of feed", scale=0.01),
    Figure("flash_vapour_kg_per_day", lambda result: result.vented_mass_rate * DAY),
    Figure("flash_recovered", "passage.recover_flash", "whether it returns; cold that leaves with it"),
    Figure("vented_cold_W", "loss_duty", "", "  cold vented with it", LIQUID, 9),
    Figure("feed_pressure_Pa", "passage.pressure", "feed at the recuperator; litres at 0 °C and 1 atm"),
    Figure("feed_temperature_K", "passage.temperature"),
    Figure("feed_kg_per_day", lambda result: result.feed_flow * result.feed_gas.molar_mass * DAY, "", "feed", LIQUID, 5),
    Figure("feed_normal_L_per_min", lambda result: result.feed_flow * NORMAL_VOLUME * LITRES * 60.0, "",
           "  at 273.15 K and 1 atm", LIQUID, 6),
    Figure("feed_per_blend_mol_per_mol", "feed_ratio", "r"),
    Figure("feed_bubble_point_K", "feed_bubble_point", "at the feed's throttle; null above the critical pressure",
           "  condenses at", LIQUID, 7),
    Figure("feed_dew_point_K", "feed_dew_point"),
    Figure("bubble_point_at_product_pressure_K", "product_bubble_point", "of the whole feed",
           "feed's bubble point at product pressure", OXYGEN, 4),
    Figure("dew_point_at_product_pressure_K", "product_dew_point", "", "feed's dew point at product pressure", OXYGEN, 5),
    Figure("evaporator_duty_W", "evaporator_duty", "heat taken up between throttle and evaporator outlet",
           "evaporator duty", LIQUID, 11),
    Figure("feed_compressor_power_W", "feed_power", "electrical", "feed's compressor", ENERGY, 2),
    Figure("total_power_W", "total_power"),
    Figure(BLEND_ENERGY_KG, lambda result: specific_energy(result.compressor_power, result.mass_rate),
           "the blend's compressor alone", "blend's compressor alone", ENERGY, 3),
    Figure(BLEND_ENERGY_L, lambda result: specific_energy(result.compressor_power, _litres(result)), "", "", ENERGY, 4),
    Figure(ALL_ENERGY_KG, lambda result: specific_energy(result.total_power, result.mass_rate), "both",
           "with the feed's compressor", ENERGY, 5),
    Figure(ALL_ENERGY_L, lambda result: specific_energy(result.total_power, _litres(result)), "", "", ENERGY, 6),
    Figure("least_work_kWh_per_kg", _least_work, "w_least", "least work", ENERGY, 7),
    Figure("feed_oxygen_fraction", lambda result: result.oxygen(FEED_SUPPLY), "mole fractions", "in the feed", OXYGEN, 1,
           unit="mole %", scale=0.01),
    Figure("product_oxygen_fraction", lambda result: result.oxygen(PRODUCT), "", "in the liquid", OXYGEN, 2,
           unit="mole %", scale=0.01),
    Figure("flash_vapour_oxygen_fraction", lambda result: result.oxygen(FLASH_VAPOUR), "", "in the flash vapour", OXYGEN,
           3, unit="mole %", scale=0.01),
)  # fmt: skip
PRESSURES = (  # of a point of the curve
    Figure("feed_pressure_Pa", "pressure", text="feed pressure", form=".2f"),
    Figure("product_kg_per_day", lambda point: point.mass_rate * DAY if point.mass_rate else None, text="liquid",
           form=".3f"),
    Figure(BLEND_ENERGY_KG, lambda point: point.circuit_energy / KILOWATT_HOUR if point.mass_rate else None,
           text="energy", form=".3f"),
    Figure(ALL_ENERGY_KG, lambda point: point.total_energy / KILOWATT_HOUR if point.mass_rate else None,
           text="with feed's compressor", form=".3f"),
    Figure("problem", lambda point: None if point.mass_rate else point.problem or None),
)  # fmt: skip
BOIL_OFF = (
    Figure("left_fraction", "left", text="left", unit="mole %", scale=0.01, form=".0f"),
    Figure("oxygen_fraction", "oxygen", text="oxygen", unit="mole %", scale=0.01, form=".2f"),
    Figure("temperature_K", "temperatures", text="boils at", form=".2f"),
)
REPORT_FIGURES = (
    Figure("left_when_enriched_fraction", lambda report: report.boil_off and report.boil_off.left_at(ENRICHED),
           "moles left when the liquid passes 23.5 % oxygen; 1 from the start, null never or above 2 % left"),
    Figure("recovery_gain_kg_per_day",
           lambda report: None if report.recovery_gain is None else report.recovery_gain * DAY,
           "what recovering the flash vapour changes", "  recovering it changes the product by", LIQUID, 10),
    Figure("feed_points", lambda report: feed_points(report.result),
           "the feed in flow order, as `state_points` and `oxygen_fraction`"),
    Figure("best_feed_pressure_Pa", "curve.best.pressure", "from the curve"),
    Figure("best_product_kg_per_day", lambda report: report.curve and report.curve.best.mass_rate * DAY),
    Figure("thriftiest_feed_pressure_Pa", "curve.thriftiest.pressure"),
    Figure("feed_pressures", "curve.points", "null without; `problem` says why a feed pressure yields nothing",
           rows=PRESSURES),
    Figure("boil_off", lambda report: report.boil_off and boil_off_listing(report),
           "the liquid as it boils away; null without", rows=BOIL_OFF),
)  # fmt: skip
CIRCUIT = (  # what the circuit's figures are called here
    Figure("load_W", "load", text="other load", table=LIQUID, rank=12),
    Figure("compressor_power_W", "compressor_power", text="blend's compressor", table=ENERGY, rank=1),
    Figure("carnot_fraction", "carnot_fraction", text="fraction of Carnot", table=ENERGY, rank=8),
    Figure("cop", "cop", text="COP of the blend's circuit", table=ENERGY, rank=9),
)


def liquefier_record(case: Case, report: LiquefierReport) -> dict:
    """A liquefier's figures with those of its circuit, state points, exergy, feed pressures and boil-off."""
    result = report.result
    record = circuit_report.case_record(case, result)
    record["warnings"] = [*result.warnings, *report.warnings, *guess_warnings(case)]  # the load is part of the balance
    return record | record_of(FIGURES, result) | record_of(REPORT_FIGURES, report)


def feed_points(result: LiquefierResult) -> Listing:
    """The feed's states in flow order, one row each."""
    oxygen = Figure("oxygen_fraction", lambda row: result.oxygen(row[0]))
    shown = Figure("", lambda row: 100.0 * (result.oxygen(row[0]) or 0.0), text="oxygen", unit="mole %", form=".3f")
    states = [replaced for one in circuit_report.STATES for replaced in _without_entropy(one, shown)]
    return listing((*states, oxygen), result.feed_points.items())


def _without_entropy(figure: Figure, oxygen: Figure) -> tuple[Figure, ...]:
    """The oxygen stands before the phases, the entropy in the file alone."""
    if figure.key == "entropy_J_per_mol_K":
        return (replace(figure, text=None),)
    return (oxygen, figure) if figure.key == "phases" else (figure,)


def feed_pressures(report: LiquefierReport) -> Listing:
    """Product and specific energy over feed pressures."""
    best, thrifty = report.curve.best.pressure, report.curve.thriftiest.pressure

    def note(point) -> str:
        notes = [text for at, text in ((best, "most liquid"), (thrifty, "least energy")) if at == point.pressure]
        return ", ".join([*notes, *([point.problem] if point.problem and not point.mass_rate else [])])

    return listing((*PRESSURES, Figure("", note, text="")), report.curve.points)


def boil_off_listing(report: LiquefierReport) -> Listing:
    """Oxygen in the liquid that boil-off leaves."""
    return curve(BOIL_OFF, report.boil_off)


def liquefier_tables(report: LiquefierReport) -> dict[str, Listing]:
    """For files."""
    result = report.result
    tables = {
        "state_points": circuit_report.state_points(result),
        "feed_points": feed_points(result),
        "exergy": circuit_report.exergy_parts(result),
        "pinch": circuit_report.pinch_listing(result.pinch),
    }
    if report.curve is not None:
        tables["feed_pressures"] = feed_pressures(report)
    if report.boil_off is not None:
        tables["boil_off"] = boil_off_listing(report)
    return tables


def liquefier_pictures(report: LiquefierReport, band: Band | None) -> dict[str, Callable]:
    """The recuperator's three streams, product over feed pressure, and boil-off."""
    from mixjt.plots import liquefier_plot as plots

    pictures = {"pinch": lambda: plots.composite_figure(report.result)}
    if report.curve is not None:
        pictures["feed_pressures"] = lambda: plots.pressure_figure(report.result, report.curve, band)
    if report.boil_off is not None:
        pictures["boil_off"] = lambda: plots.boil_off_figure(report.boil_off)
    return pictures


def all_cautions(blend: Blend, result: LiquefierResult) -> list[str]:
    """The circuit's cautions, those of liquid nitrogen first."""
    coldest = min(state.temperature for state in (*result.points.values(), *result.feed_points.values()))
    highest = max(result.discharge_pressure, result.passage.pressure)
    choking = (
        "Asphyxiation: a litre of liquid nitrogen makes about 700 L of gas, and the vented vapour too drives the "
        "air out of a small room, without smell or warning. Ventilate, use an oxygen alarm."
    )
    enriched = (
        "Oxygen enrichment: nitrogen left open to air takes up oxygen, and what is left of a boiled-off liquid with "
        f"oxygen in it can pass {100 * ENRICHED:.3g} %. Keep oil, cloth and foam away; discard old liquid outdoors."
    )
    closed = "Never close a vessel of cold liquid without a relief valve; cold liquid freezes skin and eyes at once."
    own = [choking, enriched, closed]
    if result.oxygen(PRODUCT):
        own.insert(
            1, "This liquid is not pure nitrogen: do not use it where its oxygen may burn or build up."
        )
    return own + cautions(blend.gases, blend.fractions, highest, coldest)


def print_report(case: Case, blend: Blend, report: LiquefierReport, record: Mapping, band: Band | None) -> None:
    """Heading, figures, states, curves, warnings and cautions."""
    result = report.result
    circuit_report.print_heading(case, blend, record, band)
    for table in (LIQUID, ENERGY, *([OXYGEN] if result.oxygen(PRODUCT) else [])):
        print_figures((*FIGURES, *REPORT_FIGURES, *CIRCUIT), table, record)
    print_figures(circuit_report.FIGURES, circuit_report.RECUPERATOR, record)
    feed_points(result).show("Feed")
    circuit_report.print_states(result)
    if report.curve is not None:
        feed_pressures(report).show("Feed pressures, the machine being the same")
    if report.boil_off is not None:
        boil_off_listing(report).show("The liquid as it boils away")
        left = record["left_when_enriched_fraction"]
        if left is not None:
            print(f"The liquid passes {100 * ENRICHED:.3g} % oxygen when {100 * left:.2g} % of it is left.\n")
    print(wrapped("", _flash_sentence(result)))
    circuit_report.print_closing(record["warnings"], record["cautions"], band.warnings if band else ())


def _flash_sentence(result: LiquefierResult) -> str:
    if FLASH_VAPOUR not in result.feed_points:
        return "No vapour flashes off: the liquid arrives colder than it boils."
    share = f"{100 * result.flash_fraction:.3g} mol% of the feed flashes to vapour"
    if result.passage.recover_flash:
        return f"{share}; it returns through the recuperator as extra cooling and leaves warm."
    return f'{share} and is vented cold (recover_flash = "yes" leads it back through the recuperator).'
