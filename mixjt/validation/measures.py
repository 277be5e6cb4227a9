"""What a property model gives for the quantities of the outside values."""

from __future__ import annotations

import numpy as np
from scipy.optimize import brentq

from mixjt.errors import ConvergenceError, MissingDataError
from mixjt.properties.freezing import freezing_temperature
from mixjt.properties.models import load_model
from mixjt.properties.saturation_index import saturation_index
from mixjt.validation.values import OutsideValue

ONE = np.ones(1)


def measured(value: OutsideValue, model: str) -> float:
    """The model's number for an outside value, in the value's unit.

    Returns NaN where the model has no parameters or no answer.
    """
    try:
        return float(globals()[value.quantity](model, *value.arguments))
    except (MissingDataError, ConvergenceError):
        return float("nan")


def bubble_pressure(model, gases, fractions, temperature):
    """Bubble pressure [Pa]."""
    return load_model(model, gases).bubble_pressure(np.array(fractions), temperature)


def boiling_temperature(model, gases, pressure):
    """Boiling point of a pure gas [K]."""
    return load_model(model, gases).bubble_temperature(ONE, pressure)


def liquefied_fraction(model, warm_temperature):
    """Yield of a simple nitrogen liquefier, 1 and 100 bar: (h_low - h_high) / (h_low - h_liquid)."""
    nitrogen = load_model(model, ("nitrogen",))
    low = nitrogen.state_tp(ONE, warm_temperature, 1e5).enthalpy
    high = nitrogen.state_tp(ONE, warm_temperature, 100e5).enthalpy
    boiling = nitrogen.bubble_temperature(ONE, 1e5)
    liquid = nitrogen.state_tp(ONE, boiling - 1e-4, 1e5).enthalpy
    return (low - high) / (low - liquid)


def liquid_density(model, gases, temperature):
    """Density of the boiling liquid of a pure gas [kg/m3]."""
    return _saturated_density(model, gases, temperature, 1.0 + 1e-6)


def vapour_density(model, gases, temperature):
    """Density of the saturated vapour of a pure gas [kg/m3]."""
    return _saturated_density(model, gases, temperature, 1.0 - 1e-6)


def _saturated_density(model, gases, temperature, factor):
    bound = load_model(model, gases)
    pressure = bound.bubble_pressure(ONE, temperature)
    return bound.molar_masses[0] / bound.state_tp(ONE, temperature, pressure * factor).molar_volume


def lean_liquid(model, gases, temperature):
    """Mole fraction of the first gas in the liquid that holds less of it."""
    return min(_liquid_fractions(model, gases, temperature))


def rich_liquid(model, gases, temperature):
    """Mole fraction of the first gas in the liquid that holds more of it."""
    return max(_liquid_fractions(model, gases, temperature))


def _liquid_fractions(model, gases, temperature):
    """Both liquids of an equimolar pair, at 10 bar, above its bubble pressure."""
    state = load_model(model, gases).state_tp(np.array([0.5, 0.5]), temperature, 10e5)
    if len(state.liquids) < 2:
        return (float("nan"),) * 2
    return [float(phase.composition[0]) for phase in state.liquids]


def eutectic_temperature(model, gases, pressure):
    """Temperature [K] at which the liquid of two gases is in equilibrium with both solids."""
    return _eutectic(model, gases, pressure)[0]


def eutectic_fraction(model, gases, pressure):
    """Mole fraction of the first gas in the liquid in equilibrium with both solids."""
    return _eutectic(model, gases, pressure)[1]


def _eutectic(model, gases, pressure):
    """Temperature and composition where the gas that freezes first changes."""
    bound = load_model(model, gases)

    def first(x):
        return freezing_temperature(bound, [x, 1.0 - x], pressure).freezing_temperature

    def which(x):
        index = saturation_index(bound, [[x, 1.0 - x]], [first(x)], [pressure])[0]
        return index[0] - index[1]

    share = brentq(which, 0.5, 0.85, xtol=1e-4)
    return first(share), share
