"""On which terms roads are compared, and where the terms are not quite equal."""

from __future__ import annotations

import numpy as np

from mixjt.cycles.solve import PRECOOLED
from mixjt.studies.compare.cascade_roads import PER_STAGE
from mixjt.studies.compare.names import BLENDS, CASCADES
from mixjt.studies.compare.request import CompareRequest


def terms(request: CompareRequest) -> list[str]:
    """Sentences, most important first."""
    cascade = request.cascade.cascade
    compressor = cascade.compressor
    found = [
        f"every road carries {request.load:.4g} W at {request.cold_temperature:.5g} K in air of "
        f"{request.ambient:.5g} K with compressors of {100.0 * compressor.isentropic_efficiency:.3g} % isentropic and "
        f"{100.0 * compressor.motor_efficiency:.3g} % motor efficiency; displacements are scaled to the load"
    ]
    blends = [road for road in request.roads if road in BLENDS]
    if blends and request.search is not None:
        found += _of_blends(request)
    if PRECOOLED in request.roads and request.precooled is not None:
        found += _of_precooler(request, compressor)
    stages = [CASCADES[road] for road in request.roads if road in CASCADES]
    if stages:
        found += _of_cascades(cascade, stages)
    return found


def _of_blends(request: CompareRequest) -> list[str]:
    circuit, ranges = request.search.circuit, request.search.pressure_ranges
    found = [
        f"blends: recuperator approach {circuit.recuperator_approach:.3g} K, aftercooler "
        f"{circuit.aftercooler_approach:.3g} K above ambient"
    ]
    if not np.any(np.diff(ranges, axis=1) > 0.0):
        found.append(
            f"the blends run at the stated {ranges[0, 0] / 1e5:.3g} and {ranges[1, 0] / 1e5:.3g} bar, while a "
            "cascade's pressures follow its temperatures: give suction_pressure_range and discharge_pressure_range in [compare] "
            "to let the blends choose theirs too"
        )
    return found


def _of_precooler(request: CompareRequest, compressor) -> list[str]:
    own = request.precooled.precooler.compressor
    same = all(
        getattr(own, name) == getattr(compressor, name)
        for name in ("clearance", "isentropic_efficiency", "motor_efficiency")
    )
    if same:
        return []
    return [
        f"the precooler has {100.0 * own.isentropic_efficiency:.3g} % isentropic and "
        f"{100.0 * own.motor_efficiency:.3g} % motor efficiency, those of [precooler]"
    ]


def _of_cascades(cascade, stages: list[int]) -> list[str]:
    found = [
        f"cascades: approach {cascade.approach:.3g} K in cascade condensers, "
        f"{cascade.evaporator_approach:.3g} K in the evaporator, {cascade.condenser_approach:.3g} K in the condenser"
    ]
    leaks = [leak for leak in cascade.heat_leaks if leak > 0.0]
    if leaks:
        found.append(
            f"the cascades carry heat leaks of {' and '.join(f'{leak:.3g} W' for leak in leaks)} besides the load, as "
            "[cascade] states; the blends carry none"
        )
    lists = {len(getattr(cascade, name)) for name in PER_STAGE} | {len(cascade.limits.displacements or ())}
    for count in sorted(lists - {0, 1}):
        others = [f"{one}" for one in stages if one != count]
        if others:
            found.append(
                f"lists of {count} values in [cascade] are for {count} stages; a cascade of {' or '.join(others)} "
                "takes them from the coldest, the last value for all further stages"
            )
    return found
