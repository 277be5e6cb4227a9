"""Pure working fluids on the reference equations that CoolProp carries, single states only.

For vapour-compression stages, compressor ratings and capillaries, whose fluids go beyond the gases of
blends. `PureModel` answers the single-state part of `mixjt.fluid.states.PropertyModel` with
z = [1.0], so that the same compressor model serves blends and pure fluids.

Source: the equation of state of each fluid as CoolProp cites it (Bell et al., Ind. Eng. Chem. Res. 53
(2014) 2498, doi:10.1021/ie4033999).
"""

from __future__ import annotations

import difflib
import math
from functools import cache

import numpy as np

from mixjt.errors import ConvergenceError, InputError, UnknownGasError, UnreachableError
from mixjt.fluid.states import LIQUID, VAPOUR, FluidFacts, Phase, PropertyModel, State
from mixjt.gases.catalogue import gas, gas_names, resolve_name

NAME = "reference equation"
ZERO_TEMPERATURE, ZERO_PRESSURE = 298.15, 101325.0

# Refrigerants of salvaged machines that are no gases of blends: our name, CoolProp's, safety class of
# ISO 817 (from memory). The last three are blends which CoolProp treats as one pseudo-pure fluid.
REFRIGERANTS = {
    "R-134a": ("R134a", "A1"),
    "R-22": ("R22", "A1"),
    "R-32": ("R32", "A2L"),
    "R-152a": ("R152A", "A2"),
    "R-1234yf": ("R1234yf", "A2L"),
    "R-12": ("R12", "A1"),
    "R-404A": ("R404A", "A1"),
    "R-410A": ("R410A", "A1"),
    "R-407C": ("R407C", "A1"),
}


def fluid_names() -> tuple[str, ...]:
    """Every fluid a stage may use: the catalogue's gases, then the refrigerants outside it."""
    return (*gas_names(), *REFRIGERANTS)


def resolve_fluid(name: str) -> str:
    """The name used here for a gas of the catalogue or a refrigerant ("R134a" is "R-134a").

    Raises
    ------
    UnknownGasError
    """
    plain = {key.replace("-", "").lower(): key for key in REFRIGERANTS}
    found = plain.get(str(name).replace("-", "").replace(" ", "").lower())
    if found:
        return found
    try:
        return resolve_name(name)
    except UnknownGasError as error:
        known = {key.lower(): key for key in REFRIGERANTS}
        near = difflib.get_close_matches(str(name).lower(), known, n=1, cutoff=0.85)
        hint = f"did you mean {known[near[0]]}?" if near else f"refrigerants outside it: {', '.join(REFRIGERANTS)}"
        raise UnknownGasError(f"{error}; {hint}") from None


