"""Write the parameter set's two data files, each row with where it comes from."""

from __future__ import annotations

import csv
import io
import json
import os
from pathlib import Path

import mixjt.properties.data
from mixjt.properties.parameters import forget_sets

NAME = "calibrated-srk"
PLAIN = "soave-redlich-kwong"
FOLDER = Path(mixjt.properties.data.__file__).parent
COLUMNS = ("gas1", "gas2", "k0", "k1", "source")
SOURCE = (
    "G. Soave, Chem. Eng. Sci. 27 (1972) 1197-1203; alpha, translations and pairs fitted by "
    "mixjt.properties.calibration.fit, see docs/calibration.md"
)


def write_gases(fits: dict) -> None:
    """Write the JSON file from PureFit records by gas."""
    plain = json.loads((FOLDER / f"{PLAIN}.json").read_text(encoding="utf-8"))
    definition = dict(
        plain, name=NAME, source=SOURCE, pairs=f"{NAME}_pairs.csv",
        gases={name: _gas_entry(fit) for name, fit in fits.items()},
    )  # fmt: skip
    _replace(FOLDER / f"{NAME}.json", json.dumps(definition, indent=1) + "\n")


def write_pairs(rows: list[tuple]) -> None:
    """Write the CSV file from rows (gas1, gas2, k0, k1, source)."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(COLUMNS)
    writer.writerows(rows)
    _replace(FOLDER / f"{NAME}_pairs.csv", text.getvalue())


def _gas_entry(fit) -> dict:
    deviations = ", ".join(f"{key} {100 * value:.1f} %" for key, value in fit.deviations.items())
    return {
        "alpha": {"kind": "twu", "parameters": list(fit.parameters)},
        "translation": fit.translation,
        "source": f"fitted to CoolProp's reference equation of state; mean deviations: {deviations}",
    }


def _replace(path: Path, text: str) -> None:
    partial = path.with_suffix(".partial")
    partial.write_text(text, encoding="utf-8")
    os.replace(partial, path)
    forget_sets()
