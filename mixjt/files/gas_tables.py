"""The gas catalogue and the interaction parameters as one record and as tables."""

from __future__ import annotations

from collections.abc import Sequence

from mixjt.files.output import Table
from mixjt.gases import gas_names, gas_table, resolve_name
from mixjt.properties.parameters import DEFAULT_SET, pair_table, parameter_sets


def gas_record(names: Sequence[str] = (), parameter_set: str = DEFAULT_SET) -> dict:
    """Catalogue rows, interaction parameters and names of the property models.

    Parameters
    ----------
    names : sequence of str
        Gases to keep, by any of their names; none means all of them.
    parameter_set : str
        Set whose interaction parameters are listed.

    Raises
    ------
    UnknownGasError, InputError
        For a gas or parameter set that is not known.
    """
    wanted = {resolve_name(name) for name in names} or set(gas_names())
    pairs = [row for row in pair_table(parameter_set) if {row["gas1"], row["gas2"]} <= wanted]
    return {
        "gases": [row for row in gas_table() if row["gas"] in wanted],
        "parameter_set": parameter_set,
        "pairs": pairs,
        "parameter_sets": list(parameter_sets()),
    }


def gas_tables(record: dict) -> dict[str, Table]:
    """Gases, pairs and sources."""
    pairs = _table_of(record["pairs"], ("gas1", "gas2", "k0", "k1", "source"))
    return {"gases": gas_csv(record), "pairs": pairs, "sources": source_csv(record)}


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
