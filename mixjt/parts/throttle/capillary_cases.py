"""Questions about a capillary beyond one march: heat to the return line, tolerance and debris.

A tube soldered to the cold return line gives it heat along its length; the heat counts as spread evenly over the
tube. What the return line can take at each place is not worked out: more heat than would bring the inlet to the
return line's temperature is refused, and so is a tube of which more than half is colder than the return line.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from mixjt.errors import ConvergenceError, InputError, UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.states import State
from mixjt.keys import key
from mixjt.parts.throttle.capillary import Capillary, CapillaryMarch, flow_of_length, length_of_flow, march
from mixjt.parts.throttle.expansion import ExpansionLine, expansion_line

HEAT_ROUNDS = 40
HEAT_TOLERANCE = 1e-6  # relative, of flow or length between rounds


@dataclass(frozen=True)
class Exchange:
    """Heat from the tube to the return line: either per length [W/m of each tube], or an effectiveness.

    With an effectiveness the heat per mole is that share of what would bring the inlet stream, at its own pressure,
    to return_temperature [K]. With a heat per length, return_temperature only bounds what is possible.
    """

    heat_per_length: float | None = key(
        "heat_per_length", "heat that each tube gives to a return line it is soldered to", at="heat_to_return",
        default=None, within="(0, 1e4]", otherwise="none",
    )
    effectiveness: float | None = key(
        "fraction", "instead of heat_to_return: share of the heat that would bring the inlet to the evaporator outlet",
        at="return_effectiveness", default=None, within="(0, 1)", otherwise="none",
    )
    return_temperature: float | None = None

    def __post_init__(self):
        if (self.heat_per_length is None) == (self.effectiveness is None):
            raise InputError("heat to the return line needs either a heat per length or an effectiveness")
        if self.effectiveness is not None and self.return_temperature is None:
            raise InputError("an effectiveness of the heat to the return line needs the return temperature")
        if self.effectiveness is not None and not 0.0 < self.effectiveness < 1.0:
            raise InputError(f"the effectiveness must be above 0 and below 1, got {self.effectiveness}")
        if self.heat_per_length is not None and not 0.0 < self.heat_per_length < 1e6:
            raise InputError(f"the heat per length must be above 0 W/m, got {self.heat_per_length}")


@dataclass(frozen=True)
class ThrottleFlow:
    """A tube with its flow: the line it was marched on, mass flow [kg/s] of all tubes, heat given off [J/mol].

    crossing is the position [m] from which on the tube is colder than its return line; None where it nowhere is, or
    nothing is known of a return line.
    """

    tube: Capillary
    line: ExpansionLine
    mass_flow: float
    march: CapillaryMarch
    heat: float
    crossing: float | None = None


def solve_flow(fluid: Fluid, inlet: State, outlet_pressure: float, tube: Capillary,
               exchange: Exchange | None = None, **options) -> ThrottleFlow:
    """Flow through a tube of given length; parameters as for `expansion_line`, which takes the options.

    Raises
    ------
    InputError, UnreachableError, ConvergenceError
    """
    return _solved(fluid, inlet, outlet_pressure, exchange, options,
                   lambda line: (tube, flow_of_length(line, tube)))  # fmt: skip


def solve_length(fluid: Fluid, inlet: State, outlet_pressure: float, tube: Capillary, mass_flow: float,
                 exchange: Exchange | None = None, **options) -> ThrottleFlow:
    """Length at which a tube passes a mass flow [kg/s]; the tube's own length is not used. As `solve_flow`."""
    return _solved(fluid, inlet, outlet_pressure, exchange, options,
                   lambda line: (replace(tube, length=length_of_flow(line, mass_flow, tube)), mass_flow))  # fmt: skip


