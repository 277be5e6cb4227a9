"""A recuperator of real tube in its circuit: what its tubes do at the circuit's own flow and inlet states.

With tubes, the conductance UA and the pressure drops of the recuperator follow from their rating
(`mixjt.parts.recuperator.tube_rating`) and not from the case; where no length is stated, the length follows from the UA
that the circuit has. All are repeated along with the circuit's own rounds until they fit each other. The duty and the
cooling are those of the circuit: its rating, which cuts the same UA into cells and knows the pressure all along, gives
them to a fraction of a percent of the duty.
"""

from __future__ import annotations

from dataclasses import replace

from mixjt.circuit.machine import ThrottleCircuit
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.states import State
from mixjt.parts.recuperator.tube_rating import (
    EXPECTED_DROP,
    Rating,
    StreamPair,
    design_recuperator,
    rate_recuperator,
    stream_pair,
)

MOST_WIDENED = 0.6  # of a pressure, between its two isobars


class CoilStreams:
    """The streams of a blend in the coil of a circuit; their property tables are kept over its rounds.

    Tables are placed by the two pressures that do not move, those of the aftercooler and the suction, so that what is
    read in them does not depend on the way there.
    """

    def __init__(self, fluid: Fluid):
        self.fluid = fluid
        self._pair: StreamPair | None = None
        self._shares = (EXPECTED_DROP, EXPECTED_DROP)

    def entering(self, circuit: ThrottleCircuit, cooled: State, evaporated: State, molar_flow: float) -> StreamPair:
        """Both streams as they enter, from the aftercooler and the evaporator, at a flow [mol/s]."""
        lost = (
            circuit.high_side_drop / circuit.aftercooler_pressure, circuit.low_side_drop / circuit.evaporator_pressure
        )  # fmt: skip
        shares = tuple(_wider(share, drop) for share, drop in zip(self._shares, lost, strict=True))
        if self._pair is None or shares != self._shares:
            self._shares = shares
            self._pair = self._tables(circuit, cooled, evaporated, molar_flow)
        leaking = circuit.insulation
        return replace(
            self._pair, molar_flow=molar_flow, low_enthalpy=evaporated.enthalpy, low_pressure=evaporated.pressure,
            leak_conductance=0.0 if leaking is None else leaking.along, ambient=circuit.ambient_temperature,
        )  # fmt: skip

    def _tables(self, circuit, cooled: State, evaporated: State, molar_flow: float) -> StreamPair:
        high, low = self._shares
        inlet = self.fluid.tp(evaporated.temperature, circuit.suction_pressure / (1.0 - low))
        return stream_pair(self.fluid, molar_flow, cooled, inlet, high * cooled.pressure, low * inlet.pressure)


def _wider(share: float, needed: float) -> float:
    while share < min(needed, MOST_WIDENED):
        share = min(2.0 * share, MOST_WIDENED)
    return share


def coil_rating(circuit: ThrottleCircuit, pair: StreamPair, conductance: float) -> Rating:
    """What the circuit's coil does; where its length is not stated, at the length that has a conductance [W/K].

    Raises
    ------
    UnreachableError, ConvergenceError
        From the rating.
    """
    coil = circuit.coil
    how = {"cells": coil.cells, "film_factor": coil.film_factor}
    if coil.length is None:
        return design_recuperator(pair, coil.tubes, conductance, **how)
    return rate_recuperator(pair, coil.tubes, coil.length, **how)
