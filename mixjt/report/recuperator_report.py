"""What is said of a rated recuperator: its figures, tables, pictures, and the text on the terminal."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from mixjt.parts.recuperator.heat_transfer import FILM_BAND
from mixjt.parts.recuperator.tube_rating import Rating
from mixjt.report import circuit_report
from mixjt.report.figure import Figure, Listing, curve, evenly, listing, print_figures
from mixjt.report.terminal import number, print_table
from mixjt.studies.recuperator_study import RecuperatorResult

RATING = "Recuperator"
CIRCUIT_KEYS = ("cooling_power_W", "load_W", "mass_flow_g_per_s", "compressor_power_W", "suction_superheat_K")
PROFILE_ROWS = 11  # on the terminal; --out has all of them
BAR = {"unit": "bar", "scale": 1e5}


def _cooling(result: RecuperatorResult, rating: Rating) -> float:
    """Cooling power [W] of another rating at the same flow; may be negative."""
    return (result.solved.pair.low_enthalpy - rating.high_outlet_enthalpy) * rating.molar_flow


def _mass_flow(result: RecuperatorResult) -> float:
    rating = result.solved.rating
    return 1e3 * rating.molar_flow * rating.molar_mass


def _low_share(result: RecuperatorResult) -> float:
    return result.solved.rating.low_drop / result.solved.circuit.suction_pressure


LENGTHS = (
    Figure("length_m", "length", text="length", form=".4g"),
    Figure("smallest_approach_K", "smallest_approach", text="approach", form=".2f"),
    Figure("duty_W", "duty"),
    Figure("cooling_power_W", "cooling_power", text="cooling", form=".2f"),
    Figure("high_drop_Pa", "high_drop", text="drop high", form=".4f", **BAR),
    Figure("low_drop_Pa", "low_drop", text="drop low", form=".4f", **BAR),
)
OFFERS = (
    Figure("norm", "norm", text="norm"),
    Figure("small_diameter_m", "small.outer_diameter"),
    Figure("small_wall_m", "small.wall"),
    Figure("", lambda offer: _size(offer.small), text="small", unit="mm"),
    Figure("large_diameter_m", "large.outer_diameter"),
    Figure("large_wall_m", "large.wall"),
    Figure("", lambda offer: _size(offer.large), text="large", unit="mm"),
    Figure("length_m", "length", text="length", form=".1f"),
    Figure("high_drop_Pa", "high_drop", text="drop high", form=".3f", **BAR),
    Figure("low_drop_Pa", "low_drop", text="drop low", form=".3f", **BAR),
    Figure("low_drop_fraction_of_suction", "suction_share", text="of suction", unit="%", scale=0.01, form=".1f"),
    Figure("return_speed_m_per_s", "suction_speed", text="return", form=".1f"),
    Figure("metal_mass_kg", "mass", text="metal", form=".2f"),
)
FIGURES = (
    Figure("kind", "request.kind", "the coil; whether the length was asked for"),
    Figure("tubes", "solved.rating.tubes.text"),
    Figure("material", "request.material"),
    Figure("length_m", "solved.rating.length", "", "length", RATING, 1),
    Figure("length_found", lambda result: result.request.length is None),
    Figure("smallest_approach_K", "solved.rating.smallest_approach",
           "where the streams come closest, from the cold end", "smallest approach", RATING, 2),
    Figure("pinch_position_m", "solved.rating.pinch_position", "", "  at, from the cold end", RATING, 3),
    Figure("pinch_temperature_K", "solved.rating.pinch_temperature"),
    Figure("circuit_approach_K", "solved.circuit.recuperator_approach",
           "approach at which the circuit gives the same duty"),
    Figure("duty_W", "solved.rating.duty", "heat given by the high side; UA, the sum over the cells", "duty", RATING, 4),
    Figure("recuperator_conductance_W_per_K", "solved.rating.conductance", "", "conductance UA", RATING, 5),
    Figure("cooling_capacity_J_per_mol", "solved.cooling", "with this recuperator, heat leak taken off"),
    Figure("cooling_power_W", "solved.cooling_power"),
    Figure("molar_flow_mol_per_s", "solved.rating.molar_flow", "of the blend"),
    Figure("mass_flow_g_per_s", _mass_flow),
    Figure("high_drop_Pa", "solved.rating.high_drop", "pressure drops", "pressure drop, high side", RATING, 6, **BAR),
    Figure("low_drop_Pa", "solved.rating.low_drop", "", "pressure drop, low side", RATING, 7, **BAR),
    Figure("low_drop_fraction_of_suction", _low_share, "", "  of the suction pressure", RATING, 8, unit="%", scale=0.01),
    Figure("high_outlet_temperature_K", "solved.rating.high_outlet_temperature",
           "throttle inlet, return at the warm end", "throttle inlet", RATING, 9),
    Figure("low_outlet_temperature_K", "solved.rating.low_outlet_temperature", "", "return at the warm end", RATING, 10),
    Figure("high_mass_flux_kg_per_m2_s", "solved.rating.high_flux", "flow; the speed at the warm end",
           "mass flux, high side", RATING, 12),
    Figure("low_mass_flux_kg_per_m2_s", "solved.rating.low_flux", "", "mass flux, low side", RATING, 13),
    Figure("return_speed_m_per_s", lambda result: float(result.solved.rating.low_speed[-1]), "", "  its speed", RATING,
           11),
    Figure("heat_leak_W", "solved.rating.heat_leak", "leak; greatest heat along the walls; metal", "heat leak", RATING,
           14),
    Figure("axial_heat_W", "solved.rating.axial_heat", "", "heat along the walls, at most", RATING, 15),
    Figure("metal_mass_kg", "solved.rating.mass", "", "metal", RATING, 16),
    Figure("film_band_fraction", lambda _: FILM_BAND,
           "the band of the films and what it means at this length, and the lengths that would give the same approach"),
    Figure("smallest_approach_with_weak_films_K", "weak.smallest_approach"),
    Figure("smallest_approach_with_strong_films_K", "strong.smallest_approach"),
    Figure("cooling_power_with_weak_films_W", lambda result: _cooling(result, result.weak)),
    Figure("cooling_power_with_strong_films_W", lambda result: _cooling(result, result.strong)),
    Figure("length_with_weak_films_m", "weak_length"),
    Figure("length_with_strong_films_m", "strong_length"),
    Figure("target_approach_K", "request.approach", "other lengths of the same tubes; tubes one can buy"),
    Figure("lengths", "lengths", "", rows=LENGTHS),
    Figure("offers", "offers", "", rows=OFFERS),
    circuit_report.WARNINGS,
)  # fmt: skip
CELLS = (  # temperatures and pressures are means of a cell's two faces
    Figure("position_m", lambda rating: _middle(rating.position), text="position", form=".3f"),
    Figure("length_m", "cell_length"),
    Figure("high_temperature_K", lambda rating: _middle(rating.high_temperature), text="high side", form=".2f"),
    Figure("low_temperature_K", lambda rating: _middle(rating.low_temperature), text="low side", form=".2f"),
    Figure("high_pressure_Pa", lambda rating: _middle(rating.high_pressure)),
    Figure("low_pressure_Pa", lambda rating: _middle(rating.low_pressure)),
    Figure("high_quality", "high_quality", text="vapour high", unit="kg/kg", form=".3f"),
    Figure("low_quality", "low_quality", text="vapour low", unit="kg/kg", form=".3f"),
    Figure("high_film_W_per_m2_K", "high_film", text="film high", form=".0f"),
    Figure("low_film_W_per_m2_K", "low_film", text="film low", form=".0f"),
    Figure("conductance_W_per_m_K", "cell_conductance"),
    Figure("flux_W_per_m2", "flux", text="flux", form=".2f"),
    Figure("high_reynolds", "high_reynolds"),
    Figure("low_reynolds", "low_reynolds"),
    Figure("high_speed_m_per_s", "high_speed"),
    Figure("low_speed_m_per_s", "low_speed"),
)


def recuperator_tables(result: RecuperatorResult) -> dict[str, Listing]:
    """One row a cell, from the cold end; other lengths of the same tubes; tubes one can buy for the target approach."""
    return {
        "recuperator_cells": curve(CELLS, result.solved.rating),
        "recuperator_lengths": listing(LENGTHS, result.lengths),
        "recuperator_offers": listing(OFFERS, result.offers),
    }


def recuperator_pictures(result: RecuperatorResult) -> dict[str, Callable]:
    """Along the recuperator, and what length buys."""
    from mixjt.plots.exchanger_plot import exchanger_figure, trade_figure

    return {"recuperator": lambda: exchanger_figure(result), "recuperator_trade": lambda: trade_figure(result)}


def about_recuperator(record: Mapping) -> dict[str, str]:
    """Tubes and length in words."""
    goal = f"for an approach of {record['target_approach_K']:.3g} K" if record["length_found"] else "as stated"
    return {"tubes": f"{record['kind']}: {record['tubes']}", "length": f"{record['length_m']:.4g} m, {goal}"}


def print_recuperator(result: RecuperatorResult, record: Mapping) -> None:
    """All tables of a rated recuperator."""
    print_figures(FIGURES, RATING, record)
    circuit_report.print_keys("Circuit with it", CIRCUIT_KEYS, record)
    _print_band(record)
    tables = recuperator_tables(result)
    along = tables["recuperator_cells"]
    along.show("Along the recuperator, from the cold end", picked=evenly(len(along.cells), PROFILE_ROWS))
    tables["recuperator_lengths"].show("Other lengths of the same tubes, at the same flow")
    approach = number(result.request.approach)
    offers = tables["recuperator_offers"]
    offers.show(f"Tubes one can buy (sizes from memory), each for {approach} K, least metal first")


def _print_band(record: Mapping) -> None:
    """What film coefficients less or greater by their band would mean."""
    band = f"{100 * record['film_band_fraction']:.0f} %"
    rows = [
        (f"{word} by {band}", record[f"smallest_approach_with_{name}_films_K"],
         record[f"cooling_power_with_{name}_films_W"], record[f"length_with_{name}_films_m"])
        for word, name in (("less", "weak"), ("greater", "strong"))
    ]  # fmt: skip
    print_table(
        "Correlations of this kind are good to 20-30 %; with film coefficients",
        ("", "approach|K|.2f", "cooling|W|.2f", "length for the same approach|m|.4g"), rows,
    )  # fmt: skip


def _middle(values):
    return 0.5 * (values[1:] + values[:-1])


def _size(tube) -> str:
    return f"{1e3 * tube.outer_diameter:.2f} x {1e3 * tube.wall:.2f}"
