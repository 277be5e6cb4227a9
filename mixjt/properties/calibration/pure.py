"""One gas: alpha function and volume translation of the Soave-Redlich-Kwong equation from pure-fluid data.

The data are CoolProp's reference equations of state: saturation pressure, enthalpy of vaporisation and
saturated-liquid heat capacity from max(60 K, triple point) up, vapour residual enthalpy below the critical
temperature, gas residual enthalpy above it, liquid density at 0.7 Tc. alpha has Twu's form below Tc
(Twu et al., Fluid Phase Equilib. 69 (1991) 33) and exp(c (1 - Tr**d) + e (1 - 1/Tr)**2) above: the form of
Boston and Mathias (1980, from memory) with one more term. c d is Twu's slope at Tc, so that alpha and its
first derivative are continuous.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.optimize import least_squares

from mixjt.constants import GAS_CONSTANT as R
from mixjt.gases import gas
from mixjt.properties.parameters import critical_constants

OMEGA_A, OMEGA_B = critical_constants(1.0)
DELTA1, DELTA2 = 1.0, 0.0
COLDEST = 60.0  # K
WARMEST = 310.0  # K
GAS_PRESSURES = (3e5, 8e5, 15e5)  # Pa
START = (0.2, 0.9, 2.0, 1.0, 0.0)  # L, M, N, d, e


@dataclass(frozen=True)
class PureData:
    """Data of one gas: on the saturation curve (m,), and of the gas at (T, p) pairs (k,); SI units."""

    t_sat: np.ndarray
    p_sat: np.ndarray
    vaporisation: np.ndarray  # J/mol
    liquid_cp: np.ndarray  # J/(mol K), of the saturated liquid at constant pressure, residual part
    t_gas: np.ndarray
    p_gas: np.ndarray
    h_gas: np.ndarray  # J/mol, residual
    t_density: float
    p_density: float
    v_liquid: float  # m3/mol


@dataclass(frozen=True)
class PureFit:
    """Twu's L, M, N, and c, d, e above Tc; translation [m3/mol]; mean deviations as fractions."""

    parameters: tuple[float, ...]
    translation: float
    deviations: dict[str, float]


def pure_data(name: str) -> PureData:
    """Reference values of a gas from CoolProp."""
    from CoolProp import CoolProp

    entry = gas(name)
    state = CoolProp.AbstractState("HEOS", entry.cas)
    tc, pc = state.T_critical(), state.p_critical()
    start = max(min(COLDEST, 0.6 * tc), state.Ttriple() + 0.01)
    t_sat = np.linspace(min(start, 0.6 * tc), 0.97 * tc, 40)
    rows = []
    for t in t_sat:
        state.update(CoolProp.QT_INPUTS, 0.0, t)
        p, liquid, cp = state.p(), state.hmolar(), state.cpmolar() - state.cp0molar()
        state.update(CoolProp.QT_INPUTS, 1.0, t)
        rows.append((p, state.hmolar() - liquid, cp))
    p_sat, vaporisation, liquid_cp = np.array(rows).T
    points = [(t, p) for t in np.linspace(0.65 * tc, max(WARMEST, 1.5 * tc), 40) for p in GAS_PRESSURES]
    gases = []
    for t, p in points:
        if t < 1.1 * tc and p > 0.9 * (pc if t > tc else np.interp(t, t_sat, p_sat)):
            p = (
                0.8 * np.exp(np.interp(1.0 / t, 1.0 / t_sat[::-1], np.log(p_sat)[::-1]))
                if t < tc
                else 0.5 * pc
            )
        state.specify_phase(CoolProp.iphase_gas)
        state.update(CoolProp.PT_INPUTS, p, t)
        gases.append((t, p, state.hmolar_residual()))
        state.unspecify_phase()
    t_gas, p_gas, h_gas = np.unique(np.array(gases), axis=0).T
    state.update(CoolProp.QT_INPUTS, 0.0, max(0.7 * tc, start))
    return PureData(t_sat, p_sat, vaporisation, liquid_cp, t_gas, p_gas, h_gas,
                    state.T(), state.p(), 1.0 / state.rhomolar())  # fmt: skip


def full_parameters(fitted) -> np.ndarray:
    """(L, M, N, d, e) to (L, M, N, c, d, e) with a continuous slope at Tc."""
    ell, m, n, d, e = fitted
    slope = n * (1.0 - m) + ell * n * m
    return np.array([ell, m, n, slope / d, d, e])


def alpha_and_slope(parameters, tr):
    """alpha and T d(alpha)/dT at reduced temperatures tr."""
    ell, m, n, c, d, e = parameters
    below = tr ** (n * (m - 1.0)) * np.exp(ell * (1.0 - tr ** (n * m)))
    above = np.exp(c * (1.0 - tr**d) + e * (1.0 - 1.0 / tr) ** 2)
    slope = np.where(
        tr < 1.0, n * (m - 1.0) - ell * n * m * tr ** (n * m), 2.0 * e * (1.0 - 1.0 / tr) / tr - c * d * tr**d
    )
    value = np.where(tr < 1.0, below, above)
    return value, value * slope


