"""Pure solids: how their fugacity compares with that of the subcooled liquid.

A gas is taken to freeze out pure. Between its solid and its subcooled liquid

    ln(f_solid / f_liquid) = - integral from T to T_melt of dh(T') / (R T'^2) dT' - p dv / (R T)

where dh is the enthalpy of the liquid less that of the solid: the enthalpy of fusion at the melting point, a
heat-capacity difference linear in temperature below it, and a further step at each transition of the solid.
Source: Prausnitz, Lichtenthaler and de Azevedo, Molecular Thermodynamics of Fluid-Phase Equilibria, 3rd ed.
(1999), chapter 11, there with a constant heat-capacity difference; the pressure term holds the volume of
fusion constant and counts from zero pressure instead of the triple point.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from functools import cache
from importlib.resources import files

import numpy as np

from mixjt.constants import GAS_CONSTANT
from mixjt.errors import MissingDataError
from mixjt.fluid.roots import root_between
from mixjt.gases import gas, resolve_name

DATA_FILE = "solids.json"


@dataclass(frozen=True)
class PhaseChange:
    """Melting, or a transition between two solids: upper phase less lower phase.

    enthalpy [J/mol] at temperature [K]; heat_capacity [J/(mol K)] there and its slope [J/(mol K2)] below.
    """

    temperature: float
    enthalpy: float
    heat_capacity: float
    heat_capacity_slope: float


@dataclass(frozen=True)
class Solid:
    """What is known of a gas as a solid, down to 50 K.

    steps begin with melting; volume_of_fusion is in m3/mol; sources maps a field to where it comes from.
    """

    name: str
    steps: tuple[PhaseChange, ...]
    volume_of_fusion: float
    sources: dict[str, str] = field(default_factory=dict, repr=False, compare=False)

    @property
    def melting_temperature(self) -> float:
        """At the triple point [K]."""
        return self.steps[0].temperature


def solid(name: str) -> Solid:
    """The solid of a gas given by any of its names.

    Raises
    ------
    UnknownGasError
    MissingDataError
        For a gas of the catalogue whose solid is not described.
    """
    name = resolve_name(name)
    if name not in _solids():
        raise MissingDataError(f"nothing is known of solid {name}; {DATA_FILE} has no row for it")
    return _solids()[name]


def log_fugacity_ratio(of: Solid, temperature, pressure):
    """ln(f_solid / f_liquid) of a pure gas, positive above its melting point.

    Parameters
    ----------
    of : Solid
    temperature : float or array
        [K]
    pressure : float or array
        [Pa]

    Returns
    -------
    float or array
        Shape of the arguments.
    """
    temperature = np.asarray(temperature, dtype=float)
    ratio = _step_term(of.steps[0], temperature)
    for transition in of.steps[1:]:
        below = np.minimum(temperature, transition.temperature)  # above it the term is zero
        ratio = ratio + _step_term(transition, below)
    return ratio - np.asarray(pressure) * of.volume_of_fusion / (GAS_CONSTANT * temperature)


def melting_temperature(of: Solid, pressure: float) -> float:
    """Melting temperature [K] of the pure gas at a pressure [Pa]."""
    low = of.melting_temperature
    if not pressure * of.volume_of_fusion > 0.0:
        return low
    return root_between(lambda t: float(log_fugacity_ratio(of, t, pressure)), low - 1e-3, 2.0 * low, 1e-9)


def _step_term(step: PhaseChange, temperature):
    """Share of one step in ln(f_solid / f_liquid)."""
    at = step.temperature
    log = np.log(at / temperature)
    constant = step.enthalpy * (1.0 / at - 1.0 / temperature)
    level = step.heat_capacity * (at / temperature - 1.0 - log)
    slope = 0.5 * step.heat_capacity_slope * (at**2 / temperature - temperature - 2.0 * at * log)
    return (constant + level - slope) / GAS_CONSTANT


@cache
def _solids() -> dict[str, Solid]:
    text = files("mixjt.fluid.data").joinpath(DATA_FILE).read_text(encoding="utf-8")
    return {row["name"]: _solid(row) for row in json.loads(text)["gases"]}


def _solid(row: dict) -> Solid:
    entry = gas(row["name"])
    fusion = row["enthalpy_of_fusion"]
    melting = PhaseChange(
        temperature=entry.triple_point_temperature,
        enthalpy=entry.enthalpy_of_fusion if fusion is None else fusion,
        heat_capacity=row["heat_capacity"],
        heat_capacity_slope=row["heat_capacity_slope"],
    )
    transitions = tuple(PhaseChange(**step) for step in row["transitions"])
    return Solid(entry.name, (melting, *transitions), row["volume_of_fusion"], row["sources"])