def _solved(fluid, inlet, outlet_pressure, exchange, options, answer) -> ThrottleFlow:
    most = _most_heat(fluid, inlet, exchange)
    removed, before = None, None
    for _ in range(HEAT_ROUNDS):
        line = expansion_line(fluid, inlet, outlet_pressure, removed=removed, **options)
        tube, flow = answer(line)
        found = march(line, flow / tube.area, tube)
        if exchange is None:
            return ThrottleFlow(tube, line, flow, found, 0.0)
        if exchange.heat_per_length is None:
            heat = exchange.effectiveness * most
        else:
            heat = exchange.heat_per_length * tube.parallel * tube.length * line.molar_mass / flow
        if heat > most:
            raise UnreachableError(
                f"the capillary would give {heat:.4g} J/mol to its return line, more than brings the inlet to the return "
                f"line's temperature ({most:.4g} J/mol); state less heat_to_return or return_effectiveness"
            )
        now = np.array([flow, tube.length, heat])
        if before is not None and removed is not None and np.all(np.abs(now - before) <= HEAT_TOLERANCE * now):
            return ThrottleFlow(tube, line, flow, found, heat, _crossing(found, exchange))
        before = now
        removed = _spread(found, heat)
    raise ConvergenceError("the capillary with heat to its return line", "state less heat_to_return or return_effectiveness")


def _most_heat(fluid, inlet: State, exchange: Exchange | None) -> float:
    """Heat [J/mol] that brings the inlet to the return line's temperature; infinite where that is not known."""
    if exchange is None or exchange.return_temperature is None:
        return np.inf
    if not exchange.return_temperature < inlet.temperature:
        raise InputError(
            f"the return line at {exchange.return_temperature:.5g} K is not colder than the throttle inlet at "
            f"{inlet.temperature:.5g} K"
        )
    return inlet.enthalpy - fluid.tp(exchange.return_temperature, inlet.pressure).enthalpy


def _spread(found: CapillaryMarch, heat: float):
    """Heat given off per mole [J/mol] against falling pressure, even along the tube."""
    falling, share = -found.pressures, found.positions / found.length

    def removed(pressures):
        return heat * np.interp(-np.asarray(pressures), falling, share)

    return removed


def _crossing(found: CapillaryMarch, exchange: Exchange) -> float | None:
    """Position [m] from which the tube is colder than the return line; refused in its first half."""
    limit = exchange.return_temperature
    if limit is None or found.temperatures.min() >= limit:
        return None
    position = float(found.positions[int(np.argmax(found.temperatures < limit))])
    if position < 0.5 * found.length:
        raise UnreachableError(
            f"the capillary is colder than its return line at {limit:.4g} K from {position:.3g} m on, in more than half of "
            f"its {found.length:.3g} m: it cannot give heat there; state less heat_to_return or return_effectiveness"
        )
    return position


@dataclass(frozen=True)
class Variant:
    """What a changed inner diameter does: mass flow [kg/s] at the tube's length, and length [m] at its flow.

    length is None where no length of that diameter passes the flow.
    """

    name: str
    diameter: float
    mass_flow: float
    length: float | None


def bore_variants(solved: ThrottleFlow, tolerance: float, debris: float = 0.0) -> tuple[Variant, ...]:
    """The tube as drawn, at both ends of its diameter's tolerance, and with its bore narrowed by debris or wax.

    Parameters
    ----------
    solved : ThrottleFlow
    tolerance : float
        Of the inner diameter, to either side [m].
    debris : float
        Loss of diameter over the whole length [m]; an even film, not a plug.

    Raises
    ------
    InputError
        For a change that leaves no bore.
    """
    tube = solved.tube
    changes = {"as drawn": 0.0}
    if tolerance:
        changes |= {"smallest diameter": -tolerance, "largest diameter": tolerance}
    if debris:
        changes |= {"narrowed by debris": -debris}
    if not 0.0 <= max(tolerance, debris) < 0.5 * tube.diameter:
        raise InputError(
            f"tolerance and debris must be at least 0 and less than half the diameter of {tube.diameter * 1e3:.3g} mm"
        )
    return tuple(_variant(solved, name, change) for name, change in changes.items())


def _variant(solved: ThrottleFlow, name: str, change: float) -> Variant:
    tube = replace(solved.tube, diameter=solved.tube.diameter + change)
    try:
        length = length_of_flow(solved.line, solved.mass_flow, tube)
    except UnreachableError:
        length = None
    return Variant(name, tube.diameter, flow_of_length(solved.line, tube), length)
