"""What circulates of a charge that has been weighed in, at a stated discharge pressure.

The throttle is taken as adjusted, so that the discharge pressure is kept; the suction pressure then follows from the charge.
Unknowns are the partial pressures of the gases in the suction, one for each gas; conditions that the circuit holds of each
what has been charged (`mixjt.circuit.inventory`). Balances alone.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from mixjt.circuit.fixed_machine import FixedMachine, Settled
from mixjt.circuit.inventory import Inventory, Volumes, contained
from mixjt.circuit.machine import ThrottleCircuit
from mixjt.circuit.result import CircuitResult
from mixjt.circuit.settled import settle_machine
from mixjt.circuit.solve import solve_circuit
from mixjt.errors import ConvergenceError, InputError, UnreachableError
from mixjt.fluid.broyden import by_broyden
from mixjt.fluid.fluid import Fluid
from mixjt.parts.compressor.compression import compress
from mixjt.parts.oil import Oil

HELD = 1e-7  # to which share the circuit holds what has been charged
STEP = 2e-3  # of a partial pressure, for differences
LEAST = 1e-3  # of what is to be charged of a gas, below which it counts as so much
LONGEST_STEP = 0.2  # of the logarithm of a partial pressure
USUAL_CONDUCTANCE = 1500.0  # J/(mol K), UA over flow of a recuperator whose size is not stated, to start from


@dataclass(frozen=True, eq=False)
class Circulation:
    """A circuit with what circulates of a charge, what it holds, and by which share that misses the charge at most."""

    result: CircuitResult
    inventory: Inventory
    miss: float


def circulating(
    fluid: Fluid, circuit: ThrottleCircuit, charge: np.ndarray, volumes: Volumes, oil: Oil | None
) -> Circulation:
    """What circulates of a charge.

    Parameters
    ----------
    fluid : Fluid
        A blend that may circulate, to start from; gases that were not charged are left out of it.
    circuit : ThrottleCircuit
        Of which the suction pressure is where the search for it starts.
    charge : array (c,)
        Of the fluid's gases [mol].
    volumes : Volumes
    oil : Oil or None

    Raises
    ------
    UnreachableError
        Where the circuit does not cool on the way.
    ConvergenceError
        Where no blend was found of which the circuit holds the charge.
    """
    present = charge > 0.0
    near = _near(fluid, circuit, charge, volumes, oil)

    def trial(logs: np.ndarray) -> tuple[Circulation, np.ndarray]:
        parts = np.exp(logs)
        z = np.zeros(charge.size)
        z[present] = parts / parts.sum()
        try:
            at = replace(circuit, suction_pressure=float(parts.sum()))
        except InputError as error:
            raise ConvergenceError("what circulates of the charge", str(error)) from None
        result = solve_circuit(fluid.of(z), at)
        inventory = contained(result).inventory(volumes, oil)
        misses = np.log(inventory.amounts[present] / charge[present])
        return Circulation(result, inventory, float(np.max(np.abs(np.expm1(misses))))), misses

    logs = np.log(near.suction_pressure * near.fluid.z[present])
    try:
        found = by_broyden(trial, logs, near.steepness, HELD, LONGEST_STEP)
    except UnreachableError as error:
        raise UnreachableError(
            f"what circulates of this charge is near {_text(near)}, at a suction of {near.suction_pressure / 1e5:.3g} bar: "
            f"{error}; `mixjt cooldown` tells how cold the machine gets with it"
        ) from error
    if found is None:
        raise ConvergenceError(
            "what circulates of the charge", "state a blend near it in [blend], or check charge and volumes",
            suction_pressure=circuit.suction_pressure,
        )  # fmt: skip
    return found[0]


def _text(near: Settled) -> str:
    """Its blend, rounded."""
    shares = zip(near.fluid.gases, near.fluid.z, strict=True)
    return ", ".join(f"{100.0 * x:.3g} % {name}" for name, x in shares if x > 0.0)


def _near(fluid: Fluid, circuit: ThrottleCircuit, charge: np.ndarray, volumes: Volumes, oil: Oil | None) -> Settled:
    """About where that is: a recuperator held at its size exchanges something at any blend, so this cannot get lost."""
    conductance = circuit.recuperator_conductance
    if conductance is None:
        suction = fluid.tp(circuit.warm_temperature, circuit.suction_pressure)
        moved = compress(fluid, suction, circuit.discharge_pressure, circuit.compressor, circuit.ambient_temperature)
        conductance = USUAL_CONDUCTANCE * moved.molar_flow
    machine = FixedMachine(circuit, None, conductance, volumes, oil, charge)
    return settle_machine(fluid, machine, circuit.cold_temperature)


@dataclass(frozen=True, eq=False)
class ChargeResponse:
    """How what circulates follows the charge (c,) [mol]: response (c, c) is d ln z / d ln N, the discharge pressure kept."""

    fluid: Fluid
    charge: np.ndarray
    response: np.ndarray

    def holding(self, z: np.ndarray) -> np.ndarray:
        """Mole fractions (c,) of the charge of which a blend (c,) near the own one circulates, each gas as much kept back."""
        held = z * np.divide(self.charge, self.fluid.z, out=np.zeros(z.size), where=self.fluid.z > 0.0)
        return held / held.sum()

    def beside(self, z: np.ndarray, charged: np.ndarray, usual: np.ndarray) -> np.ndarray:
        """Mole fractions (c,) that circulate of a charge (c,), where z circulate of the usual one (c,)."""
        present = z > 0.0
        off = np.log(np.maximum(charged[present], LEAST * usual[present]) / usual[present])
        moved = np.zeros(z.size)
        moved[present] = z[present] * np.exp(self.response[np.ix_(present, present)] @ off)
        return moved / moved.sum()

    def circulating(self, charges: np.ndarray) -> np.ndarray:
        """Mole fractions (n, c) that circulate of charges (n, c) [mol] near the own one, to first order in the logarithms."""
        present = self.charge > 0.0
        off = np.log(np.maximum(charges[:, present], LEAST * self.charge[present]) / self.charge[present])
        z = np.zeros(charges.shape)
        z[:, present] = self.fluid.z[present] * np.exp(off @ self.response[np.ix_(present, present)].T)
        return z / z.sum(axis=1, keepdims=True)


def charge_response(fluid: Fluid, circuit: ThrottleCircuit, volumes: Volumes, oil: Oil | None) -> ChargeResponse:
    """The response of a circuit in which a blend circulates, by differences; errors as of `solve_circuit`."""
    present = np.flatnonzero(fluid.z)
    parts = circuit.suction_pressure * fluid.z

    def held(parts: np.ndarray) -> np.ndarray:
        found = solve_circuit(fluid.of(parts / parts.sum()), replace(circuit, suction_pressure=float(parts.sum())))
        return contained(found).inventory(volumes, oil).amounts

    charge = held(parts)
    steps = 1.0 + STEP * np.eye(parts.size)[present]
    columns = [np.log(held(parts * step)[present] / charge[present]) for step in steps]
    try:
        of_parts = np.linalg.inv(np.stack(columns, axis=1) / math.log1p(STEP))
    except np.linalg.LinAlgError:
        raise ConvergenceError("how what circulates follows the charge", "try a slightly different blend") from None
    response = np.zeros((parts.size, parts.size))
    response[np.ix_(present, present)] = of_parts - fluid.z[present] @ of_parts
    return ChargeResponse(fluid, charge, response)