class PureCubic:
    """The Soave-Redlich-Kwong equation of one gas with given alpha parameters, on arrays of states."""

    def __init__(self, name: str, parameters, translation: float = 0.0):
        entry = gas(name)
        self.tc = entry.critical_temperature
        self.a_critical = OMEGA_A * (R * self.tc) ** 2 / entry.critical_pressure
        self.b = OMEGA_B * R * self.tc / entry.critical_pressure
        self.parameters, self.translation = parameters, translation

    def volumes(self, t, p):
        """Liquid and vapour root u = v/b before translation; each by Newton from its own side."""
        alpha, _ = alpha_and_slope(self.parameters, t / self.tc)
        q = self.a_critical * alpha / (self.b * R * t)
        pressure = p * self.b / (R * t)
        root = np.sqrt(np.maximum((q - 1.0) ** 2 - 4.0 * q, 0.0))
        liquid = 2.0 * q / ((q - 1.0) + root)  # the root at zero pressure, free of cancellation
        return _newton(liquid, q, pressure), _newton(np.maximum(1.0 / pressure + 1.0 - q, 3.0), q, pressure)

    def log_phi(self, t, p, u):
        """ln phi at the root u."""
        alpha, _ = alpha_and_slope(self.parameters, t / self.tc)
        q = self.a_critical * alpha / (self.b * R * t)
        z = u * p * self.b / (R * t)
        return z - 1.0 - np.log((u - 1.0) * p * self.b / (R * t)) - q * np.log1p(1.0 / u)

    def residual_enthalpy(self, t, p, u):
        """Residual enthalpy [J/mol], translation included."""
        alpha, slope = alpha_and_slope(self.parameters, t / self.tc)
        e = self.a_critical * (slope - alpha) / self.b
        return u * p * self.b - R * t + e * np.log1p(1.0 / u) - p * self.translation


def _newton(u, q, pressure):
    for _ in range(30):
        value = 1.0 / (u - 1.0) - q / (u * (u + 1.0)) - pressure
        slope = -1.0 / (u - 1.0) ** 2 + q * (2.0 * u + 1.0) / (u * (u + 1.0)) ** 2
        step = -value / slope
        u = np.maximum(u + np.clip(step, -0.3 * (u - 1.0), 0.5 * u), 1.0 + 1e-9)
    return u


def deviations(name: str, fitted, data: PureData) -> dict[str, np.ndarray]:
    """Relative deviations from the data, by quantity; and the translation that meets the density."""
    parameters = full_parameters(fitted)
    cubic = PureCubic(name, parameters)
    t, p = np.array([data.t_density]), np.array([data.p_density])
    cubic.translation = float(cubic.volumes(t, p)[0][0] * cubic.b - data.v_liquid)
    t, p = data.t_sat, data.p_sat
    liquid, vapour = cubic.volumes(t, p)
    z = p * cubic.b / (R * t)
    miss = (cubic.log_phi(t, p, liquid) - cubic.log_phi(t, p, vapour)) / ((vapour - liquid) * z)
    h_liquid = cubic.residual_enthalpy(t, p, liquid)
    vaporisation = cubic.residual_enthalpy(t, p, vapour) - h_liquid
    cp = 0.0
    for sign in (1.0, -1.0):
        near = t * (1.0 + sign * 1e-3)
        cp = cp + sign * cubic.residual_enthalpy(near, p, cubic.volumes(near, p)[0]) / (2e-3 * t)
    t, p = data.t_gas, data.p_gas
    h_gas = cubic.residual_enthalpy(t, p, cubic.volumes(t, p)[1])
    return {
        "saturation pressure": miss,
        "enthalpy of vaporisation": vaporisation / data.vaporisation - 1.0,
        "liquid heat capacity": (cp - data.liquid_cp) / (data.liquid_cp + 3.5 * R),
        "gas residual enthalpy": h_gas / data.h_gas - 1.0,
        "translation": np.array([cubic.translation]),
    }


def fit_pure(name: str) -> PureFit:
    """Fit alpha and translation of one gas."""
    data = pure_data(name)
    reduced = data.t_sat / gas(name).critical_temperature
    scales = {
        "saturation pressure": 0.005 * (1.0 + (1e4 / data.p_sat) ** 0.35),
        "enthalpy of vaporisation": np.where(reduced < 0.85, 0.01, 0.05),
        "liquid heat capacity": np.where(reduced < 0.75, 0.03, 0.5),
        "gas residual enthalpy": np.where(data.t_gas < gas(name).critical_temperature, 0.02, 0.01),
    }

    def residuals(fitted):
        found = deviations(name, fitted, data)
        parts = [found[key] / scale / np.sqrt(found[key].size) for key, scale in scales.items()]
        return np.nan_to_num(np.concatenate(parts), nan=1e2)

    best = min(
        (least_squares(residuals, (ell, *START[1:]), x_scale=(0.1, 0.1, 0.3, 0.3, 0.3), loss="soft_l1",
                       bounds=((0.0, 0.3, 0.2, 0.1, -5.0), (5.0, 1.5, 8.0, 6.0, 5.0))) for ell in (0.1, 0.4)),
        key=lambda result: result.cost,
    )  # fmt: skip
    found = deviations(name, best.x, data)
    summary = {key: float(np.mean(np.abs(found[key]))) for key in scales}
    return PureFit(tuple(full_parameters(best.x).tolist()), float(found["translation"][0]), summary)
