"""Measured bubble pressures of binary pairs, read from a folder of CSV files that is no part of this project.

Columns: T_K, p_Pa, x_<gas> twice (liquid mole fractions), source_key (the DOI) and flags. Such files can be
made from the open ThermoML archive of NIST (https://trc.nist.gov/ThermoML), whose help is acknowledged; cite
the papers.
"""

from __future__ import annotations

import csv
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from mixjt.fluid.bubble_point import bubble_point
from mixjt.fluid.flash.coefficients import blend_record
from mixjt.gases.catalogue import resolve_name

PATTERN = "vle_*.csv"
SECOND_COPY = "_with_y_"  # in the names of files that repeat another one's points beside vapour compositions
NOT_MEASURED = ("suspect_outlier", "digitised_from_figure")
PURE = 1e-4  # mole fraction; a point nearer to a pure gas says nothing about the pair


@dataclass(frozen=True)
class Series:
    """Bubble pressures [Pa] of one paper: temperatures [K] and mole fractions of the first gas in the liquid."""

    gases: tuple[str, str]
    doi: str
    temperature: np.ndarray
    pressure: np.ndarray
    share: np.ndarray

    @property
    def name(self) -> str:
        """The pair and the DOI."""
        return f"{self.gases[0]} + {self.gases[1]}, {self.doi}"


def read_series(folder) -> Iterator[Series]:
    """Every series of a folder, in the order of the files' names; suspect rows and pure gases are left out."""
    for path in sorted(Path(folder).glob(PATTERN)):
        if SECOND_COPY not in path.name:
            yield from _series(path)


def pressure_ratios(series: Series, pair: Callable[[str, str], dict]) -> np.ndarray:
    """Calculated over measured bubble pressure of every point, by the parameters of `pair`.

    NaN where the model has no bubble point, as just below the mixture's critical pressure.
    """
    record = np.array([blend_record(series.gases, pair)])
    points = zip(series.temperature, series.pressure, series.share, strict=True)
    return np.array([bubble_point(record, [x, 1.0 - x], t, p)[0] / p for t, p, x in points])


def _series(path: Path) -> Iterator[Series]:
    with open(path, newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    columns = [name for name in rows[0] if name.startswith("x_")]
    kept = [row for row in rows if not any(flag in row["flags"] for flag in NOT_MEASURED)]
    if len(columns) != 2:
        return
    table = np.array([[float(row[key]) for key in ("T_K", "p_Pa", columns[0])] for row in kept])
    table = table[(table[:, 2] > PURE) & (table[:, 2] < 1.0 - PURE)]
    first, second = (resolve_name(name.removeprefix("x_")) for name in columns)
    yield Series((first, second), rows[0]["source_key"], *table.T)
