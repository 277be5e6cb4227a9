"""What circulates in a vapour-compression stage: a property model with its composition, saturation remembered.

Evaporating temperature means the dew point at the evaporator's pressure, condensing temperature the bubble
point at the condenser's: with a blend that glides, the ends next to which the approaches are smallest. For a
pure fluid the two are one.
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np

from mixjt.errors import UnreachableError
from mixjt.fluid.pure import FluidFacts, PureModel, pure_model
from mixjt.fluid.standstill import standstill_pressure
from mixjt.fluid.states import PropertyModel, State
from mixjt.gases.catalogue import gas, gas_names

PSEUDO_PURE = ("R-404A", "R-407C", "R-410A")  # blends that the library treats as one fluid
REMEMBERED = 4096  # saturation states


class StageFluid:
    """A fluid of a stage: pure on its reference equation, or a blend of given composition.

    Parameters
    ----------
    model : PureModel or PropertyModel
    z : array (c,), optional
        Mole fractions; may be left out for a pure fluid.
    name : str, optional
        By default the gas, or the gases joined.

    Attributes
    ----------
    molar_mass : float
        [kg/mol]
    facts : FluidFacts or None
        Triple and critical point; None for a blend, whose limits only its model knows.
    flammable : bool
    """

    def __init__(self, model: PropertyModel | PureModel, z=(1.0,), name: str = ""):
        self.model = model
        self.z = np.asarray(z, dtype=float)
        self.name = name or " + ".join(model.gases)
        self.molar_mass = float(self.z @ model.molar_masses)
        self.facts: FluidFacts | None = getattr(model, "facts", None)
        present = [one for one, share in zip(model.gases, self.z, strict=True) if share > 0.0]
        self.flammable = self.facts.flammable if self.facts else any(gas(one).flammable for one in present)
        self.dew_state = lru_cache(REMEMBERED)(self._dew_state)
        self.bubble_state = lru_cache(REMEMBERED)(self._bubble_state)

    @property
    def freezing_temperature(self) -> float | None:
        """Triple point [K]; None where it is not known: of blends, pseudo-pure ones included.

        An equation of state may end above it.
        """
        if self.facts is None or self.name in PSEUDO_PURE:
            return None
        return gas(self.name).triple_point_temperature if self.name in gas_names() else self.facts.triple_temperature

    def state_tp(self, temperature: float, pressure: float) -> State:
        """State at temperature [K] and pressure [Pa]."""
        return self.model.state_tp(self.z, temperature, pressure)

    def state_hp(self, enthalpy: float, pressure: float) -> State:
        """State at enthalpy [J/mol] and pressure [Pa]."""
        return self.model.state_hp(self.z, enthalpy, pressure)

    def dew_temperature(self, pressure: float) -> float:
        """[K]; NaN where there is none."""
        return self.model.dew_temperature(self.z, pressure)

    def bubble_temperature(self, pressure: float) -> float:
        """[K]; NaN where there is none."""
        return self.model.bubble_temperature(self.z, pressure)

    def superheated(self, temperature: float, superheat: float) -> State:
        """Vapour so many kelvin above its dew point at `temperature` [K], at the dew pressure."""
        dew = self.dew_state(temperature)
        return dew if superheat == 0.0 else self.state_tp(temperature + superheat, dew.pressure)

    def subcooled(self, temperature: float, subcooling: float) -> State:
        """Liquid so many kelvin below its bubble point at `temperature` [K], at the bubble pressure."""
        bubble = self.bubble_state(temperature)
        return bubble if subcooling == 0.0 else self.state_tp(temperature - subcooling, bubble.pressure)

    def pressure_at(self, temperature: float, molar_volume: float) -> float:
        """Pressure [Pa] of so much volume a mole [m3/mol] at a temperature [K], one phase or two.

        Raises
        ------
        UnreachableError, ConvergenceError
            As `mixjt.fluid.standstill.standstill_pressure`, the fluid's name in front.
        """
        try:
            return standstill_pressure(self.model, self.z, temperature, molar_volume)
        except UnreachableError as error:
            raise UnreachableError(f"{self.name}: {error}") from None

    def _dew_state(self, temperature: float) -> State:
        if isinstance(self.model, PureModel):
            return self.model.saturated_vapour(temperature)
        return self._boundary(temperature, self.model.dew_pressure, "dew")

    def _bubble_state(self, temperature: float) -> State:
        if isinstance(self.model, PureModel):
            return self.model.saturated_liquid(temperature)
        return self._boundary(temperature, self.model.bubble_pressure, "bubble")

    def _boundary(self, temperature: float, find_pressure, kind: str) -> State:
        pressure = float(find_pressure(self.z, temperature))
        if not math.isfinite(pressure):
            raise UnreachableError(f"{self.name} has no {kind} point at {temperature:.5g} K")
        return self.state_tp(temperature, pressure)


def pure_fluid(name: str) -> StageFluid:
    """The stage fluid of a name from `mixjt.fluid.pure.fluid_names`.

    Raises
    ------
    UnknownGasError
    """
    return _pure_fluid(pure_model(name))


@lru_cache
def _pure_fluid(model: PureModel) -> StageFluid:
    return StageFluid(model)
