"""Write the pair tables from the libraries: ``python -m mixjt.properties.data.build``.

Only this module needs thermo; the program itself reads the files written here. The fitted values below
win over the table.
"""

from __future__ import annotations

import csv
import io
import os
from itertools import combinations
from pathlib import Path

from mixjt.gases import gas, gas_names

COLUMNS = ("gas1", "gas2", "k0", "k1", "source")
TABLE = "ChemSep PR"
NOT_LISTED = "none in the table; set to zero"

# Pairs that the table lacks and that no value at all gets badly wrong, fitted to measured bubble pressures
# with the Peng-Robinson equation.
FITTED = {
    ("methane", "tetrafluoromethane"): (0.112, "doi:10.1021/je0604030"),
    ("tetrafluoromethane", "ethane"): (0.154, "doi:10.1021/je050525c"),
    ("trifluoromethane", "ethane"): (0.191, "doi:10.1016/j.fluid.2017.07.002 and doi:10.1021/je0601107"),
    ("trifluoromethane", "propane"): (
        0.199,
        "doi:10.1016/j.jct.2009.06.009 and doi:10.1016/j.jct.2016.12.021",
    ),
    ("trifluoromethane", "n-butane"): (0.19, "doi:10.1016/j.jct.2009.06.009"),
}


def main() -> None:
    """Write the pair tables beside this module."""
    for name in ("soave-redlich-kwong", "peng-robinson"):
        path = Path(__file__).with_name(f"{name}_pairs.csv")
        partial = path.with_suffix(".partial")
        partial.write_text(pair_file(), encoding="utf-8")
        os.replace(partial, path)


def pair_file() -> str:
    """The text of a pair table, one row for each pair of catalogue gases."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(COLUMNS)
    for gas1, gas2 in combinations(gas_names(), 2):
        value, source = _pair(gas1, gas2)
        writer.writerow((gas1, gas2, value, 0.0, source))
    return text.getvalue()


def _pair(gas1: str, gas2: str) -> tuple[float, str]:
    import thermo
    from thermo.interaction_parameters import IPDB

    for names in ((gas1, gas2), (gas2, gas1)):
        if names in FITTED:
            value, source = FITTED[names]
            return value, f"fitted to {source}"
    numbers = [gas(gas1).cas, gas(gas2).cas]
    if not IPDB.has_ip_specific(TABLE, numbers, "kij"):
        return 0.0, NOT_LISTED
    value = float(IPDB.get_ip_specific(TABLE, numbers, "kij"))
    return value, f"thermo {thermo.__version__}, {TABLE} table (DECHEMA), fitted for Peng-Robinson"


if __name__ == "__main__":
    main()
