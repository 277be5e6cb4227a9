"""The gas catalogue and the pair parameters as one record, as tables, and as text on the terminal."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from mixjt.fluid.flash.coefficients import pair_rows
from mixjt.fluid.model_names import DEFAULT
from mixjt.fluid.models import model_names, pairs_of, require_model
from mixjt.gases import gas_names, gas_table, resolve_name
from mixjt.report.figure import EVERY, Figure, Listing, listing, record_of
from mixjt.report.terminal import print_notes

PROPERTIES, HAZARDS = "Gases", "Gases: fire and climate"
SHOWN = (  # of a row of the catalogue
    Figure("gas", "gas", text="gas", table=EVERY),
    Figure("r_number", "r_number", text="number", table=EVERY),
    Figure("formula", "formula", text="formula", table=HAZARDS),
    Figure("molar_mass_g_per_mol", "molar_mass_g_per_mol", text="molar mass", table=PROPERTIES),
    Figure("normal_boiling_point_K", "normal_boiling_point_K", text="boils", table=PROPERTIES),
    Figure("triple_point_K", "triple_point_K", text="triple", table=PROPERTIES),
    Figure("critical_temperature_K", "critical_temperature_K", text="critical", table=PROPERTIES),
    Figure("critical_pressure_bar", "critical_pressure_bar", text="critical", table=PROPERTIES),
    Figure("acentric_factor", "acentric_factor", text="acentric", table=PROPERTIES, unit="factor"),
    Figure("enthalpy_of_fusion_J_per_mol", "enthalpy_of_fusion_J_per_mol", text="fusion", table=PROPERTIES),
    Figure("safety_class", "safety_class", text="class", table=HAZARDS, unit="ISO 817"),
    Figure("lower_flammable_limit_percent", "lower_flammable_limit_percent", text="burns in air", table=HAZARDS,
           unit="above %"),
    Figure("gwp100", "gwp100", text="GWP", table=HAZARDS, unit="100 years"),
)  # fmt: skip
PAIRS = (
    Figure("gas1", "gas1"),
    Figure("gas2", "gas2"),
    Figure("", lambda row: f"{row['gas1']} + {row['gas2']}", text="pair"),
    Figure("beta_t", "beta_t", text="beta T", form=".4f"),
    Figure("gamma_t", "gamma_t", text="gamma T", form=".4f"),
    Figure("beta_v", "beta_v", text="beta v", form=".4f"),
    Figure("gamma_v", "gamma_v", text="gamma v", form=".4f"),
    Figure("F", "F", text="F", form=".3g"),
    Figure("function", "function"),
    Figure("source", "source", text="source"),
)
FIGURES = (
    Figure("gases", "gases", "rows of the catalogue, with the source of each value"),
    Figure("model", "model", "whose pair parameters are listed"),
    Figure("pairs", "pairs", "reducing parameters and departure function of each", rows=PAIRS),
    Figure("models", "models", "names of all property models"),
)
SOURCES = (  # of (gas, value, source)
    Figure("gas", lambda row: row[0], text="gas"),
    Figure("value", lambda row: row[1], text="value"),
    Figure("source", lambda row: row[2], text="source"),
)


def gas_record(names: Sequence[str] = (), model: str = DEFAULT) -> dict:
    """Catalogue rows, pair parameters and names of the property models.

    Parameters
    ----------
    names : sequence of str
        Gases to keep, by any of their names; none means all of them.
    model : str
        Whose pair parameters are listed.

    Raises
    ------
    UnknownGasError, InputError
        For a gas or model that is not known.
    """
    model = require_model(model)
    wanted = {resolve_name(name) for name in names} or set(gas_names())
    pair = pairs_of(model)
    pairs = [pair(row["gas1"], row["gas2"]) for row in pair_rows() if {row["gas1"], row["gas2"]} <= wanted]
    rows = [row for row in gas_table() if row["gas"] in wanted]
    return record_of(FIGURES, {"gases": rows, "model": model, "pairs": pairs, "models": list(model_names())})


def gas_tables(record: Mapping) -> dict[str, Listing]:
    """The catalogue, one row a gas; pairs; and where every value comes from."""
    columns = [Figure(key, key) for key in record["gases"][0] if key != "sources"]
    return {
        "gases": listing(columns, record["gases"]),
        "pairs": listing(PAIRS, record["pairs"]),
        "sources": sources(record),
    }


def sources(record: Mapping) -> Listing:
    """Where every value comes from, one row a value."""
    return listing(SOURCES, [(row["gas"], *item) for row in record["gases"] for item in row["sources"].items()])


def print_gases(record: Mapping, with_sources: bool) -> None:
    """Catalogue, sources, pairs and models."""
    for table in (PROPERTIES, HAZARDS):
        listing(SHOWN, record["gases"]).show(table, table)
    if with_sources:
        sources(record).show("Sources")
    if record["pairs"]:
        title = f"Reducing parameters of pairs, and weight F of the departure function, of {record['model']}"
        listing(PAIRS, record["pairs"]).show(title)
    print_notes("Property models, for --model", record["models"])
