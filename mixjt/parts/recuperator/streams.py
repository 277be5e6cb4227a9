"""Several streams that run through a heat exchanger side by side, at one temperature in every section."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from mixjt.fluid.states import PropertyModel
from mixjt.parts.recuperator.side import Side


@dataclass(frozen=True)
class SideBySide:
    """Streams of one side of a recuperator, to be used in place of a `Side`.

    side holds the temperatures and pressures they share; flows, shape (k,), are in moles per mole of
    blend, compositions in mole fractions, shape (k, c). Enthalpies are of all streams together, per mole
    of blend. A single stream whose flow is not 1 is one too.
    """

    side: Side
    flows: tuple[float, ...]
    compositions: tuple[tuple[float, ...], ...]

    def pressure(self, temperatures) -> np.ndarray:
        """Pressure [Pa] where the streams have the given temperatures."""
        return self.side.pressure(temperatures)

    def enthalpy(self, model: PropertyModel, z, temperatures) -> np.ndarray:
        """Enthalpy [J/mol of blend] at the given temperatures, shape (m,); z is not used."""
        compositions = np.array(self.compositions)
        temperatures = np.asarray(temperatures, dtype=float)
        each = model.sweep(compositions, self.side.pressure(temperatures), temperatures).enthalpy
        return np.array(self.flows) @ each


def side_by_side(side: Side, *streams: tuple[float, np.ndarray]) -> SideBySide:
    """Streams given as flow and composition; those without flow are left out."""
    flowing = [(float(flow), tuple(float(x) for x in z)) for flow, z in streams if flow > 0.0]
    return SideBySide(side, tuple(flow for flow, _ in flowing), tuple(z for _, z in flowing))
