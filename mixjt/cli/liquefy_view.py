"""A solved liquefier as people read it on the terminal."""

from __future__ import annotations

from mixjt.blend import Blend
from mixjt.case.case import Case
from mixjt.cli import circuit_view
from mixjt.cli.cautions import cautions
from mixjt.cli.show import print_notes, print_table
from mixjt.cycles.liquefier_records import FLASH_VAPOUR, PRODUCT, LiquefierResult
from mixjt.cycles.liquefier_result import ENRICHED
from mixjt.files.liquefier_records import boil_off_table, pressure_table
from mixjt.studies.band import Band
from mixjt.studies.liquefier import LiquefierReport

# Text, key of the record, unit shown, and how many of the record's units it holds.
LIQUID = (
    ("liquid", "product_kg_per_day", "kg/day", 1),
    ("  by volume", "product_L_per_day", "L/day", 1),
    ("  temperature", "product_temperature_K", "K", 1),
    ("  density", "product_density_kg_per_m3", "kg/m3", 1),
    ("feed", "feed_kg_per_day", "kg/day", 1),
    ("  at 0 degC and 1 atm", "feed_normal_L_per_min", "L/min", 1),
    ("  condenses at", "feed_bubble_point_K", "K", 1),
    ("flash loss", "flash_loss_fraction", "% of feed", 0.01),
    ("  cold vented with it", "vented_cold_W", "W", 1),
    ("  recovering it changes the product by", "recovery_gain_kg_per_day", "kg/day", 1),
    ("evaporator duty", "evaporator_duty_W", "W", 1),
    ("other load", "load_W", "W", 1),
)
ENERGY = (
    ("blend's compressor", "compressor_power_W", "W", 1),
    ("feed's compressor", "feed_compressor_power_W", "W", 1),
    ("blend's compressor alone", "specific_energy_kWh_per_kg", "kWh/kg", 1),
    ("", "specific_energy_kWh_per_L", "kWh/L", 1),
    ("with the feed's compressor", "specific_energy_with_feed_compressor_kWh_per_kg", "kWh/kg", 1),
    ("", "specific_energy_with_feed_compressor_kWh_per_L", "kWh/L", 1),
    ("least work", "least_work_kWh_per_kg", "kWh/kg", 1),
    ("fraction of Carnot", "carnot_fraction", "%", 0.01),
    ("COP of the blend's circuit", "cop", "W/W", 1),
)
OXYGEN = (
    ("in the feed", "feed_oxygen_fraction", "mole %", 0.01),
    ("in the liquid", "product_oxygen_fraction", "mole %", 0.01),
    ("in the flash vapour", "flash_vapour_oxygen_fraction", "mole %", 0.01),
    ("feed's bubble point at product pressure", "bubble_point_at_product_pressure_K", "K", 1),
    ("feed's dew point at product pressure", "dew_point_at_product_pressure_K", "K", 1),
)
FEED_COLUMNS = (
    "place",
    "T|K|.2f",
    "p|bar abs|.3f",
    "h|J/mol|.1f",
    "vapour|mol/mol|.4f",
    "oxygen|mole %|.3f",
    "phases",
)


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


def print_report(case: Case, blend: Blend, report: LiquefierReport, record: dict, band: Band | None) -> None:
    """Heading, figures, states, curves, warnings and cautions."""
    result = report.result
    circuit_view.print_heading(case, blend, result.model, band)
    circuit_view.print_figures("Liquid", LIQUID, record)
    circuit_view.print_figures("Energy", ENERGY, record)
    if result.oxygen(PRODUCT):
        circuit_view.print_figures("Oxygen", OXYGEN, record)
    circuit_view.print_figures("Recuperator", circuit_view.RECUPERATOR, record)
    _print_feed(result)
    circuit_view.print_states(result)
    circuit_view.print_exergy(result)
    if report.curve is not None:
        _print_pressures(report)
    if report.boil_off is not None:
        _print_boil_off(report, record)
    print(_flash_sentence(result))
    print_notes("Warnings", record["warnings"])
    print_notes("Cautions", record["cautions"])


def _print_feed(result: LiquefierResult) -> None:
    rows = []
    for place, state in result.feed_points.items():
        oxygen = 100.0 * (result.oxygen(place) or 0.0)
        values = (state.temperature, state.pressure / 1e5, state.enthalpy, state.vapour_fraction, oxygen)
        rows.append((place.replace("_", " "), *values, state.phase_text))
    print_table("Feed", FEED_COLUMNS, rows)


def _print_pressures(report: LiquefierReport) -> None:
    best, thrifty = report.curve.best.pressure, report.curve.thriftiest.pressure
    rows = []
    for pressure, *values, problem in pressure_table(report.curve).rows:
        notes = [text for at, text in ((best, "most liquid"), (thrifty, "least energy")) if at == pressure]
        notes += [problem] if problem else []
        rows.append((pressure / 1e5, *values, ", ".join(notes)))
    columns = (
        "feed pressure|bar abs|.2f", "liquid|kg/day|.3f", "energy|kWh/kg|.3f", "with feed's compressor|kWh/kg|.3f", "",
    )  # fmt: skip
    print_table("Feed pressures, the machine being the same", columns, rows)


def _print_boil_off(report: LiquefierReport, record: dict) -> None:
    rows = [
        (100.0 * left, 100.0 * oxygen, temperature)
        for left, oxygen, temperature in boil_off_table(report).rows
    ]
    print_table(
        "The liquid as it boils away", ("left|mole %|.0f", "oxygen|mole %|.2f", "boils at|K|.2f"), rows
    )
    left = record["left_when_enriched_fraction"]
    if left is not None:
        print(f"The liquid passes {100 * ENRICHED:.3g} % oxygen when {100 * left:.2g} % of it is left.\n")


def _flash_sentence(result: LiquefierResult) -> str:
    if FLASH_VAPOUR not in result.feed_points:
        return "No vapour flashes off: the liquid arrives colder than it boils."
    share = f"{100 * result.flash_fraction:.3g} mol% of the feed flashes to vapour"
    if result.passage.recover_flash:
        return f"{share}; it returns through the recuperator as extra cooling and leaves warm."
    return f'{share} and is vented cold (recover_flash = "yes" leads it back through the recuperator).'
