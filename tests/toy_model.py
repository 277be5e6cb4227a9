"""Small property models to test circuits with, independent of the project's own engine.

`PureFluid` takes a single fluid from CoolProp's reference equation, so that whole circuits can be checked
against outside values. `IdealBlend` is a blend whose flash has a closed form: ideal liquid solutions, and
a vapour of which each gas brings its own second virial coefficient. Its numbers mean nothing, but its
states are thermodynamically consistent, with dew and bubble kinks and a glide.
"""

from __future__ import annotations

import math

import CoolProp
import numpy as np
from scipy.optimize import brentq

from mixjt.constants import GAS_CONSTANT, REFERENCE_PRESSURE, REFERENCE_TEMPERATURE
from mixjt.fluid.states import LIQUID, VAPOUR, Phase, PropertyModel, State


class _Toy(PropertyModel):
    """Sweeps by way of `state_tp`, one point at a time."""

    def bubble_pressure(self, z, temperature):
        return math.nan

    dew_pressure = bubble_pressure


class PureFluid(_Toy):
    """One fluid from CoolProp; name is the project's, fluid is CoolProp's."""

    def __init__(self, name: str, fluid: str):
        self.name, self.gases = "coolprop", (name,)
        self._core = CoolProp.AbstractState("HEOS", fluid)
        self.temperature_span = (max(60.0, self._core.Ttriple()), self._core.Tmax())
        self.molar_masses = np.array([self._core.molar_mass()])
        self._saturation = {}
        dilute = 1.0  # Pa, ideal-gas limit for the zeros of enthalpy and entropy
        self._core.update(CoolProp.PT_INPUTS, dilute, REFERENCE_TEMPERATURE)
        self._zero_h = self._core.hmolar()
        self._zero_s = self._core.smolar() - GAS_CONSTANT * math.log(REFERENCE_PRESSURE / dilute)

    def _saturated(self, pressure) -> tuple[float, State, State]:
        """Saturation temperature, saturated liquid and vapour as single-phase states."""
        if pressure not in self._saturation:
            sides = []
            for quality, kind in ((0.0, LIQUID), (1.0, VAPOUR)):
                self._core.update(CoolProp.PQ_INPUTS, pressure, quality)
                sides.append(self._state(((kind, 1.0),)))
            self._saturation[pressure] = (self._core.T(), *sides)
        return self._saturation[pressure]

    def _state(self, kinds, temperature=None, pressure=None) -> State:
        core = self._core
        h, s, v = core.hmolar() - self._zero_h, core.smolar() - self._zero_s, 1.0 / core.rhomolar()
        one = np.ones(1)
        phases = tuple(Phase(kind, share, one, h, s, v, np.zeros(1)) for kind, share in kinds)
        return State(
            core.T() if temperature is None else temperature,
            core.p() if pressure is None else pressure,
            one,
            h,
            s,
            v,
            phases,
        )

    def _two_phase(self, pressure, vapour_share) -> State:
        temperature, liquid, vapour = self._saturated(pressure)
        shares = (vapour_share, 1.0 - vapour_share)
        phases = tuple(
            Phase(
                side.phases[0].kind,
                share,
                np.ones(1),
                side.enthalpy,
                side.entropy,
                side.molar_volume,
                np.zeros(1),
            )
            for side, share in zip((vapour, liquid), shares)
        )

        def mixed(name):
            return sum(share * getattr(side, name) for side, share in zip((vapour, liquid), shares))

        return State(
            temperature,
            pressure,
            np.ones(1),
            mixed("enthalpy"),
            mixed("entropy"),
            mixed("molar_volume"),
            phases,
        )

    def state_tp(self, z, temperature, pressure):
        core = self._core
        kind = VAPOUR
        if pressure < core.p_critical():
            boiling, liquid, vapour = self._saturated(pressure)
            if abs(temperature - boiling) < 1e-8 * boiling:
                return liquid if temperature < boiling else vapour
            kind = LIQUID if temperature < boiling else VAPOUR
            core.specify_phase(CoolProp.iphase_liquid if kind == LIQUID else CoolProp.iphase_gas)
        core.update(CoolProp.PT_INPUTS, pressure, temperature)
        core.unspecify_phase()
        return self._state(((kind, 1.0),), temperature, pressure)

    def state_hp(self, z, enthalpy, pressure):
        return self._inverted("enthalpy", enthalpy, pressure)

    def state_sp(self, z, entropy, pressure):
        return self._inverted("entropy", entropy, pressure)

    def _inverted(self, name, target, pressure):
        low, high = self._core.Ttriple() + 5.0, self._core.Tmax()  # clear of the melting line
        if pressure < self._core.p_critical():
            boiling, liquid, vapour = self._saturated(pressure)
            wet, dry = getattr(liquid, name), getattr(vapour, name)
            if wet <= target <= dry:
                return self._two_phase(pressure, (target - wet) / (dry - wet))
            low, high = (low, boiling * (1 - 1e-9)) if target < wet else (boiling * (1 + 1e-9), high)

        def miss(temperature):
            return getattr(self.state_tp(None, temperature, pressure), name) - target

        return self.state_tp(None, brentq(miss, low, high, xtol=1e-11, rtol=1e-14), pressure)

    def bubble_temperature(self, z, pressure):
        return self._saturated(pressure)[0] if pressure < self._core.p_critical() else math.nan

    dew_temperature = bubble_temperature


# cp0 [J/mol/K], Tc [K], pc [Pa], omega, molar mass [kg/mol]; rounded textbook values
GASES = {
    "nitrogen": (29.1, 126.2, 33.98e5, 0.037, 0.0280134),
    "methane": (35.0, 190.6, 45.99e5, 0.012, 0.016043),
    "ethane": (48.0, 305.3, 48.72e5, 0.100, 0.030069),
    "propane": (65.0, 369.9, 42.51e5, 0.152, 0.044096),
    "isobutane": (85.0, 407.8, 36.29e5, 0.184, 0.058122),
}


