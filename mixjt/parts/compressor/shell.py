"""The shell of a hermetic compressor: how warm it gets, and what that makes of flow, work and discharge.

With the pressure ratio r, the clearance C and n the mean exponent of the isentropic compression from the heated state:

    T1'  = T1 + suction_heating (T_shell - T1)                gas that enters the cylinder
    flow = filling * swept flow / v1'                         filling = 1 + C - C r^(1/n) - leakage (r - 1)
    w    = (h2s - h1') (1 + leakage (r - 1) / filling) / isentropic_efficiency     work per mole that leaves
    W    = W0 + flow w / motor_efficiency                     electrical
    T_v  = T(h1' + w, p2)                                     gas at the discharge valve
    T2   = T_v - discharge_cooling (T_v - T_shell)            gas that leaves the shell
    W + flow (h1 - h2) = UA (T_shell - T_ambient)             balance of the whole, which gives T_shell

The gas meets the shell twice, before and after the cylinder. Each time it goes a share of the way to the shell's
temperature: 1 - exp(-UA_s / (flow cp)) of a wall of even temperature, with UA_s that goes with the flow as turbulent heat
transfer nearly does (Reynolds' analogy), so that neither size nor flow moves it; for a small share the heat is UA_s (T_shell - T1).
One set of equations serves a shell at suction pressure, through which the gas comes in, and one at discharge pressure, where
the gas goes nearly straight into the cylinder and all that leaves it bathes the shell (discharge_cooling near 1).

Gas that leaks back is gap flow, in proportion to the difference of the pressures; it has taken work in vain, which the gas
that leaves carries off. UA and W0 grow with the swept flow, so that flow, power and heats of a machine scale with it.

Structure (heating before, cooling after the cylinder, one lumped wall, constant loss of work): Winandy, Saavedra and Lebrun,
International Journal of Refrigeration 25 (2002) (from memory); W = W0 + w_s/efficiency for small reciprocating machines: Santos,
Ronzoni and Hermes, International Journal of Refrigeration 107 (2019) 191 (abstract only). The form of the leakage and the
shares: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING

import numpy as np

from mixjt.errors import UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.interpolate import POINTS, Cubics, first_dry
from mixjt.fluid.states import State

if TYPE_CHECKING:
    from mixjt.parts.compressor.compression import Compressor

HOTTEST = 590.0  # K, of the isobars; property models end near 600 K
SHARES = np.array([0.0, 0.01, 0.03, 0.06, 0.1, 0.14, 0.18, 0.23, 0.29, 0.36, 0.44, 0.54, 0.67, 0.83, 1.0])
LEAST_POINTS = 8  # of an isobar
JUST = 1e-6  # of a temperature, from boiling liquid to vapour
REMEMBERED = 2048  # isobars
LEAST_LEAKING = 0.05  # filling below which the share that leaks grows no further
FIRST_GUESSES = 20.0, 70.0  # K above ambient
TURNS = 3  # of the secant, which ends far below what isobars are good for
SECTIONS = 36  # of the temperatures that one shell may have


def volumetric_efficiency(clearance, pressure_ratio, exponent):
    """Clearance volumetric efficiency 1 + C - C (p2/p1)^(1/n) [m3/m3].

    The gas left in the clearance C expands again to suction pressure and takes up part of the stroke;
    valve losses and leakage are not in it. Arguments may be arrays. May be negative: then no gas flows.

    Source: Stoecker & Jones, Refrigeration and Air Conditioning, 2nd ed. (1982), chapter 11 on
    compressors (from memory).
    """
    return 1.0 + clearance - clearance * pressure_ratio ** (1.0 / exponent)


def filling(compressor: Compressor, ratio, exponent):
    """What of the swept volume comes out as gas of the heated state; negative where no gas flows."""
    return volumetric_efficiency(compressor.clearance, ratio, exponent) - compressor.leakage * (ratio - 1.0)


def ideal_work(compressor: Compressor, ratio, filled, isentropic):
    """Isentropic work per mole that leaves [J/mol], that of the gas which leaks included; isentropic is of one mole."""
    return isentropic * (1.0 + compressor.leakage * (ratio - 1.0) / np.maximum(filled, LEAST_LEAKING))


@dataclass(frozen=True, eq=False)
class GasIsobar:
    """Enthalpy, entropy and logarithm of the molar volume (3, n, m) of n gases at temperatures (m,) common to all.

    first (n,) is the column from which on there is no liquid.
    """

    temperatures: np.ndarray
    tables: np.ndarray
    first: np.ndarray

    def temperature(self, enthalpy: np.ndarray) -> np.ndarray:
        """[K] (n,) at enthalpies (n,)."""
        from mixjt.parts.compressor import shell_engine

        return shell_engine.temperatures(self, enthalpy)


@dataclass(frozen=True, eq=False)
class Compressions:
    """Machines that take in n gases at temperatures, enthalpies and pressure ratios (n,), between two isobars of each.

    Or one gas, (1,), that is tried with many shells. flow [mol/s] and power [W], where known, take the place of the
    compressor's swept flow and isentropic efficiency.
    """

    compressor: Compressor
    ambient: float
    temperature: np.ndarray
    enthalpy: np.ndarray
    ratio: np.ndarray
    low: GasIsobar
    high: GasIsobar
    flow: float | None = None
    power: float | None = None

    def turn(self, shell: np.ndarray) -> Turn:
        """What they do with shells at temperatures (n,)."""
        return Turn(*self._turning(shell))

    @cached_property
    def _turning(self):
        from mixjt.parts.compressor import shell_engine

        return shell_engine.turning(self)

    def settled(self) -> Turn:
        """With every shell as warm as its balance asks for, by a stated number of steps: smooth in everything."""
        before, shell = (np.full(self.temperature.shape, self.ambient + guess) for guess in FIRST_GUESSES)
        last, now = self.turn(before), self.turn(shell)
        for _ in range(TURNS):
            slope = (now.surplus - last.surplus) / np.where(shell == before, 1.0, shell - before)
            step = np.where(slope < 0.0, -now.surplus / np.where(slope < 0.0, slope, -1.0), 0.0)
            before, last, shell = shell, now, np.minimum(shell + step, HOTTEST)
            now = self.turn(shell)
        return now


@dataclass(frozen=True, eq=False)
class Turn:
    """Temperature of the gas that enters the cylinder [K], electrical work [J/mol], temperatures of the valve and of the gas
    that leaves [K], molar flow [mol/s], and what the shells have to spare over the heat that the room takes, per swept flow
    [J/m3]; each (n,)."""

    entering: np.ndarray
    electrical_work: np.ndarray
    valve: np.ndarray
    outlet: np.ndarray
    flow: np.ndarray
    surplus: np.ndarray


def shell_temperature(
    fluid: Fluid,
    suction: State,
    discharge_pressure: float,
    compressor: Compressor,
    ambient: float,
    flow: float | None = None,
    power: float | None = None,
) -> float:
    """Of one machine on one blend [K]; flow [mol/s] and power [W] as in `Compressions`.

    The gas cannot warm a shell that is as cold as the colder of inlet and ambient, so that the root lies above.

    Raises
    ------
    UnreachableError
        Where the shell would be hotter than the property models reach.
    """
    coldest = min(suction.temperature, ambient)
    low, high = _isobars(fluid, suction, discharge_pressure, ambient)
    gas = (np.array([one]) for one in (suction.temperature, suction.enthalpy, discharge_pressure / suction.pressure))
    shells = np.linspace(coldest, HOTTEST, SECTIONS + 1)
    surplus = Compressions(compressor, ambient, *gas, low, high, flow, power).turn(shells).surplus
    if not np.any(surplus <= 0.0):
        raise UnreachableError(
            f"the compressor's shell would be hotter than {HOTTEST:g} K: it loses too little to the room and to the gas; "
            "lower the pressure ratio, or state a greater shell_conductance"
        )
    after = int(np.argmax(surplus <= 0.0))
    if after == 0:
        return coldest
    near = slice(max(after - POINTS // 2, 0), after + POINTS // 2)
    if surplus[near].size < POINTS or np.any(np.diff(surplus[near]) >= 0.0):
        near = slice(after - 1, after + 1)
        return float(np.interp(0.0, -surplus[near], shells[near]))
    return float(Cubics(-surplus[near], (shells[near],), 0).at(np.zeros(1))[0, 0])


def hottest_enthalpy(fluid: Fluid, suction: State, discharge_pressure: float, ambient: float) -> float:
    """Of the compressed gas [J/mol] at the warmest temperature that the search for a shell has looked at."""
    return float(_isobars(fluid, suction, discharge_pressure, ambient)[1].tables[0, 0, -1])


def _isobars(fluid: Fluid, suction: State, discharge_pressure: float, ambient: float) -> tuple[GasIsobar, GasIsobar]:
    """Of what comes in and what leaves."""
    coldest = min(suction.temperature, ambient)
    return tuple(_gas_isobar(fluid, pressure, coldest) for pressure in (suction.pressure, discharge_pressure))


def _gas_isobar(fluid: Fluid, pressure: float, coldest: float) -> GasIsobar:
    """From a temperature on; of a pure fluid from its dew point on, so that one isobar serves many machines."""
    facts = fluid.model.facts
    return _isobar(fluid, pressure, None if facts and pressure < facts.critical_pressure else coldest)


@lru_cache(REMEMBERED)
def _isobar(fluid: Fluid, pressure: float, coldest: float | None) -> GasIsobar:
    """From a temperature on, or from just below the dew point, without those at which there is no state."""
    first = fluid.dew_temperature(pressure) * (1.0 - JUST) if coldest is None else coldest
    temperatures = first + SHARES * (HOTTEST - first)
    if coldest is None:
        temperatures = np.insert(temperatures, 1, first * (1.0 + 2.0 * JUST))
    swept = fluid.sweep(temperatures, pressure, strict=False)
    found = np.isfinite(swept.enthalpy)
    if np.count_nonzero(found) < LEAST_POINTS:
        swept = fluid.sweep(temperatures, pressure)
    tables = np.array([swept.enthalpy[found], swept.entropy[found], np.log(swept.molar_volume[found])])[:, None]
    return GasIsobar(temperatures[found], tables, first_dry(swept.liquid_count[None, found] > 0))
