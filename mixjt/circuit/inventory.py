"""What a running circuit holds of each gas, part by part, and so what must be charged for a blend to circulate.

Every part is filled by what passes it (`mixjt.parts.hold_up`), and the oil by what dissolves in it (`mixjt.parts.oil`).
Where vapour and liquid slip, and in the oil, more of the heavy gases is kept than circulates.

Assumptions: recuperator of even conductance along its length; aftercooler and evaporator exchange evenly along theirs; the
buffer holds the circulating blend at ambient temperature and suction pressure, the shell that at its own temperature and
the pressure of its side. Balances alone.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from mixjt.bounds import require_fields
from mixjt.circuit.result import CircuitResult
from mixjt.errors import InputError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.states import PropertyModel, State
from mixjt.keys import TEXT, key
from mixjt.parts import places
from mixjt.parts.compressor.compression import Compressor
from mixjt.parts.hold_up import Passing
from mixjt.parts.oil import Oil, dissolved, shell_pressure
from mixjt.parts.recuperator.side import length_shares
from mixjt.parts.slip import NONE, ROUHANI, SLIPS, ZIVI

EVEN = 17  # points along aftercooler and evaporator
FEW = 13  # of those for a pure fluid, which are states of a given enthalpy, crowded where it is densest
SHELL, HOT, HIGH, LOW = "compressor shell", "aftercooler", "recuperator, high side", "recuperator, low side"
EVAPORATOR, BUFFER, OIL = "evaporator", "buffer", "oil"


@dataclass(frozen=True)
class Volumes:
    """Volumes of a circuit [m3], and how vapour and liquid flow through them.

    hot: compressor outlet, aftercooler and its lines; high and low: the recuperator's sides; evaporator; buffer: at ambient,
    on the suction side, suction line included; shell: gas in the compressor's, where it is not among hot or buffer.
    high_area and low_area [m2] are what the recuperator's sides leave to the flow, None where its tubes are not known.
    """

    hot: float = key("volume", "from the compressor's outlet through the aftercooler", within="(0, 1]")
    high: float = key(
        "volume", "the recuperator's high side", at="recuperator_high", within="(0, 1]",
        otherwise="from [recuperator_tubes] with a length",
    )
    low: float = key(
        "volume", "the recuperator's low side", at="recuperator_low", within="(0, 1]",
        otherwise="from [recuperator_tubes] with a length",
    )
    evaporator: float = key("volume", "behind the throttle, down to the recuperator", within="(0, 1]")
    buffer: float = key(
        "volume", "at ambient on the suction side: buffer, suction line, the shell of a rotary compressor not",
        within="(0, 1]",
    )
    shell: float = key(
        "volume", "gas in the compressor's shell, where it is not among hot or buffer", default=0.0, within="[0, 1]"
    )
    slip: str = key(
        TEXT, "how much faster vapour flows than liquid, which holds liquid back", default=ZIVI,
        choices=SLIPS,
    )
    high_area: float | None = None
    low_area: float | None = None

    def __post_init__(self):
        require_fields(self, "volumes:", ("hot", "high", "low", "evaporator", "buffer", "shell"), least=0.0)
        if not self.total > 0.0:
            raise InputError("a circuit needs volumes above 0")
        if self.slip not in SLIPS:
            raise InputError(f"slip must be one of {', '.join(SLIPS)}, got {self.slip!r}")
        if self.slip == ROUHANI and None in (self.high_area, self.low_area):
            raise InputError(f'the slip "{ROUHANI}" needs the recuperator\'s tubes, in which it follows from the mass flux')

    @property
    def total(self) -> float:
        """[m3]"""
        return self.hot + self.high + self.low + self.evaporator + self.buffer + self.shell


@dataclass(frozen=True, eq=False)
class Contained:
    """What fills the parts of a running circuit, from which its inventory follows for any volumes, slip and oil.

    high and low are what passes the recuperator's sides, with the share of its length before each place.
    """

    fluid: Fluid
    ambient: float
    compressor: Compressor
    shell_temperature: float
    mass_flow: float
    suction_pressure: float
    discharge: State
    cooled: State
    throttle_outlet: State
    evaporated: State
    high: tuple[Passing, np.ndarray]
    low: tuple[Passing, np.ndarray]

    @cached_property
    def in_shell(self) -> State:
        """Gas in the compressor's shell."""
        pressure = shell_pressure(self.compressor, self.suction_pressure, self.discharge.pressure)
        return self.fluid.tp(self.shell_temperature, pressure)

    @cached_property
    def _cooling(self) -> tuple[Passing, np.ndarray]:
        return evenly(self.fluid, self.discharge, self.cooled)

    @cached_property
    def _evaporating(self) -> tuple[Passing, np.ndarray]:
        return evenly(self.fluid, self.throttle_outlet, self.evaporated)

    @cached_property
    def _at_rest(self) -> tuple[Passing, Passing]:
        """In shell and buffer."""
        buffered = self.fluid.tp(self.ambient, self.suction_pressure)
        return Passing.of(self.fluid, [self.in_shell]), Passing.of(self.fluid, [buffered])

    def inventory(self, volumes: Volumes, oil: Oil | None) -> Inventory:
        """Amounts in all parts; errors as of `mixjt.parts.oil.dissolved`."""
        at = np.zeros(1)
        shell, buffered = self._at_rest
        elsewhere = ZIVI if volumes.slip == ROUHANI else volumes.slip
        fluxes = [self.mass_flow / area if area else None for area in (volumes.high_area, volumes.low_area)]
        ways = {
            SHELL: (volumes.shell, (shell, at), (NONE,)),
            HOT: (volumes.hot, self._cooling, (elsewhere,)),
            HIGH: (volumes.high, self.high, (volumes.slip, fluxes[0])),
            LOW: (volumes.low, self.low, (volumes.slip, fluxes[1])),
            EVAPORATOR: (volumes.evaporator, self._evaporating, (elsewhere,)),
            BUFFER: (volumes.buffer, (buffered, at), (NONE,)),
        }
        parts = {part: volume * mean_density(*way, *slip) for part, (volume, way, slip) in ways.items() if volume > 0.0}
        if oil is not None and oil.mass > 0.0:
            parts[OIL] = dissolved(oil, self.fluid, self.in_shell.temperature, self.in_shell.pressure)
        return Inventory(self.fluid, parts)