class PureModel(PropertyModel):
    """One pure fluid; enthalpy and entropy are zero as an ideal gas at 298.15 K (and 101325 Pa).

    Raises
    ------
    UnknownGasError
    InputError
        From every method, for values outside the range of the equation.
    UnreachableError, ConvergenceError
        From every method, where there is no such state or the library found none.
    """

    def __init__(self, fluid: str):
        import CoolProp

        self.fluid = resolve_fluid(fluid)
        self.name = NAME
        self.gases = (self.fluid,)
        self._cp = CoolProp
        identity = REFRIGERANTS[self.fluid][0] if self.fluid in REFRIGERANTS else gas(self.fluid).cas
        self._state = CoolProp.AbstractState("HEOS", identity)
        self.facts = _facts(self.fluid, self._state)
        self.molar_masses = np.array([self.facts.molar_mass])
        self.temperature_span = (self.facts.triple_temperature, self._state.Tmax())
        self._enthalpy_zero, self._entropy_zero = self._zeros()

    def __reduce__(self):
        """In another process the model is made anew, once."""
        return pure_model, (self.fluid,)

    def state_tp(self, z, temperature: float, pressure: float) -> State:
        """State at temperature [K] and pressure [Pa]."""
        return self._at(self._cp.PT_INPUTS, pressure, temperature, temperature=temperature, pressure=pressure)

    def state_hp(self, z, enthalpy: float, pressure: float) -> State:
        """State at enthalpy [J/mol] and pressure [Pa]."""
        h = enthalpy + self._enthalpy_zero
        return self._at(self._cp.HmolarP_INPUTS, h, pressure, enthalpy=enthalpy, pressure=pressure)

    def state_sp(self, z, entropy: float, pressure: float) -> State:
        """State at entropy [J/(mol K)] and pressure [Pa]."""
        s = entropy + self._entropy_zero
        return self._at(self._cp.PSmolar_INPUTS, pressure, s, entropy=entropy, pressure=pressure)

    def saturated_vapour(self, temperature: float) -> State:
        """Saturated vapour at a temperature [K] between triple and critical point."""
        return self._saturated(temperature, 1.0)

    def saturated_liquid(self, temperature: float) -> State:
        """Saturated liquid at a temperature [K] between triple and critical point."""
        return self._saturated(temperature, 0.0)

    def saturation_pressure(self, temperature: float) -> float:
        """Vapour pressure [Pa]; of the saturated vapour where the fluid is a pseudo-pure blend."""
        return self.saturated_vapour(temperature).pressure

    def saturation_temperature(self, pressure: float) -> float:
        """Temperature [K] of saturated vapour at a pressure [Pa] below the critical one."""
        if not pressure < self.facts.critical_pressure:
            raise UnreachableError(
                f"{self.fluid} at {pressure / 1e5:.4g} bar is above its critical pressure of "
                f"{self.facts.critical_pressure / 1e5:.4g} bar and does not condense"
            )
        return self._at(self._cp.PQ_INPUTS, pressure, 1.0, pressure=pressure).temperature

    def bubble_temperature(self, z, pressure: float) -> float:
        """Boiling temperature [K]; NaN above the critical pressure."""
        if not pressure < self.facts.critical_pressure:
            return math.nan
        return self._at(self._cp.PQ_INPUTS, pressure, 0.0, pressure=pressure).temperature

    def dew_temperature(self, z, pressure: float) -> float:
        """Condensing temperature [K]; NaN above the critical pressure."""
        return self.saturation_temperature(pressure) if pressure < self.facts.critical_pressure else math.nan

    def bubble_pressure(self, z, temperature: float) -> float:
        """Vapour pressure [Pa] of the liquid; NaN at the critical temperature and above, and below the triple point."""
        return self.saturated_liquid(temperature).pressure if self._saturates(temperature) else math.nan

    def dew_pressure(self, z, temperature: float) -> float:
        """Vapour pressure [Pa]; NaN at the critical temperature and above, and below the triple point."""
        return self.saturated_vapour(temperature).pressure if self._saturates(temperature) else math.nan

    def transport(self, state: State) -> tuple[float, float]:
        """Viscosity [Pa s] and thermal conductivity [W/(m K)] of a single-phase state.

        Raises
        ------
        ConvergenceError
            Where the library has no transport equation for the fluid.
        """
        try:
            self._state.update(self._cp.DmolarT_INPUTS, 1.0 / state.molar_volume, state.temperature)
            return self._state.viscosity(), self._state.conductivity()
        except ValueError as error:
            raise ConvergenceError(f"transport properties of {self.fluid}", str(error)) from None

    def _read(self, z, temperature: float, pressure: float) -> tuple:
        """As that of any model, without the state: there is one phase, as pressure and temperature are given."""
        self._update(self._cp.PT_INPUTS, pressure, temperature, temperature=temperature, pressure=pressure)
        state, volume = self._state, 1.0 / self._state.rhomolar()
        liquid = float(_kind(state) == LIQUID)
        numbers = state.hmolar() - self._enthalpy_zero, state.smolar() - self._entropy_zero, volume, 1.0 - liquid, liquid * volume
        return *numbers, 1, int(liquid), liquid

    def _saturates(self, temperature: float) -> bool:
        return self.facts.triple_temperature <= temperature < self.facts.critical_temperature

    def _saturated(self, temperature: float, quality: float) -> State:
        facts = self.facts
        if not self._saturates(temperature):
            raise UnreachableError(
                f"{self.fluid} has no saturated state at {temperature:.5g} K: its triple point is at "
                f"{facts.triple_temperature:.5g} K, its critical point at {facts.critical_temperature:.5g} K"
            )
        return self._at(self._cp.QT_INPUTS, quality, temperature, temperature=temperature)

    def _at(self, pair, first: float, second: float, **given) -> State:
        self._update(pair, first, second, **given)
        return self._present_state()

    def _update(self, pair, first: float, second: float, **given) -> None:
        for name, value in given.items():
            if not math.isfinite(value) or (name in ("temperature", "pressure") and value <= 0.0):
                raise InputError(f"{name} of {self.fluid} must be a positive number, got {value}")
        try:
            self._state.update(pair, first, second)
        except ValueError as error:
            text = " ".join(str(error).split())[:160]
            raise UnreachableError(f"{self.fluid} has no state at {_told(given)} ({text})") from None
        if not math.isfinite(self._state.rhomolar()) or self._state.rhomolar() <= 0.0:
            raise ConvergenceError(f"state of {self.fluid}", "try a slightly different state", **given)

    def _present_state(self) -> State:
        state = self._state
        quality = state.Q()
        if 0.0 < quality < 1.0:
            phases = (
                self._phase(VAPOUR, quality, lambda key: state.saturated_vapor_keyed_output(key)),
                self._phase(LIQUID, 1.0 - quality, lambda key: state.saturated_liquid_keyed_output(key)),
            )
        else:
            phases = (self._phase(_kind(state), 1.0, state.keyed_output),)
        return State(
            temperature=state.T(),
            pressure=state.p(),
            composition=np.array([1.0]),
            enthalpy=state.hmolar() - self._enthalpy_zero,
            entropy=state.smolar() - self._entropy_zero,
            molar_volume=1.0 / state.rhomolar(),
            phases=phases,
        )

    def _phase(self, kind: str, fraction: float, value) -> Phase:
        cp = self._cp
        return Phase(
            kind=kind,
            fraction=fraction,
            composition=np.array([1.0]),
            enthalpy=value(cp.iHmolar) - self._enthalpy_zero,
            entropy=value(cp.iSmolar) - self._entropy_zero,
            molar_volume=1.0 / value(cp.iDmolar),
            log_fugacity_coefficients=np.array([math.nan]),  # not needed by those who use pure fluids
        )

    def _zeros(self) -> tuple[float, float]:
        """The library's enthalpy and entropy of the ideal gas at the zero state."""
        density = ZERO_PRESSURE / (self._state.gas_constant() * ZERO_TEMPERATURE)
        self._state.specify_phase(self._cp.iphase_gas)
        self._state.update(self._cp.DmolarT_INPUTS, density, ZERO_TEMPERATURE)
        found = (
            self._state.hmolar() - self._state.hmolar_residual(),
            self._state.smolar() - self._state.smolar_residual(),
        )
        self._state.unspecify_phase()
        return found


@cache
def pure_model(fluid: str) -> PureModel:
    """The model of a fluid, made once."""
    return PureModel(fluid)


def _facts(name: str, state) -> FluidFacts:
    listed = name in REFRIGERANTS
    entry = None if listed else gas(name)
    safety = REFRIGERANTS[name][1] if listed else entry.safety_class
    return FluidFacts(
        name=name,
        triple_temperature=state.Ttriple(),
        critical_temperature=state.T_critical(),
        critical_pressure=state.p_critical(),
        molar_mass=state.molar_mass(),
        safety_class=safety,
        flammable=safety in ("A2L", "A2", "A3") if listed else entry.flammable,
    )


def _kind(state) -> str:
    """Liquid where it is denser than at the critical point and not hotter than it, or else vapour."""
    liquid = state.T() <= state.T_critical() and state.rhomolar() > state.rhomolar_critical()
    return LIQUID if liquid else VAPOUR


def _told(given: dict) -> str:
    return ", ".join(f"{name} {value:.6g}" for name, value in given.items())
