"""What the property model gives for the quantities of the outside values."""

from __future__ import annotations

import numpy as np
from scipy.optimize import brentq

from mixjt.circuit.curves import difference_curve
from mixjt.errors import ConvergenceError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.freezing_points import freezing_temperature
from mixjt.fluid.models import DEFAULT, load_model
from mixjt.fluid.saturation_index import saturation_index
from mixjt.validation.values import OutsideValue

ONE = np.ones(1)


def measured(value: OutsideValue) -> float:
    """The model's number for an outside value, in the value's unit; NaN where it has no answer."""
    try:
        return float(globals()[value.quantity](*value.arguments))
    except ConvergenceError:
        return float("nan")


def _model(gases):
    return load_model(DEFAULT, gases)


def bubble_pressure(gases, fractions, temperature):
    """Bubble pressure [Pa]."""
    return _model(gases).bubble_pressure(np.array(fractions), temperature)


def boiling_temperature(gases, pressure):
    """Boiling point of a pure gas [K]."""
    return _model(gases).bubble_temperature(ONE, pressure)


def liquefied_fraction(warm_temperature):
    """Yield of a simple nitrogen liquefier, 1 and 100 bar: (h_low - h_high) / (h_low - h_liquid)."""
    nitrogen = _model(("nitrogen",))
    low = nitrogen.state_tp(ONE, warm_temperature, 1e5).enthalpy
    high = nitrogen.state_tp(ONE, warm_temperature, 100e5).enthalpy
    boiling = nitrogen.bubble_temperature(ONE, 1e5)
    liquid = nitrogen.state_tp(ONE, boiling - 1e-4, 1e5).enthalpy
    return (low - high) / (low - liquid)


def liquid_density(gases, temperature):
    """Density of the boiling liquid of a pure gas [kg/m3]."""
    return _saturated_density(gases, temperature, 1.0 + 1e-6)


def vapour_density(gases, temperature):
    """Density of the saturated vapour of a pure gas [kg/m3]."""
    return _saturated_density(gases, temperature, 1.0 - 1e-6)


def _saturated_density(gases, temperature, factor):
    bound = _model(gases)
    pressure = bound.bubble_pressure(ONE, temperature)
    return bound.molar_masses[0] / bound.state_tp(ONE, temperature, pressure * factor).molar_volume


def lean_liquid(gases, temperature):
    """Mole fraction of the first gas in the liquid that holds less of it."""
    return min(_liquid_fractions(gases, temperature))


def rich_liquid(gases, temperature):
    """Mole fraction of the first gas in the liquid that holds more of it."""
    return max(_liquid_fractions(gases, temperature))


def _liquid_fractions(gases, temperature):
    """Both liquids of an equimolar pair, at 10 bar, above its bubble pressure."""
    state = _model(gases).state_tp(np.array([0.5, 0.5]), temperature, 10e5)
    if len(state.liquids) < 2:
        return (float("nan"),) * 2
    return [float(phase.composition[0]) for phase in state.liquids]


def cooling_limit(gases, fractions, pressures, span):
    """Least isothermal enthalpy difference of a blend over a span of temperatures [J/g]."""
    fluid = Fluid(_model(gases), np.array(fractions))
    low, high = pressures
    return difference_curve(fluid, low, high, span, 64).minimum / (1e3 * fluid.molar_mass)


def eutectic_temperature(gases, pressure):
    """Temperature [K] at which the liquid of two gases is in equilibrium with both solids."""
    return _eutectic(gases, pressure)[0]


def eutectic_fraction(gases, pressure):
    """Mole fraction of the first gas in the liquid in equilibrium with both solids."""
    return _eutectic(gases, pressure)[1]


def _eutectic(gases, pressure):
    """Temperature and composition where the gas that freezes first changes."""
    bound = _model(gases)

    def first(x):
        return freezing_temperature(Fluid(bound, [x, 1.0 - x]), pressure).freezing_temperature

    def which(x):
        index = saturation_index(bound, [[x, 1.0 - x]], [first(x)], [pressure])[0]
        return index[0] - index[1]

    share = brentq(which, 0.5, 0.85, xtol=1e-4)
    return first(share), share
