"""What is said of a rated recuperator: its figures, tables, pictures, and the text on the terminal."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from mixjt.parts.places import COMPRESSOR_INLET, THROTTLE_INLET
from mixjt.parts.recuperator.heat_transfer import FILM_BAND
from mixjt.report import circuit_report, kinds_report
from mixjt.report.figure import Figure, Listing, curve, evenly, joined, listing, print_figures
from mixjt.report.terminal import number, print_table
from mixjt.studies.recuperator_study import RecuperatorResult

RATING, THROTTLE = "Along its tubes", "Capillary for it"
CIRCUIT_KEYS = (*circuit_report.MACHINE_KEYS, "mass_flow_g_per_s", "compressor_power_W", "suction_superheat_K")
PROFILE_ROWS = 11  # on the terminal; --out has all of them
BAR = circuit_report.BAR


def _low_share(result: RecuperatorResult) -> float:
    return result.solved.circuit.low_side_drop / result.solved.suction_pressure


LENGTHS = (
    Figure("length_m", "length", text="length", form=".4g"),
    Figure("recuperator_conductance_W_per_K", "conductance", text="UA", form=".2f"),
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
    Figure("kind", "request.kind", "the coil; whether its length was asked for"),
    Figure("tubes", "solved.rating.tubes.text"),
    Figure("material", "request.material"),
    Figure("length_found", lambda result: result.request.length is None),
    Figure("duty_W", "solved.recuperator_duty", "heat given by the high side", "duty", RATING, 1),
    Figure("pinch_position_m", "solved.rating.pinch_position", "where the streams come closest, from the cold end",
           "closest at, from the cold end", RATING, 2),
    Figure("low_drop_fraction_of_suction", _low_share, "low-side drop", "low-side drop over suction pressure", RATING, 3,
           unit="%", scale=0.01),
    Figure("high_outlet_temperature_K", f"solved.points.{THROTTLE_INLET}.temperature",
           "throttle inlet, return at the warm end", "throttle inlet", RATING, 4),
    Figure("low_outlet_temperature_K", f"solved.points.{COMPRESSOR_INLET}.temperature", "", "return at the warm end",
           RATING, 5),
    Figure("high_mass_flux_kg_per_m2_s", "solved.rating.high_flux", "flow; the speed at the warm end",
           "mass flux, high side", RATING, 7),
    Figure("low_mass_flux_kg_per_m2_s", "solved.rating.low_flux", "", "mass flux, low side", RATING, 8),
    Figure("return_speed_m_per_s", lambda result: float(result.solved.rating.sections[-1].low_speed[-1]), "",
           "  its speed", RATING, 6),
    Figure("axial_heat_W", "solved.rating.axial_heat", "greatest heat along the walls", "heat along the walls, at most",
           RATING, 9),
    Figure("film_band_fraction", lambda _: FILM_BAND,
           "the band of the films and what it means at this length (`null` where nothing is cooled), and the lengths that "
           "would have the same UA"),
    Figure("smallest_approach_with_weak_films_K", "weak.smallest_approach"),
    Figure("smallest_approach_with_strong_films_K", "strong.smallest_approach"),
    Figure("cooling_power_with_weak_films_W", "weak.cooling_power"),
    Figure("cooling_power_with_strong_films_W", "strong.cooling_power"),
    Figure("length_with_weak_films_m", "weak_length"),
    Figure("length_with_strong_films_m", "strong_length"),
    Figure("lengths", "lengths", "the circuit with other lengths of the same tubes, as far as it cools", rows=LENGTHS),
    Figure("offers", "offers", "tubes one can buy of the same UA, at the same inlets and flow", rows=OFFERS),
    circuit_report.WARNINGS,
)  # fmt: skip
CAPILLARY = (  # of a throttle, where the case has one
    Figure("capillary_diameter_m", "solved.tube.diameter", "the capillary of `[throttle]` for this circuit; `null` without",
           "inner diameter", THROTTLE, unit="mm", scale=1e-3),
    Figure("capillary_length_m", "solved.tube.length", "", "length", THROTTLE),
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
        "recuperator_cells": joined([curve(CELLS, one) for one in result.solved.rating.sections]),
        "recuperator_lengths": listing(LENGTHS, result.lengths),
        "recuperator_offers": listing(OFFERS, result.offers),
    }


def recuperator_pictures(result: RecuperatorResult) -> dict[str, Callable]:
    """Along the recuperator, and what length buys."""
    from mixjt.plots.exchanger_plot import exchanger_figure, trade_figure

    return {"recuperator": lambda: exchanger_figure(result), "recuperator_trade": lambda: trade_figure(result)}


def about_recuperator(record: Mapping) -> dict[str, str]:
    """Tubes and length in words."""
    text = f"{record['recuperator_length_m']:.4g} m, {'found' if record['length_found'] else 'as stated'}"
    cold, warm = (record.get(f"{section}_section_length_m") for section in ("cold", "warm"))
    if warm is not None:
        text += f": cut {cold:.4g} m for the cold section, {warm:.4g} m for the warm one"
    return {"tubes": f"{record['kind']}: {record['tubes']}", "length": text}


def print_recuperator(result: RecuperatorResult, record: Mapping) -> None:
    """All tables of a rated recuperator."""
    circuit_report.print_keys("Machine", CIRCUIT_KEYS, record)
    if record["capillary_length_m"] is not None:
        print_figures(CAPILLARY, THROTTLE, record)
    print_figures(FIGURES, RATING, record)
    kinds_report.print_kind(record)
    _print_band(record)
    tables = recuperator_tables(result)
    along = tables["recuperator_cells"]
    along.show("Along the recuperator, from the cold end", picked=evenly(len(along.cells), PROFILE_ROWS))
    tables["recuperator_lengths"].show("The machine with other lengths of the same tubes")
    conductance = number(result.solved.recuperator_conductance)
    offers = tables["recuperator_offers"]
    offers.show(f"Tubes one can buy (sizes from memory), each for {conductance} W/K, least metal first")


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
        ("", "approach|K|.2f", "cooling|W|.2f", "length for the same UA|m|.4g"), rows,
    )  # fmt: skip


def _middle(values):
    return 0.5 * (values[1:] + values[:-1])


def _size(tube) -> str:
    return f"{1e3 * tube.outer_diameter:.2f} x {1e3 * tube.wall:.2f}"
