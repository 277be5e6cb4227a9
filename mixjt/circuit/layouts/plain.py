"""The plain throttle circuit: compressor, aftercooler, recuperator, throttle, evaporator.

Assumptions: steady flow of one composition; a recuperator into whose low side heat leaks, and whose pressure drops are linear in
the temperature of each side (see `mixjt.parts.recuperator.side`); no pressure drop in the evaporator; an
isenthalpic throttle. The cold temperature is that of the evaporator outlet, the warmest point of the
load; the throttle outlet is colder by the glide. Source: see `mixjt.circuit.pinch` for the pinch formula.
"""

from __future__ import annotations

import numpy as np

from mixjt.circuit.layout import RECUPERATOR, Choice, Layout, Solution, refuse_no_cooling
from mixjt.circuit.section import Leg, Section, section
from mixjt.fluid.states import State
from mixjt.parts import places


class Plain(Layout):
    """The plain circuit with a blend in it."""

    def recuperator(self, last: Solution | None) -> Section:
        """Its one section, with the blend alone."""
        high, low = self.blend_streams(last)
        return section(
            RECUPERATOR,
            [(places.AFTERCOOLER_OUTLET, places.THROTTLE_INLET, high)],
            [(places.EVAPORATOR_OUTLET, places.COMPRESSOR_INLET, low)],
            self.circuit.span,
            self.leak(last),
        )

    def grid_cooling(self, points: int) -> float:
        """The least difference."""
        grid = np.linspace(*self.circuit.span, points)
        return float(self.recuperator(None).difference(self.circuit.recuperator_approach, grid).min())

    def choose(self, points: int, last: Solution | None, turn: int) -> tuple[tuple[Section, ...], Choice]:
        """One section; what its pinch allows."""
        recuperator = self.recuperator(last)
        least = recuperator.least(self.circuit.recuperator_approach, points, also=self.pinches_seen(last))
        refuse_no_cooling(self.circuit, least)
        return (recuperator,), Choice(least.minimum, (least.temperature,))

    def states(self, sections: tuple[Section, ...], choice: Choice) -> dict[str, State]:
        """By the energy balance of the recuperator from both ends."""
        circuit, fluid, leak = self.circuit, self.fluid, sections[0].leak
        throttle = fluid.hp(self.evaporated.enthalpy - choice.cooling - leak.at_cold_end, circuit.throttle_pressure)
        suction = fluid.hp(self.cooled.enthalpy + choice.cooling + leak.total, circuit.suction_pressure)
        return {
            places.COMPRESSOR_INLET: suction,
            places.AFTERCOOLER_OUTLET: self.cooled,
            places.THROTTLE_INLET: throttle,
            places.THROTTLE_OUTLET: fluid.hp(throttle.enthalpy, circuit.evaporator_pressure),
            places.EVAPORATOR_OUTLET: self.evaporated,
        }

    def legs(self, solution: Solution) -> tuple[Leg, ...]:
        """Through the six parts."""
        (recuperator,) = solution.sections
        return (*self.shaft_legs(), *recuperator.high, *self.cold_legs(self.blend), *recuperator.low)
