"""Figures of a road that carries the load: everything that grows with the machine is scaled to it.

Flow, power, swept volume and UA of a circuit are proportional to its displacement at given pressures, blend and
approaches; COP, pressures and temperatures do not depend on it.
"""

from __future__ import annotations

import numpy as np

from mixjt.cascade.cascade_records import CascadeResult
from mixjt.circuit.layouts.precooled import PrecooledResult
from mixjt.circuit.result import CircuitResult
from mixjt.errors import MixjtError
from mixjt.fluid.states import PropertyModel
from mixjt.gases.catalogue import gas
from mixjt.parts.stage_fluid import pure_fluid
from mixjt.studies.at_rest import UNKNOWN, at_rest
from mixjt.studies.compare.compare_request import CompareRequest
from mixjt.studies.compare.comparison import Carried, RoadFigures
from mixjt.units import apart


def blend_figures(model: PropertyModel, carried: Carried, request: CompareRequest) -> RoadFigures:
    """Of a throttle circuit of any kind."""
    result: CircuitResult = carried.result
    compressor = request.search.circuit.compressor
    scale = (request.load + request.cold_leak) / result.cooling_power
    stage = result.stage if isinstance(result, PrecooledResult) else None
    swept = [compressor.swept_flow * scale]
    displacement = compressor.displacement * scale
    hot, running = [result.discharge_temperature], [result.discharge_pressure]
    if stage is not None:
        more = result.precooler_duty * scale * stage.swept_per_heat
        swept.append(more)
        displacement += more / (request.precooler_speed or compressor.speed)
        hot.append(stage.discharge_temperature)
        running.append(stage.discharge_pressure)
    standing, warnings = _standing(model, result, stage, request)
    flammable_mass, fraction = _flammable(result, request)
    fluids = dict.fromkeys([*carried.bottles, *([result.precooler_fluid] if stage is not None else [])])
    return RoadFigures(
        power=carried.power,
        cop=carried.cop,
        carnot_fraction=result.carnot_fraction * carried.cop / result.cop,
        compressors=len(swept),
        swept_flow=sum(swept),
        displacement=displacement,
        own_capacity=carried.own_capacity,
        own_power=result.total_power,
        running_pressure=max(running),
        standing_pressure=standing[0],
        hot_standing_pressure=standing[1],
        buffer=standing[2],
        standing_limit=request.standstill and request.standstill.largest_pressure,
        discharge_temperatures=tuple(hot),
        flammable_mass=flammable_mass,
        flammable_fraction=fraction,
        bottles=len(fluids),
        recuperator_conductance=result.recuperator_conductance * scale,
        condenser_conductance=None,
        contents=carried.contents,
        warnings=(*warnings, *_burning_precooler(result, stage), *result.warnings, *_capacity_warnings(result, carried, request, scale)),
    )


def cascade_figures(carried: Carried) -> RoadFigures:
    """Of a cascade."""
    result: CascadeResult = carried.result
    rests = result.standstills
    vessels = [one and one.vessel for one in rests]
    share = carried.own_capacity / result.cascade.load
    return RoadFigures(
        power=carried.power,
        cop=result.cop,
        carnot_fraction=result.carnot_fraction,
        compressors=len(result.stages),
        swept_flow=sum(stage.swept_flow for stage in result.stages),
        displacement=sum(result.displacements),
        own_capacity=carried.own_capacity,
        own_power=_power_at(result, carried.own_capacity) if share > 0.0 else 0.0,
        running_pressure=max(result.running_pressures),
        standing_pressure=None if None in rests else max(one.ambient_pressure for one in rests),
        hot_standing_pressure=None if None in rests else max(one.hottest_pressure for one in rests),
        buffer=None if None in vessels else sum(vessels),
        standing_limit=result.cascade.largest_standstill_pressure,
        discharge_temperatures=result.discharge_temperatures,
        flammable_mass=result.flammable_mass,
        flammable_fraction=_flammable_stages(result),
        bottles=len(set(result.fluids)),
        recuperator_conductance=None,
        condenser_conductance=result.condenser_conductance,
        contents=carried.contents,
        warnings=result.warnings,
    )