class IdealBlend(_Toy):
    """Closed-form blend of gases with constant heat capacity.

    Vapour: v = R T / p + sum y_i B_i, B_i = b_i - a_i / (R T). Liquid: no volume but 1 % of the vapour's
    co-volume scale, ideal solution, saturation ln(P_i / P_c) = 5.373 (1 + omega) (1 - T_c / T), the
    correlation of G. M. Wilson (65th National Meeting of the AIChE, Cleveland, 1969, paper 15C, from memory), taken as the fugacity of the pure liquid.
    """

    def __init__(self, gases):
        self.name, self.gases = "ideal blend", tuple(gases)
        self.temperature_span = (60.0, 600.0)
        cp, tc, pc, omega, mass = np.array([GASES[gas] for gas in gases]).T
        self._cp, self._tc, self._pc, self._slope, self.molar_masses = cp, tc, pc, 5.373 * (1.0 + omega), mass
        self._a = 27.0 / 64.0 * (GAS_CONSTANT * tc) ** 2 / pc  # van der Waals, from the critical point
        self._b = GAS_CONSTANT * tc / (8.0 * pc)

    def _pure_fugacity(self, t):
        return self._pc * np.exp(self._slope * (1.0 - self._tc / t))

    def _phase(self, kind, share, y, t, p) -> Phase:
        logs = np.where(y > 0.0, np.log(np.where(y > 0.0, y, 1.0)), 0.0)
        h = y @ self._cp * (t - REFERENCE_TEMPERATURE)
        s = y @ self._cp * math.log(t / REFERENCE_TEMPERATURE) - GAS_CONSTANT * y @ logs
        if kind == VAPOUR:
            virial = self._b - self._a / (GAS_CONSTANT * t)
            h += p * y @ (self._b - 2.0 * self._a / (GAS_CONSTANT * t))
            s -= GAS_CONSTANT * math.log(p / REFERENCE_PRESSURE) + p * y @ self._a / (GAS_CONSTANT * t**2)
            v = GAS_CONSTANT * t / p + y @ virial
            log_phi = virial * p / (GAS_CONSTANT * t)
        else:
            fugacity = self._pure_fugacity(t)
            h -= GAS_CONSTANT * y @ (self._slope * self._tc)
            s -= GAS_CONSTANT * y @ np.log(fugacity / REFERENCE_PRESSURE)
            s -= GAS_CONSTANT * y @ (self._slope * self._tc) / t
            v, log_phi = 0.0, np.log(fugacity / p)
        return Phase(kind, share, y, float(h), float(s), float(v), log_phi)

    def _ratios(self, t, p):
        """y/x of each gas, independent of composition; the model's vapour is ideal but for its virials."""
        virial = self._b - self._a / (GAS_CONSTANT * t)
        return self._pure_fugacity(t) / p * np.exp(-virial * p / (GAS_CONSTANT * t))

    def state_tp(self, z, temperature, pressure):
        z, k = np.asarray(z, dtype=float), self._ratios(temperature, pressure)
        if z @ k <= 1.0:
            kinds = [(LIQUID, 1.0, z)]
        elif z @ (1.0 / k) <= 1.0:
            kinds = [(VAPOUR, 1.0, z)]
        else:
            share = brentq(
                lambda f: z @ ((k - 1.0) / (1.0 + f * (k - 1.0))), 0.0, 1.0, xtol=1e-15, rtol=1e-14
            )
            x = z / (1.0 + share * (k - 1.0))
            kinds = [(VAPOUR, share, k * x / (k @ x)), (LIQUID, 1.0 - share, x / x.sum())]
        phases = tuple(self._phase(kind, share, y, temperature, pressure) for kind, share, y in kinds)
        h, s, v = (
            sum(phase.fraction * getattr(phase, name) for phase in phases)
            for name in ("enthalpy", "entropy", "molar_volume")
        )
        return State(temperature, pressure, z, h, s, v, phases)

    def state_hp(self, z, enthalpy, pressure):
        return self._inverted(z, "enthalpy", enthalpy, pressure)

    def state_sp(self, z, entropy, pressure):
        return self._inverted(z, "entropy", entropy, pressure)

    def _inverted(self, z, name, target, pressure):
        def miss(temperature):
            return getattr(self.state_tp(z, temperature, pressure), name) - target

        return self.state_tp(z, brentq(miss, 60.0, 800.0, xtol=1e-11, rtol=1e-14), pressure)

    def bubble_temperature(self, z, pressure):
        return brentq(lambda t: z @ self._ratios(t, pressure) - 1.0, 30.0, 800.0, xtol=1e-10)

    def dew_temperature(self, z, pressure):
        return brentq(lambda t: z @ (1.0 / self._ratios(t, pressure)) - 1.0, 30.0, 800.0, xtol=1e-10)


class IdealGas(_Toy):
    """Gases that never condense, p v = R T; they have no enthalpy."""

    def __init__(self, gases):
        self.name, self.gases = "ideal gas", tuple(gases)
        self.temperature_span = (60.0, 600.0)
        self.molar_masses = np.array([GASES[gas][-1] for gas in gases])

    def state_tp(self, z, temperature, pressure):
        v, z = GAS_CONSTANT * temperature / pressure, np.asarray(z, dtype=float)
        phase = Phase(VAPOUR, 1.0, z, 0.0, 0.0, v, np.zeros(len(z)))
        return State(temperature, pressure, z, 0.0, 0.0, v, (phase,))
