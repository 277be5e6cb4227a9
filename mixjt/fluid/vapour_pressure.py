"""Vapour pressures of pure fluids from a small table, where loading a library of equations would take seconds.

The table holds polynomials of ln p in 1/T fitted to the reference equations (`mixjt.fluid.pure`); it is made
anew by ``python -m mixjt.fluid.vapour_pressure``.
"""

from __future__ import annotations

import json
from functools import cache
from importlib.resources import files

import numpy as np
from numpy.polynomial import Chebyshev

from mixjt.errors import UnreachableError
from mixjt.whole import write_whole

DATA_FILE = "vapour_pressures.json"
COLDEST, WARMEST = 0.5, 0.96  # of the critical temperature, where the table ends; no colder than the triple point
DEGREE = 11
NODES = 60


def vapour_pressure(fluid: str, temperature: float) -> float:
    """Pressure [Pa] of the saturated vapour of a fluid of `mixjt.fluid.pure.fluid_names` at a temperature [K].

    Above WARMEST of the critical temperature, that at the end of the table.

    Raises
    ------
    UnreachableError
        Below the table's end.
    """
    row = _table()[fluid]
    if not temperature >= row["coldest_K"]:
        raise UnreachableError(f"{fluid} has no vapour pressure listed at {temperature:.5g} K")
    inverse = 1.0 / np.array([row["warmest_K"], row["coldest_K"]])
    curve = Chebyshev(row["ln_p"], domain=inverse)
    return float(np.exp(curve(1.0 / min(temperature, row["warmest_K"]))))


@cache
def _table() -> dict:
    text = files("mixjt.fluid.data").joinpath(DATA_FILE).read_text(encoding="utf-8")
    return json.loads(text)


def _row(fluid: str) -> dict:
    from mixjt.fluid.pure import pure_model

    model = pure_model(fluid)
    coldest = max(model.facts.triple_temperature * 1.001, COLDEST * model.facts.critical_temperature)
    warmest = WARMEST * model.facts.critical_temperature
    inverse = np.linspace(1.0 / warmest, 1.0 / coldest, NODES)
    logs = np.log([model.saturation_pressure(1.0 / each) for each in inverse])
    fit = Chebyshev.fit(inverse, logs, DEGREE, domain=[inverse[0], inverse[-1]])
    return {"coldest_K": coldest, "warmest_K": warmest, "ln_p": fit.coef.tolist()}


def main() -> None:
    """Write the table."""
    from mixjt.fluid.pure import fluid_names

    rows = (f"{json.dumps(name)}: {json.dumps(_row(name))}" for name in fluid_names())
    write_whole(str(files("mixjt.fluid.data").joinpath(DATA_FILE)), "{\n" + ",\n".join(rows) + "\n}\n")


if __name__ == "__main__":
    main()
