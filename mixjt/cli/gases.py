"""The command `mixjt gases`."""

from __future__ import annotations

from typing import Annotated

import typer

from mixjt.cli.options import JsonOutput, OutDirectory
from mixjt.properties.names import DEFAULT

# Column of the terminal table: heading with its unit, key of the catalogue row.
COLUMNS = {
    "gas": "gas",
    "number": "r_number",
    "formula": "formula",
    "molar mass|g/mol": "molar_mass_g_per_mol",
    "boils|K": "normal_boiling_point_K",
    "triple|K": "triple_point_K",
    "critical|K": "critical_temperature_K",
    "critical|bar": "critical_pressure_bar",
    "acentric|factor": "acentric_factor",
    "fusion|J/mol": "enthalpy_of_fusion_J_per_mol",
    "class|ISO 817": "safety_class",
    "burns in air|above %": "lower_flammable_limit_percent",
    "GWP|100 years": "gwp100",
}


def gases(
    names: Annotated[
        list[str] | None,
        typer.Argument(metavar="GAS", help="Only these gases, with the source of each value."),
    ] = None,
    out: OutDirectory = None,
    json: JsonOutput = False,
    model: Annotated[
        str, typer.Option("--model", metavar="NAME", help="Property model whose pair parameters are shown.")
    ] = DEFAULT,
) -> int:
    """List the gases and how their pairs interact.

    Name some gases to see only these, with the source of every value. A name is English or an R-number.

    \b
    Example
      mixjt gases nitrogen R-290
    """
    from mixjt.cli.deliver import deliver
    from mixjt.files.gas_tables import gas_record, gas_tables
    from mixjt.files.output import checked_directory

    checked_directory(out)
    record = gas_record(names or (), model)
    return deliver(
        record, lambda: _print(record, with_sources=bool(names)), json, out, lambda: gas_tables(record)
    )


def _print(record: dict, with_sources: bool) -> None:
    from mixjt.cli.show import print_notes, print_table

    rows = [[row[key] for key in COLUMNS.values()] for row in record["gases"]]
    print_table("Gases", list(COLUMNS), rows)
    if with_sources:
        sources = [(row["gas"], *item) for row in record["gases"] for item in row["sources"].items()]
        print_table("Sources", ("gas", "value", "source"), sources)
    if record["pairs"]:
        title = f"Reducing parameters of pairs, and weight F of the departure function, of {record['model']}"
        figures = ("beta_t", "gamma_t", "beta_v", "gamma_v", "F")
        pairs = [
            (f"{row['gas1']} + {row['gas2']}", *(row[key] for key in figures), row["source"]) for row in record["pairs"]
        ]
        heads = ("beta T", "gamma T", "beta v", "gamma v")
        print_table(title, ("pair", *(f"{head}||.4f" for head in heads), "F||.3g", "source"), pairs)
    print_notes("Property models, for --model", record["models"])
