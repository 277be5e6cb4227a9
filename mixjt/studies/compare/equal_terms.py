"""On which terms roads are compared, and where the terms are not quite equal."""

from __future__ import annotations

import numpy as np

from mixjt.cascade.cascade_records import HOT_GAS, NOTHING
from mixjt.circuit.solve import PRECOOLED
from mixjt.studies.compare.cascade_roads import PER_STAGE
from mixjt.studies.compare.compare_request import CompareRequest
from mixjt.studies.compare.roads import BLENDS, CASCADES
from mixjt.units import kelvin_text


def terms(request: CompareRequest) -> list[str]:
    """Sentences, most important first."""
    cascade = request.cascade.cascade
    compressor = cascade.compressor
    leak = f" and a heat leak of {request.cold_leak:.3g} W there" if request.cold_leak else ""
    found = [
        (f"every road carries {request.load:.4g} W at {request.cold_temperature:.5g} K{leak} in air of "
        f"{request.ambient:.5g} K with compressors of {100.0 * compressor.isentropic_efficiency:.3g} % isentropic and "
        f"{100.0 * compressor.motor_efficiency:.3g} % motor efficiency; displacements are scaled to the load")
    ]
    blends = [road for road in request.roads if road in BLENDS]
    if blends and request.search is not None:
        found += _of_blends(request)
    if PRECOOLED in request.roads and request.precooled:
        found += _of_precooler(request, compressor)
    stages = [CASCADES[road] for road in request.roads if road in CASCADES]
    if stages:
        found += _of_cascades(cascade, stages)
    return found


def _of_blends(request: CompareRequest) -> list[str]:
    circuit, ranges = request.search.circuit, request.search.pressure_ranges
    cooled = f"aftercooler {circuit.aftercooler_approach:.3g} K above ambient"
    if circuit.aftercooler is not None:
        cooled = "the stated aftercooler, scaled with the displacement"
    found = [
        (f"blends: recuperator approach {circuit.recuperator_approach:.3g} K, {cooled}, "
        f"{_percent(circuit.low_side_drop / circuit.evaporator_pressure)} "
        f"of the pressure lost on the low side and "
        f"{_percent(circuit.discharge_pressure / circuit.throttle_pressure - 1.0)} on the high side; a blend that "
        "freezes does not count as reached")
    ]
    if not np.any(np.diff(ranges, axis=1) > 0.0):
        found.append(
            f"the blends run at the stated {ranges[0, 0] / 1e5:.3g} and {ranges[1, 0] / 1e5:.3g} bar, while a "
            "cascade's pressures follow its temperatures: give suction_pressure_range and discharge_pressure_range in [compare] "
            "to let the blends choose theirs too"
        )
    return found


def _of_precooler(request: CompareRequest, compressor) -> list[str]:
    ways = ["warm" if circuit.warm_section else "cold" for circuit in request.precooled]
    found = [f"precooled: suction {' and '.join(ways)} {'are both tried' if len(ways) > 1 else 'as [precooler] states'}"]
    if request.precooled[0].precooler.condenser is not None:
        found[0] += ", with the stated condenser, scaled with the displacement"
    own = request.precooled[0].precooler.compressor
    same = all(
        getattr(own, name) == getattr(compressor, name)
        for name in ("clearance", "isentropic_efficiency", "motor_efficiency")
    )
    if same:
        return found
    return [
        *found,
        (f"the precooler has {100.0 * own.isentropic_efficiency:.3g} % isentropic and "
        f"{100.0 * own.motor_efficiency:.3g} % motor efficiency, those of [precooler]"),
    ]


def _of_cascades(cascade, stages: list[int]) -> list[str]:
    found = [
        (f"cascades: approach {cascade.approach:.3g} K in cascade condensers, "
        f"{cascade.evaporator_approach:.3g} K in the evaporator, {_condenser(cascade)}; {_lines(cascade)}"),
        _suction_gas(cascade),
    ]
    leaks = [f"{leak:.3g} W" for leak in cascade.heat_leaks[1:] or cascade.heat_leaks if leak > 0.0]
    if leaks:
        found.append(
            f"the warmer stages carry heat leaks of {' and '.join(dict.fromkeys(leaks))} besides, as [cascade] states; a blend's "
            "recuperator is taken as tight"
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


def _condenser(cascade) -> str:
    if cascade.condenser is None:
        return f"{cascade.condenser_approach:.3g} K in the condenser"
    return f"a condenser of {cascade.condenser.to_ambient(cascade.ambient_temperature):.3g} W/K to the air"


def _lines(cascade) -> str:
    """What the lines of a stage lose."""
    text = []
    for name, share in (("suction", cascade.suction_loss), ("discharge", cascade.discharge_loss)):
        drops = [f"{drop / 1e5:.3g} bar" for drop in getattr(cascade, f"{name}_drops")]
        text.append(f"{' and '.join(drops) if any(getattr(cascade, f'{name}_drops')) else _percent(share)} in {name} lines")
    return f"lost {', '.join(text)} (a share is of the pressure, as much as in the throttle circuit)"


def _suction_gas(cascade) -> str:
    """How suction gas is treated, and for whose sake."""
    exchangers = " and ".join(f"{one:.2g}" for one in cascade.exchanger_effectiveness)
    text = f"every stage has a suction-line exchanger of effectiveness {exchangers} between liquid and suction gas"
    if cascade.suction_warming == NOTHING or cascade.suction_temperature is None:
        return f"{text}, and its compressor draws the gas in as cold as it comes: few machines and oils stand that"
    warmer = "its own hot gas" if cascade.suction_warming == HOT_GAS else "the surroundings, at a loss"
    return (
        f"{text}; what is still colder than {kelvin_text(cascade.suction_temperature)} {warmer} warms to that, for the sake of "
        "ordinary compressors and their oil"
    )


def _percent(share: float) -> str:
    return f"{100.0 * share:.2g} %"
