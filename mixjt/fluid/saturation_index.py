"""How far each gas of a blend is from freezing out: its fugacity over that of its pure solid.

In an equilibrium state every phase has the same fugacities, so a gas freezes out where its fugacity, taken
from the densest phase, exceeds that of its pure solid. The solid's is that of the pure subcooled liquid by
the same property model times the ratio of `mixjt.fluid.solids`; the model's own error in the vapour
pressure of the pure gas cancels, and what is left is its activity coefficient.
"""

from __future__ import annotations

import math
from weakref import WeakKeyDictionary

import numpy as np

from mixjt.constants import GAS_CONSTANT
from mixjt.errors import ConvergenceError
from mixjt.fluid.flash.coefficients import ENDS
from mixjt.fluid.solids import Solid, log_fugacity_ratio, solid
from mixjt.fluid.states import LIQUID, PropertyModel, State, phase_log_fugacities

LIQUID_PRESSURE = 20e5  # Pa, at which pure liquids are evaluated: above every vapour pressure near melting
ABOVE_MELTING = 15.0  # K, to which pure liquids are tabulated
EXTRAPOLATED = 20.0  # K, that the table may be continued below the last temperature solved
NODES = 25  # temperatures of that table; interpolation then leaves less than 1e-5 of ln f


class Solids:
    """Fugacities of the pure solids of a model's gases; make one with `solids_of`."""

    def __init__(self, model: PropertyModel):
        self.gases = tuple(model.gases)
        self.solids: tuple[Solid, ...] = tuple(solid(name) for name in self.gases)
        self.melting = np.array([one.melting_temperature for one in self.solids])
        self.floor = model.temperature_span[0]

    def log_fugacity(self, model: PropertyModel, i: int, temperature, pressure):
        """ln(f/Pa) of the pure solid of gas i; infinite where it is far above its melting point."""
        temperature = np.asarray(temperature, dtype=float)
        far = temperature > self.melting[i] + ABOVE_MELTING
        if np.all(far):
            return np.full(temperature.shape, np.inf)
        key = (type(model), self.gases[i], self.floor)  # sets of pair parameters share their pure gases
        if key not in _LIQUIDS:
            _LIQUIDS[key] = _PureLiquid(model, i, self.melting[i], self.floor)
        liquid = _LIQUIDS[key].log_fugacity(temperature, pressure)
        return np.where(far, np.inf, liquid + log_fugacity_ratio(self.solids[i], temperature, pressure))


def solids_of(model: PropertyModel) -> Solids:
    """The solids of a model's gases, tabulated once a model.

    Raises
    ------
    MissingDataError
        For a gas whose solid is not described.
    """
    if model not in _KNOWN:
        _KNOWN[model] = Solids(model)
    return _KNOWN[model]


def saturation_index(model: PropertyModel, z, temperatures, pressures) -> np.ndarray:
    """ln(f_i / f_solid,i) of every gas: the gas freezes out where it is above zero.

    Parameters
    ----------
    model : PropertyModel
    z : array (n, c)
        Mole fractions of the blends.
    temperatures, pressures : array (n,)
        [K] and [Pa]

    Returns
    -------
    array (n, c)
        Minus infinity for a gas that is absent, far above its melting point, or melts below the model's floor
        and does not freeze here; NaN where the model could not solve the state.
    """
    z, temperatures, pressures = np.atleast_2d(z), np.atleast_1d(temperatures), np.atleast_1d(pressures)
    return index_of(model, model.careful().log_fugacities(z, temperatures, pressures), temperatures, pressures)


_KNOWN: WeakKeyDictionary = WeakKeyDictionary()
_LIQUIDS: dict[tuple, _PureLiquid] = {}


def index_of(model: PropertyModel, log_f, temperatures, pressures) -> np.ndarray:
    """The saturation index (n, c) of states whose fugacities are known, ln(f/Pa) (n, c); see `saturation_index`."""
    solids, found = solids_of(model), log_f.copy()
    for i in range(found.shape[1]):
        there = np.flatnonzero(np.isfinite(log_f[:, i]))
        if solids.melting[i] < solids.floor:  # neon: its liquid at the floor would be beyond its critical point
            found[there, i] = -math.inf
        elif there.size:
            found[there, i] -= solids.log_fugacity(model, i, temperatures[there], pressures[there])
    return found


class _PureLiquid:
    """ln(f/Pa) and volume [m3/mol] of one pure liquid at LIQUID_PRESSURE over 1/T.

    Equations of state lose the subcooled liquid far below melting (or were never meant to have it); the
    curves end EXTRAPOLATED kelvin below the last temperature at which the model has it.
    """

    def __init__(self, model: PropertyModel, i: int, melting: float, floor: float):
        z = np.zeros(len(model.gases))
        z[i] = 1.0
        inverse, log_f, volume = [], [], []
        coldest = ENDS.get(model.gases[i], min(floor, melting))
        for each in np.linspace(1.0 / (melting + ABOVE_MELTING), 1.0 / coldest, NODES):
            state = _solved(model, z, max(1.0 / each, floor), LIQUID_PRESSURE)
            if state is None or state.phases[-1].kind != LIQUID:
                break
            inverse.append(each)
            log_f.append(phase_log_fugacities(state.phases[-1], state.pressure)[i])
            volume.append(state.phases[-1].molar_volume)
        if len(inverse) < 4:
            raise ConvergenceError(
                f"subcooled liquid of {model.gases[i]}", "leave this gas out", temperature_K=melting
            )
        self.curves = _Spline(inverse, [log_f, volume])
        self.coldest = 1.0 / inverse[-1] - EXTRAPOLATED

    def log_fugacity(self, temperature, pressure):
        inverse = 1.0 / temperature
        log_f, volume = self.curves(inverse)
        compressed = volume * (pressure - LIQUID_PRESSURE) * inverse / GAS_CONSTANT
        return np.where(temperature < self.coldest, np.nan, log_f + compressed)


class _Spline:
    """Cubic splines y (q, n) over n equally spaced points x, not-a-knot at their ends, where the cubics go on.

    As scipy.interpolate.CubicSpline, which takes longer to load than a circuit to solve. Source: de Boor, A Practical
    Guide to Splines (1978), chapter 4, with the second derivatives as unknowns.
    """

    def __init__(self, x, y):
        self.first, self.step, self.y = x[0], (x[-1] - x[0]) / (len(x) - 1), np.asarray(y)
        inner = np.arange(1, len(x) - 1)
        matrix, right = np.zeros((len(x), len(x))), np.zeros(self.y.shape)
        matrix[inner, inner - 1], matrix[inner, inner], matrix[inner, inner + 1] = 1.0, 4.0, 1.0
        right[:, 1:-1] = np.diff(self.y, 2)
        matrix[0, :3] = matrix[-1, -3:] = 1.0, -2.0, 1.0
        self.curvature = np.linalg.solve(matrix, right.T).T  # second derivatives times step squared over six

    def __call__(self, x):
        place = (x - self.first) / self.step
        k = np.clip(np.floor(place).astype(int), 0, self.y.shape[1] - 2)
        after, before = place - k, k + 1 - place
        bent = (before**3 - before) * self.curvature[:, k] + (after**3 - after) * self.curvature[:, k + 1]
        return before * self.y[:, k] + after * self.y[:, k + 1] + bent


def _solved(model, z, temperature: float, pressure: float) -> State | None:
    try:
        return model.state_tp(z, float(temperature), float(pressure))
    except ConvergenceError:
        return None
