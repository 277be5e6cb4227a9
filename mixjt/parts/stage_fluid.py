"""What circulates in a vapour-compression stage: a property model with its composition, saturation remembered.

Evaporating temperature means the dew point at the evaporator's pressure, condensing temperature the bubble
point at the condenser's: with a blend that glides, the ends next to which the approaches are smallest. For a
pure fluid the two are one.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property, lru_cache

from mixjt.errors import UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.pure import PureModel, pure_model
from mixjt.fluid.standstill import standstill_pressure
from mixjt.fluid.states import FluidFacts, State
from mixjt.gases.catalogue import gas, gas_names

PSEUDO_PURE = ("R-404A", "R-407C", "R-410A")  # blends that the library treats as one fluid
ONE = (1.0,)  # the composition of a pure fluid
REMEMBERED = 4096  # saturation states


@dataclass(frozen=True, eq=False)
class StageFluid(Fluid):
    """A fluid of a stage: pure on its reference equation, or a blend of given composition.

    name is by default the gas, or the gases joined. dew_state and bubble_state take a temperature [K] and give the
    saturated vapour and liquid; what they found is remembered.
    """

    name: str = ""

    def __post_init__(self):
        super().__post_init__()
        object.__setattr__(self, "name", self.name or " + ".join(self.gases))

    def __reduce__(self):
        """What is remembered stays here."""
        if isinstance(self.model, PureModel):
            return _pure_fluid, (self.model,)
        return StageFluid, (self.model, self.z, self.name)

    @property
    def facts(self) -> FluidFacts | None:
        """Triple and critical point; None for a blend, whose limits only its model knows."""
        return self.model.facts

    @cached_property
    def flammable(self) -> bool:
        """Whether it, or a gas of the blend, burns."""
        present = [one for one, share in zip(self.gases, self.z, strict=True) if share > 0.0]
        return self.facts.flammable if self.facts else any(gas(one).flammable for one in present)

    @property
    def freezing_temperature(self) -> float | None:
        """Triple point [K]; None where it is not known: of blends, pseudo-pure ones included.

        An equation of state may end above it.
        """
        if self.facts is None or self.name in PSEUDO_PURE:
            return None
        return gas(self.name).triple_point_temperature if self.name in gas_names() else self.facts.triple_temperature

    @cached_property
    def dew_state(self) -> Callable[[float], State]:
        """Saturated vapour at a temperature [K]."""
        return lru_cache(REMEMBERED)(self._dew_state)

    @cached_property
    def bubble_state(self) -> Callable[[float], State]:
        """Saturated liquid at a temperature [K]."""
        return lru_cache(REMEMBERED)(self._bubble_state)

    def superheated(self, temperature: float, superheat: float) -> State:
        """Vapour so many kelvin above its dew point at `temperature` [K], at the dew pressure."""
        dew = self.dew_state(temperature)
        return dew if superheat == 0.0 else self.tp(temperature + superheat, dew.pressure)

    def subcooled(self, temperature: float, subcooling: float) -> State:
        """Liquid so many kelvin below its bubble point at `temperature` [K], at the bubble pressure."""
        bubble = self.bubble_state(temperature)
        return bubble if subcooling == 0.0 else self.tp(temperature - subcooling, bubble.pressure)

    def pressure_at(self, temperature: float, molar_volume: float) -> float:
        """Pressure [Pa] of so much volume a mole [m3/mol] at a temperature [K], one phase or two.

        Raises
        ------
        UnreachableError, ConvergenceError
            As `mixjt.fluid.standstill.standstill_pressure`, the fluid's name in front.
        """
        try:
            return standstill_pressure(self, temperature, molar_volume)
        except UnreachableError as error:
            raise UnreachableError(f"{self.name}: {error}") from None

    def _dew_state(self, temperature: float) -> State:
        if isinstance(self.model, PureModel):
            return self.model.saturated_vapour(temperature)
        return self._boundary(temperature, self.dew_pressure, "dew")

    def _bubble_state(self, temperature: float) -> State:
        if isinstance(self.model, PureModel):
            return self.model.saturated_liquid(temperature)
        return self._boundary(temperature, self.bubble_pressure, "bubble")

    def _boundary(self, temperature: float, find_pressure, kind: str) -> State:
        pressure = float(find_pressure(temperature))
        if not math.isfinite(pressure):
            raise UnreachableError(f"{self.name} has no {kind} point at {temperature:.5g} K")
        return self.tp(temperature, pressure)


def pure_fluid(name: str) -> StageFluid:
    """The stage fluid of a name from `mixjt.fluid.pure.fluid_names`.

    Raises
    ------
    UnknownGasError
    """
    return _pure_fluid(pure_model(name))


@lru_cache
def _pure_fluid(model: PureModel) -> StageFluid:
    return StageFluid(model, ONE)