@dataclass(frozen=True, eq=False)
class Charge:
    """Amounts (c,) [mol] of the gases of a property model that have been, or are to be, charged."""

    model: PropertyModel
    amounts: np.ndarray

    @property
    def total(self) -> float:
        """[mol]"""
        return float(self.amounts.sum())

    @property
    def mass(self) -> float:
        """[kg]"""
        return float(self.amounts @ self.model.molar_masses)

    @property
    def fluid(self) -> Fluid:
        """The blend that has been charged, all together."""
        return Fluid(self.model, self.amounts / self.total)


@dataclass(frozen=True, eq=False)
class Inventory:
    """Amounts (c,) [mol] of the gases in each part of a circuit in which fluid circulates."""

    fluid: Fluid
    parts: Mapping[str, np.ndarray]

    @cached_property
    def amounts(self) -> np.ndarray:
        """Of the gases in all (c,) [mol]: what has been charged."""
        return sum(self.parts.values())

    @property
    def charge(self) -> Charge:
        """The same in all."""
        return Charge(self.fluid.model, self.amounts)

    def mass_in(self, part: str) -> float:
        """[kg]"""
        return float(self.parts[part] @ self.fluid.model.molar_masses)


def mean_density(passing: Passing, share: np.ndarray, slip: str, mass_flux: float | None = None) -> np.ndarray:
    """Of each gas (c,) [mol/m3], with the share (m,) of the length before each place; of a single place, its own."""
    density = passing.density(slip, mass_flux)
    return density[0] if share.size == 1 else np.trapezoid(density, share, axis=0)


def evenly(fluid: Fluid, start: State, end: State) -> tuple[Passing, np.ndarray]:
    """What passes a way along which heat is exchanged evenly; the pressure falls with the temperature, a pure fluid's with the heat."""
    spent = end.enthalpy - start.enthalpy
    if spent == 0.0:
        return Passing.of(fluid, [start]), np.zeros(1)
    if np.count_nonzero(fluid.z) == 1:  # its temperature stands still while it boils
        share = np.linspace(0.0, 1.0, FEW) ** 3 if start.molar_volume < end.molar_volume else 1.0 - np.linspace(1.0, 0.0, FEW) ** 3
        pressures = start.pressure + share * (end.pressure - start.pressure)
        states = [fluid.hp(start.enthalpy + one * spent, float(p)) for one, p in zip(share, pressures, strict=True)]
        return Passing.of(fluid, states), share
    along = np.linspace(0.0, 1.0, EVEN)
    temperatures = start.temperature + along * (end.temperature - start.temperature)
    swept = fluid.sweep(temperatures, start.pressure + along * (end.pressure - start.pressure))
    share = (swept.enthalpy - swept.enthalpy[0]) / (swept.enthalpy[-1] - swept.enthalpy[0])
    return Passing.at(fluid, swept), np.maximum.accumulate(share)


def contained(result: CircuitResult) -> Contained:
    """What fills a solved circuit whose streams all have the blend's own composition.

    Raises
    ------
    InputError
        For a circuit in which the streams part.
    """
    points, circuit, curve = result.points, result.circuit, result.pinch
    if places.SEPARATED_VAPOUR in points:
        raise InputError("what a circuit with a phase separator holds is not known here; charge and inventory are of the others")
    high, low = circuit.ends(points[places.THROTTLE_INLET].temperature, points[places.COMPRESSOR_INLET].temperature)
    share = length_shares([(curve.heat, curve.high_temperature, curve.low_temperature)])
    sides = []
    for ends, temperatures in ((high, curve.high_temperature), (low, curve.low_temperature)):
        sides.append((Passing.at(result.fluid, result.fluid.sweep(temperatures, ends.pressure(temperatures))), share))
    return Contained(
        fluid=result.fluid,
        ambient=result.ambient_temperature,
        compressor=circuit.compressor,
        shell_temperature=result.shell_temperature,
        mass_flow=result.mass_flow,
        suction_pressure=result.suction_pressure,
        discharge=points[places.COMPRESSOR_OUTLET],
        cooled=points[places.AFTERCOOLER_OUTLET],
        throttle_outlet=points[places.THROTTLE_OUTLET],
        evaporated=points[places.EVAPORATOR_OUTLET],
        high=sides[0],
        low=sides[1],
    )
