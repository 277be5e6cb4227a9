"""Measured bubble points of binary mixtures, read from a folder of CSV files.

Each file ``vle_<gas>_<gas>_<source>.csv`` has the columns T_K, p_Pa, x_<gas>, x_<gas>, source_key
(the DOI) and flags; flagged rows are left out. The values behind the fitted set were converted from the
NIST ThermoML archive; docs/calibration.md lists the papers.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from mixjt.gases import gas_names, resolve_name

HIGHEST_PRESSURE = 4.5e6  # Pa
HIGHEST_TEMPERATURE = 330.0  # K
BUTANE = {"butane": "n-butane", "pentane": "n-pentane"}
BAD = ("pure_endpoint", "T_out_of_scope", "p_gt_60bar", "equals_reference_EOS_value")


@dataclass(frozen=True)
class Measured:
    """Bubble points of a pair: x (m,) is the liquid mole fraction of the first gas; T [K], p [Pa]."""

    gases: tuple[str, str]
    x: np.ndarray
    temperatures: np.ndarray
    pressures: np.ndarray
    sources: tuple[str, ...]


def read_measured(folder: Path) -> dict[tuple[str, str], Measured]:
    """All usable points in a folder, by pair in the order of the catalogue."""
    points: dict[tuple[str, str], list] = {}
    for path in sorted(folder.glob("vle_*.csv")):
        if "_with_y_" in path.name:
            continue  # the same points again
        with path.open(encoding="utf-8") as file:
            for row in csv.DictReader(file):
                _add(points, row)
    return {
        pair: _collected(pair, rows) for pair, rows in sorted(points.items(), key=lambda kv: order(kv[0]))
    }


def order(pair):
    """Sort key: places in the catalogue."""
    names = gas_names()
    return tuple(names.index(name) for name in pair)


def _add(points, row):
    if any(flag in BAD for flag in (row["flags"] or "").split(";")):
        return
    columns = [key[2:] for key in row if key.startswith("x_")]
    names = [resolve_name(BUTANE.get(name, name)) for name in columns]
    x = [float(row[f"x_{name}"]) for name in columns]
    p, t = float(row["p_Pa"]), float(row["T_K"])
    if p > HIGHEST_PRESSURE or t > HIGHEST_TEMPERATURE or not 0.0 < x[0] < 1.0:
        return
    first = 0 if order(names) == tuple(sorted(order(names))) else 1
    pair = (names[first], names[1 - first])
    points.setdefault(pair, []).append((x[first], t, p, row["source_key"]))


def _collected(pair, rows):
    x, t, p, sources = zip(*rows, strict=True)
    return Measured(pair, np.array(x), np.array(t), np.array(p), tuple(sorted(set(sources))))
