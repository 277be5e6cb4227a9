"""Limits of the charge as a constraint of the search: its mass, and the pressure at which it stands on the hottest day."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from mixjt.circuit.inventory import Volumes, contained
from mixjt.circuit.machine import ThrottleCircuit
from mixjt.circuit.result import CircuitResult
from mixjt.constants import GAS_CONSTANT
from mixjt.errors import InputError, MixjtError
from mixjt.fluid.standstill import HOTTEST_DAY, standstill_pressure
from mixjt.keys import key
from mixjt.parts.hold_up import held_density
from mixjt.parts.oil import Oil
from mixjt.parts.slip import ROUHANI, ZIVI

POINTS = 7  # temperatures at which batches look at each side of the recuperator
UNKNOWN = -100.0  # %, where what a solved circuit holds is not known


@dataclass(frozen=True)
class ChargeConstraint:
    """The charge may weigh so much at most, and may stand at so much at most.

    Batches are judged roughly: temperatures even along the recuperator, no oil, ideal gas at rest. A circuit solved in full
    is judged by its inventory, and what batches keep is corrected by that.

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

    Raises
    ------
    InputError
        Where neither limit is stated.
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
    name: str = "charge"
    unit: str = "%"
    step: float = 1.0

    def __post_init__(self):
        if self.largest_pressure is None and self.largest_charge is None:
            raise InputError("a limit of the charge needs a largest pressure or a largest mass")

    def columns(self, model) -> int:
        """One a limit."""
        return int(self.largest_pressure is not None) + int(self.largest_charge is not None)

    def margins(self, model, z: np.ndarray, suction, discharge, cooling) -> np.ndarray:
        """Hundred times the logarithms of the limits over what is held (n, columns); NaN where the model has no answer."""
        amounts = self._held(model, z, suction, discharge)
        pressure = amounts.sum(axis=1) * GAS_CONSTANT * self.hottest_temperature / self.volumes.total
        return np.column_stack(self._against(pressure, amounts @ model.molar_masses))

    def solved_margin(self, result: CircuitResult) -> float:
        """The lesser of these of a circuit solved in full; -100 where what it holds is not known."""
        try:
            charge = contained(result).inventory(self.volumes, self.oil).charge
            pressure = standstill_pressure(charge.fluid, self.hottest_temperature, self.volumes.total / charge.total)
        except MixjtError:
            return UNKNOWN
        return float(min(self._against(pressure, charge.mass)))

    def _against(self, pressure, mass) -> list:
        pairs = (self.largest_pressure, pressure), (self.largest_charge, mass)
        return [100.0 * np.log(limit / found) for limit, found in pairs if limit is not None]

    def _held(self, model, z: np.ndarray, suction, discharge) -> np.ndarray:
        """Amounts (n, c) [mol] about which a circuit holds of blends (n, c)."""
        circuit, volumes = self.circuit, self.volumes
        temperatures = np.linspace(circuit.cold_temperature, circuit.warm_temperature, POINTS)
        blends, which = np.unique(np.column_stack([z, suction, discharge]), axis=0, return_inverse=True)
        low, high = (self._densities(model, blends[:, :-2], blends[:, column], temperatures) for column in (-2, -1))
        gas = blends[:, :-2] / GAS_CONSTANT
        held = volumes.high * high.mean(axis=1) + volumes.low * low.mean(axis=1) + volumes.evaporator * low[:, 0]
        held += gas * (blends[:, -1:] * volumes.hot / circuit.warm_temperature)
        held += gas * (blends[:, -2:-1] * volumes.buffer / circuit.ambient_temperature)
        return held[which.ravel()]

    def _densities(self, model, z: np.ndarray, pressures, temperatures) -> np.ndarray:
        """[mol/m3] (n, m, c)"""
        swept = model.sweep(z, pressures[:, None], temperatures, strict=False)
        slip = ZIVI if self.volumes.slip == ROUHANI else self.volumes.slip
        return held_density(
            z[:, None, :], model.molar_masses, swept.molar_volume, swept.liquid_volume, swept.liquid_amounts, slip
        )
