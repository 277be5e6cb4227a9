"""The gas catalogue and the pair parameters as one record and as tables."""

from __future__ import annotations

from collections.abc import Sequence

from mixjt.files.output import Table
from mixjt.gases import gas_names, gas_table, resolve_name
from mixjt.properties.flash.coefficients import pair_rows
from mixjt.properties.models import model_names, pairs_of, require_model
from mixjt.properties.names import DEFAULT

PAIR_COLUMNS = ("gas1", "gas2", "beta_t", "gamma_t", "beta_v", "gamma_v", "F", "function", "source")


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
    return {
        "gases": [row for row in gas_table() if row["gas"] in wanted],
        "model": model,
        "pairs": [{key: row[key] for key in PAIR_COLUMNS} for row in pairs],
        "models": list(model_names()),
    }


def gas_tables(record: dict) -> dict[str, Table]:
    """Gases, pairs and sources."""
    return {"gases": gas_csv(record), "pairs": _table_of(record["pairs"], PAIR_COLUMNS), "sources": source_csv(record)}


def gas_csv(record: dict) -> Table:
    """The catalogue, one row a gas."""
    columns = tuple(key for key in record["gases"][0] if key != "sources")
    return _table_of(record["gases"], columns)


def source_csv(record: dict) -> Table:
    """Where every value comes from, one row a value."""
    rows = [
        (row["gas"], field, source) for row in record["gases"] for field, source in row["sources"].items()
    ]
    return Table(("gas", "value", "source"), tuple(rows))


def _table_of(rows: Sequence[dict], columns: tuple[str, ...]) -> Table:
    return Table(columns, tuple(tuple(row[column] for column in columns) for row in rows))
