"""Fugacities of gases as pure liquids, above their critical temperature too: what their solubility is counted from.

ln(f/p_critical) = a + b/Tr + c ln Tr + d Tr at no pressure, and f exp(V p/(R T)) at a pressure p. One curve for each
gas, smooth at the critical point: fitted to the fugacity of the saturated liquid by the gas's reference equation, which
it meets within 1 % to 0.9 of the critical temperature and 3 % beyond; and above the critical temperature, where no such
liquid exists, to the one curve that J. M. Prausnitz & F. H. Shair, AIChE J. 7 (1961) 682,
drew through the fugacities of dissolved gases. Of that curve a fit is taken, from memory:
ln(f/p_critical) = 7.81 - 8.06/Tr - 2.94 ln Tr. It lies some 15 % above the saturated liquids near the critical point,
so that what joins the two is good to some 30 % just above it; `mixjt.parts.oil` fits what it multiplies it with to
measured solubilities, which leaves of this error how it changes with temperature.

The table is made anew by ``python -m mixjt.fluid.liquid_fugacity``.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from functools import cache
from importlib.resources import files

import numpy as np

from mixjt.constants import GAS_CONSTANT
from mixjt.errors import InputError
from mixjt.gases.catalogue import gas, gas_names
from mixjt.whole import write_whole

DATA_FILE = "liquid_fugacities.json"
FAR = np.array([1.5, 2.0, 2.5, 3.0])  # reduced temperatures at which the curve of dissolved gases is met
FAR_WEIGHT = 0.1  # against 14 points of the saturated liquid
DILUTE = 1.0  # Pa, a pressure that is the fugacity of the gas
WARMEST = 0.99  # of the critical temperature, the last of them

# Volume that a mole takes up in a solution [m3/mol]: liquids at 25 degC by the reference equations; gases by Prausnitz &
# Shair, from memory; those of neon, R-14 and R-23 assumed, 1.3 times the liquid's at its boiling point.
VOLUMES = {
    "neon": 22e-6, "nitrogen": 32.4e-6, "argon": 57.1e-6, "oxygen": 33.0e-6, "methane": 52e-6, "krypton": 65e-6,
    "tetrafluoromethane": 71e-6, "ethylene": 65e-6, "ethane": 70e-6, "trifluoromethane": 63e-6, "carbon dioxide": 55e-6,
    "propylene": 83.2e-6, "propane": 89.5e-6, "isobutane": 105.5e-6, "n-butane": 101.4e-6, "isopentane": 117.5e-6,
    "n-pentane": 116.1e-6,
}  # fmt: skip


def liquid_volumes(gases: Sequence[str]) -> np.ndarray:
    """Volumes that moles of gases take up in a solution (c,) [m3/mol].

    Raises
    ------
    InputError
        For a fluid that is no gas of the catalogue.
    """
    unknown = next((name for name in gases if name not in VOLUMES), None)
    if unknown is not None:
        raise InputError(f"the solubility of {unknown} in oil is not known here; the gases it is known of: {', '.join(VOLUMES)}")
    return np.array([VOLUMES[name] for name in gases])


def log_liquid_fugacities(gases: Sequence[str], temperature: float, pressure: float) -> np.ndarray:
    """ln(f/Pa) (c,) of gases as pure liquids at a temperature [K] and a pressure [Pa]; errors as `liquid_volumes`."""
    volumes = liquid_volumes(gases)
    critical, logs, coefficients = _rows(tuple(gases))
    return logs + _curve(temperature / critical, coefficients) + volumes * pressure / (GAS_CONSTANT * temperature)


def _terms(reduced) -> np.ndarray:
    reduced = np.asarray(reduced, dtype=float)
    return np.stack([np.ones_like(reduced), 1.0 / reduced, np.log(reduced), reduced], axis=-1)


def _curve(reduced, coefficients) -> np.ndarray:
    return (_terms(reduced) * coefficients).sum(axis=-1)


@cache
def _rows(gases: tuple[str, ...]):
    """Critical temperatures [K], logarithms of critical pressures [Pa] and coefficients (c, 4)."""
    text = files("mixjt.fluid.data").joinpath(DATA_FILE).read_text(encoding="utf-8")
    table, entries = json.loads(text), [gas(name) for name in gases]
    return (
        np.array([entry.critical_temperature for entry in entries]),
        np.log([entry.critical_pressure for entry in entries]),
        np.array([table[name] for name in gases]),
    )


def _fitted(name: str) -> list[float]:
    from mixjt.fluid.pure import pure_model

    model, entry = pure_model(name), gas(name)
    coldest = max(0.6, 1.01 * entry.triple_point_temperature / entry.critical_temperature)
    reduced = np.linspace(coldest, WARMEST, 14)
    logs = []
    for temperature in reduced * entry.critical_temperature:
        state = model.saturated_vapour(float(temperature))
        held = VOLUMES[name] * state.pressure
        dilute = model.state_tp(None, state.temperature, DILUTE)
        gibbs = state.enthalpy - dilute.enthalpy - temperature * (state.entropy - dilute.entropy)
        logs.append(np.log(DILUTE / entry.critical_pressure) + (gibbs - held) / (GAS_CONSTANT * temperature))
    far = 7.81 - 8.06 / FAR - 2.94 * np.log(FAR)
    terms = np.concatenate([_terms(reduced), FAR_WEIGHT * _terms(FAR)])
    return np.linalg.lstsq(terms, np.concatenate([logs, FAR_WEIGHT * far]), rcond=None)[0].tolist()


def main() -> None:
    """Write the table."""
    rows = (f"{json.dumps(name)}: {json.dumps(_fitted(name))}" for name in gas_names())
    write_whole(str(files("mixjt.fluid.data").joinpath(DATA_FILE)), "{\n" + ",\n".join(rows) + "\n}\n")


if __name__ == "__main__":
    main()
