"""The command `mixjt gases`."""

from __future__ import annotations

from typing import Annotated

import typer

from mixjt.cli.options import JsonOutput, OutDirectory

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
    parameters: Annotated[
        str | None,
        typer.Option("--model", metavar="NAME", help="Parameter set whose interaction parameters are shown."),
    ] = None,
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
    from mixjt.properties.parameters import DEFAULT_SET

    chosen = DEFAULT_SET if parameters in (None, "fast") else parameters
    checked_directory(out)
    record = gas_record(names or (), chosen)
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
        title = f"Interaction parameters kij = k0 + k1 (150 K/T - 1) of {record['parameter_set']}"
        pairs = [
            (f"{row['gas1']} + {row['gas2']}", row["k0"], row["k1"], row["source"]) for row in record["pairs"]
        ]
        print_table(title, ("pair", "k0", "k1", "source"), pairs)
    models = ["fast (the first parameter set)", "reference (CoolProp's multi-fluid equations)"]
    print_notes("Property models, for --model", [*models, *record["parameter_sets"]])
