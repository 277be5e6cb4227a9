"""The functions one line of Python needs: enthalpies and saturation of many blends at once."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from mixjt.blend import refuse_oxygen_with_fuel
from mixjt.errors import InputError
from mixjt.fluid.model_names import DEFAULT
from mixjt.fluid.models import load_model


def enthalpy(
    gases: Sequence[str], mole_fractions, pressure: float, temperatures, model: str = DEFAULT
) -> np.ndarray:
    """Molar enthalpy of blends along an isobar.

    Parameters
    ----------
    gases : sequence of str, length c
        Names or R-numbers from the catalogue.
    mole_fractions : array, shape (n, c) or (c,)
    pressure : float
        Absolute pressure [Pa].
    temperatures : array, shape (m,)
        [K], 60 to 600.
    model : str
        "multi-fluid" or the name of a set of pair parameters; "cubic", "fast" and "reference", names of earlier days, mean the
        same as the first.

    Returns
    -------
    array, shape (n, m) or (m,)
        Enthalpy [J/mol]; zero for each gas as an ideal gas at 298.15 K.

    Raises
    ------
    InputError
        For unknown gases or models, for numbers out of range, and for oxygen together with a gas that burns.
    ConvergenceError
        Where a phase split could not be solved.

    Examples
    --------
    >>> h = enthalpy(["nitrogen"], [1.0], 1e5, [298.15])
    >>> bool(-10.0 < h[0] < 0.0)  # nearly an ideal gas
    True
    """
    bound = _bound_model(model, gases)
    return _shaped(bound.sweep(np.atleast_2d(mole_fractions), pressure, temperatures).enthalpy, mole_fractions)


def enthalpy_difference(
    gases: Sequence[str], mole_fractions, p_low: float, p_high: float, temperatures, model: str = DEFAULT
) -> np.ndarray:
    """Isothermal enthalpy difference h(T, p_low) - h(T, p_high), positive where throttling cools.

    Parameters are those of enthalpy, with the two absolute pressures [Pa] of a throttle circuit; the
    result has shape (n, m) or (m,) [J/mol]. Its least value over the span of the recuperator bounds the
    cooling per mole: Radebaugh, Proc. 16th Int. Cryogenic Engineering Conf. (1997) 33 (from memory).

    Raises
    ------
    InputError
        As enthalpy, and where p_high does not exceed p_low.
    ConvergenceError
        Where a phase split could not be solved.
    """
    if not p_high > p_low:
        raise InputError(f"the high pressure ({p_high:g} Pa) must exceed the low pressure ({p_low:g} Pa)")
    low = enthalpy(gases, mole_fractions, p_low, temperatures, model)
    return low - enthalpy(gases, mole_fractions, p_high, temperatures, model)


def bubble_pressure(gases: Sequence[str], mole_fractions, temperatures, model: str = DEFAULT) -> np.ndarray:
    """Pressure [Pa] of the first vapour on expanding the liquid, shape (n, m) or (m,); NaN where none."""
    return _saturation("bubble_pressure", gases, mole_fractions, temperatures, model)


def dew_pressure(gases: Sequence[str], mole_fractions, temperatures, model: str = DEFAULT) -> np.ndarray:
    """Pressure [Pa] of the first liquid on compressing the vapour, shape (n, m) or (m,); NaN where none."""
    return _saturation("dew_pressure", gases, mole_fractions, temperatures, model)


def bubble_temperature(gases: Sequence[str], mole_fractions, pressures, model: str = DEFAULT) -> np.ndarray:
    """Temperature [K] of the first vapour on heating at pressures [Pa], shape (n, m) or (m,); NaN where none."""
    return _saturation("bubble_temperature", gases, mole_fractions, pressures, model)


def dew_temperature(gases: Sequence[str], mole_fractions, pressures, model: str = DEFAULT) -> np.ndarray:
    """Temperature [K] of the first liquid on cooling at pressures [Pa], shape (n, m) or (m,); NaN where none."""
    return _saturation("dew_temperature", gases, mole_fractions, pressures, model)


def _saturation(quantity, gases, mole_fractions, places, model):
    solve = getattr(_bound_model(model, gases), quantity)
    blends = np.atleast_2d(np.asarray(mole_fractions, dtype=float))
    values = [[solve(z, float(place)) for place in np.atleast_1d(places)] for z in blends]
    return _shaped(np.array(values), mole_fractions)


def _bound_model(name: str, gases: Sequence[str]):
    refuse_oxygen_with_fuel(gases)
    return load_model(name, gases)


def _shaped(table, mole_fractions):
    return table[0] if np.ndim(mole_fractions) == 1 else table
