"""The exchanger between two stages of a cascade: both streams against heat, its UA and smallest approach.

Counterflow, adiabatic but for the warmer stage's heat leak, which is spread evenly over the heat; in sections of
`mixjt.parts.passage`.
"""

from __future__ import annotations

import math

import numpy as np

from mixjt.cascade.cascade_records import CascadeCondenser
from mixjt.errors import UnreachableError
from mixjt.parts import places as place
from mixjt.parts.passage import Passage, shares
from mixjt.parts.recuperator.side import conductance_per_flow
from mixjt.parts.vapour_stage import StageResult


def couple(colder: StageResult, warmer: StageResult) -> CascadeCondenser:
    """The exchanger in which the colder stage condenses and the warmer one evaporates.

    Raises
    ------
    UnreachableError
        Where the streams would touch or cross.
    """
    hot = Passage(colder.fluid, colder.points[place.CONDENSER_OUTLET], colder.points[place.CONDENSER_INLET])
    cold = Passage(warmer.fluid, warmer.points[place.THROTTLE_OUTLET], warmer.points[place.EVAPORATOR_OUTLET])
    share = shares(hot.boundaries(), cold.boundaries())
    heat = colder.condenser_heat
    high, low = hot.temperatures(share), cold.temperatures(share)
    conductance = conductance_per_flow(heat * share, high, low)
    smallest = float(np.min(high - low))
    if not math.isfinite(conductance):
        raise UnreachableError(
            f"the streams of the cascade condenser cross: {colder.fluid.name} comes within {smallest:.2g} K of "
            f"{warmer.fluid.name}; use less superheat or subcooling, or a greater approach"
        )
    profile = (tuple(heat * share), tuple(high), tuple(low))
    return CascadeCondenser(heat=heat, conductance=conductance, smallest_approach=smallest, profile=profile)