def cascade_capacity(result: CascadeResult, displacement: float) -> float:
    """Cooling power [W] where every stage has a compressor of one displacement [m3 per revolution].

    The heat a stage takes up is a straight line in the load, h = a load + b, with a = 1 and b the heat leak at the
    coldest and each stage's rejected heat passed on; the stage that is used up first sets the load.
    """
    share, leaked, least = 1.0, 0.0, np.inf
    for stage in result.stages:
        leaked += stage.cycle.stage.heat_leak
        heat = displacement * result.cascade.compressor.speed / stage.cycle.swept_per_heat
        least = min(least, (heat - leaked) / share)
        share, leaked = share * stage.cycle.rejected_per_heat, leaked * stage.cycle.rejected_per_heat
    return max(0.0, float(least))


def _power_at(result: CascadeResult, load: float) -> float:
    power, heat = 0.0, load
    for stage in result.stages:
        heat += stage.cycle.stage.heat_leak
        power += heat * stage.cycle.power_per_heat
        heat *= stage.cycle.rejected_per_heat
    return power


def _standing(model, result: CircuitResult, stage, request: CompareRequest):
    """At ambient and on the hottest day [Pa], the buffer to add [m3], warnings.

    Of a precooler its fluid's vapour pressure counts, which it cannot exceed with gas about.
    """
    rest = at_rest(result, request.standstill)
    if rest.found is None:  # that nothing is stated the advice says, once for all roads
        return (None, None, None), [text for text in rest.warnings if text != UNKNOWN]
    pressures = [rest.found.ambient_pressure, rest.found.hottest_pressure]
    asked = request.standstill
    if stage is not None:
        days = asked.ambient_temperature, max(asked.hottest_temperature, asked.ambient_temperature)
        try:
            fluid = [stage.fluid.bubble_state(t).pressure for t in days]
        except MixjtError as error:
            return (None, None, None), [f"the precooler's pressure at standstill is not known: {error}"]
        pressures = [max(pair) for pair in zip(pressures, fluid, strict=True)]
        over = _precooler_warnings(fluid[1], asked.largest_pressure)
        return (*pressures, None if over else rest.found.buffer), [*rest.warnings, *over]
    return (*pressures, rest.found.buffer), rest.warnings


def _precooler_warnings(hottest: float, limit: float | None) -> list[str]:
    """Where the precooler's own fluid stands above the rating on the hottest day: a buffer of the blend is no help."""
    if limit is None or hottest <= limit:
        return []
    stands, most = apart(hottest, limit, "pressure", 3)
    return [(f"at standstill on the hottest day the precooler's fluid stands at {stands}, above the largest pressure of "
            f"{most}: its parts need a rating of their own")]  # fmt: skip


def _flammable(result: CircuitResult, request: CompareRequest) -> tuple[float | None, float]:
    """Mass [kg] without a precooler's fluid, None where the charge is not known, and fraction, of the blend by mass."""
    masses = np.array([gas(name).molar_mass for name in result.gases]) * result.composition
    burning = np.array([gas(name).flammable for name in result.gases])
    fraction = float(masses[burning].sum() / masses.sum())
    charge = request.standstill and request.standstill.charge
    if fraction == 0.0:
        return 0.0, fraction
    return (None if charge is None else charge * fraction), fraction


def _burning_precooler(result: CircuitResult, stage) -> list[str]:
    """What the flammable mass leaves out."""
    if stage is None or not pure_fluid(result.precooler_fluid).flammable:
        return []
    return [f"flammable too: the precooler's own charge of {result.precooler_fluid}, which the flammable mass leaves out"]


def _flammable_stages(result: CascadeResult) -> float | None:
    """By mass of all charges; without them known where all stages burn or none does."""
    burning = [stage.fluid.flammable for stage in result.stages]
    if all(burning) or not any(burning):
        return float(burning[0])
    if None in result.standstills:
        return None
    charges = np.array([one.charge for one in result.standstills])
    return float(charges[np.array(burning)].sum() / charges.sum())


def _capacity_warnings(result, carried: Carried, request: CompareRequest, scale: float) -> list[str]:
    found = []
    if carried.own_capacity < request.load:
        found.append(
            f"the case's own compressor carries {carried.own_capacity:.3g} W with this blend, less than the load of "
            f"{request.load:.3g} W"
        )
    if isinstance(result, PrecooledResult) and result.precooler_duty * scale > request.precooler_capacity:
        found.append(
            f"the precooler takes up {result.precooler_duty * scale:.3g} W, more than the "
            f"{request.precooler_capacity:.3g} W of the stage at hand"
        )
    return found
