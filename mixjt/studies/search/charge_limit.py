"""Limits of the charge as a constraint of the search: its mass, and the pressure at which it stands on the hottest day."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from mixjt.circuit.inventory import Volumes, contained
from mixjt.circuit.machine import ThrottleCircuit
from mixjt.circuit.result import CircuitResult
from mixjt.constants import GAS_CONSTANT
from mixjt.errors import InputError, MixjtError
from mixjt.fluid.standstill import HOTTEST_DAY, standstill_pressure
from mixjt.fluid.states import Sweep
from mixjt.keys import key
from mixjt.parts.hold_up import held_density
from mixjt.parts.oil import Oil, shell_pressure
from mixjt.parts.slip import ROUHANI, ZIVI

POINTS = 25  # temperatures at which batches look at each side of the recuperator
CLOSEST = 0.5  # K, between the sides of a recuperator whose approach is not stated
UNKNOWN = -100.0  # %, where what a solved circuit holds is not known


@dataclass(frozen=True)
class ChargeConstraint:
    """The charge may weigh so much at most, or may stand at so much at most.

    Batches are judged roughly: a coarse profile of the recuperator, no oil, ideal gas at rest, all times a factor that one
    circuit solved in full has told. A circuit solved in full is judged by its inventory.

    Parameters
    ----------
    circuit : ThrottleCircuit
    volumes : Volumes
    oil : Oil or None
    largest_pressure : float, optional
        [Pa]
    largest_charge : float, optional
        [kg]
    hottest_temperature : float
        [K]
    factor : float
        On what batches hold.

    Raises
    ------
    InputError
        Unless one of the limits is stated.
    """

    circuit: ThrottleCircuit
    volumes: Volumes
    oil: Oil | None
    largest_pressure: float | None = key(
        "pressure", "at which the charge may stand on the hottest day of [standstill]; needs [volumes]", default=None,
        at="largest_standing_pressure", within="[1e5, 4e7]", otherwise="only warned of",
    )
    largest_charge: float | None = key(
        "mass", "of the charge; needs [volumes]", default=None, within="(0, 100]", otherwise="no limit"
    )
    hottest_temperature: float = HOTTEST_DAY
    factor: float = 1.0
    name: str = "charge"
    unit: str = "%"
    step: float = 1.0

    def __post_init__(self):
        if (self.largest_pressure is None) == (self.largest_charge is None):
            raise InputError("a limit of the charge is a largest pressure or a largest mass")

    def columns(self, model) -> int:
        """One."""
        return 1

    def margins(self, model, z: np.ndarray, suction, discharge, cooling) -> np.ndarray:
        """Hundred times the logarithm of the limit over what is held (n, 1); NaN where the model has no answer."""
        amounts = self.factor * self._held(model, z, suction, discharge, cooling)
        pressure = amounts.sum(axis=1) * GAS_CONSTANT * self.hottest_temperature / self.volumes.total
        return self._margin(pressure, amounts @ model.molar_masses)[:, None]

    def corrected(self, result: CircuitResult) -> ChargeConstraint:
        """The same, with a factor by which batches tell of a circuit what it has in full."""
        pressures = np.array([[result.suction_pressure], [result.discharge_pressure]])
        cooling = np.array([result.cooling_capacity])
        told = self.margins(result.fluid.model, result.composition[None], *pressures, cooling)[0, 0]
        solved = self.solved_margin(result)
        return self if solved == UNKNOWN else replace(self, factor=self.factor * float(np.exp(0.01 * (told - solved))))

    def solved_margin(self, result: CircuitResult) -> float:
        """That of a circuit solved in full; -100 where what it holds is not known."""
        try:
            charge = contained(result).inventory(self.volumes, self.oil).charge
            pressure = standstill_pressure(charge.fluid, self.hottest_temperature, self.volumes.total / charge.total)
        except MixjtError:
            return UNKNOWN
        return float(self._margin(pressure, charge.mass))

    def _margin(self, pressure, mass):
        by_pressure = self.largest_pressure is not None
        return 100.0 * np.log(self.largest_pressure / pressure if by_pressure else self.largest_charge / mass)

    def _held(self, model, z: np.ndarray, suction, discharge, cooling) -> np.ndarray:
        """Amounts (n, c) [mol] about which a circuit holds of blends (n, c)."""
        circuit, volumes = self.circuit, self.volumes
        temperatures = np.linspace(circuit.cold_temperature, circuit.warm_temperature, POINTS)
        sides = [model.sweep(z, pressure[:, None], temperatures, strict=False) for pressure in (discharge, suction)]
        dense = [self._densities(model, z, swept) for swept in sides]
        gas = discharge * volumes.hot / circuit.warm_temperature + suction * volumes.buffer / circuit.ambient_temperature
        gas = gas + shell_pressure(circuit.compressor, suction, discharge) * volumes.shell / circuit.warm_temperature
        closest = CLOSEST if circuit.of_stated_size else max(CLOSEST, circuit.recuperator_approach)
        held = z * (gas / GAS_CONSTANT)[:, None] + volumes.evaporator * dense[1][:, 0]
        for row, taken in enumerate(cooling):
            share, low = _profile(temperatures, sides[0].enthalpy[row], sides[1].enthalpy[row], taken, closest)
            returning = np.stack([np.interp(low, temperatures, density) for density in dense[1][row].T], axis=1)
            held[row] += volumes.high * np.trapezoid(dense[0][row], share, axis=0) + volumes.low * np.trapezoid(returning, share, axis=0)
        return held

    def _densities(self, model, z: np.ndarray, swept: Sweep) -> np.ndarray:
        """[mol/m3] (n, m, c)"""
        slip = ZIVI if self.volumes.slip == ROUHANI else self.volumes.slip
        return held_density(
            z[:, None, :], model.molar_masses, swept.molar_volume, swept.liquid_volume, swept.liquid_amounts, slip
        )


def _profile(temperatures, high, low, cooling: float, closest: float) -> tuple[np.ndarray, np.ndarray]:
    """Share of the length before places where the high side has temperatures (m,) [K], and those of the low side there.

    high and low are the sides' enthalpies (m,) [J/mol]; straight lines between them bring the sides nearer than they come, so
    that they count as closest [K] apart at least.
    """
    returning = np.interp(high + cooling, low, temperatures)
    inverse = 1.0 / np.maximum(temperatures - returning, closest)
    along = np.concatenate([[0.0], np.cumsum(0.5 * np.diff(high) * (inverse[1:] + inverse[:-1]))])
    return along / along[-1], returning
