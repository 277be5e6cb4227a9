"""What is doubtful or dangerous about a solved circuit, in sentences for its builder."""

from __future__ import annotations

from mixjt.constants import ATMOSPHERE
from mixjt.fluid.states import State
from mixjt.parts import places
from mixjt.parts.compressor.compression import CompressionResult, Compressor
from mixjt.parts.compressor.limits import limit_warnings
from mixjt.units import bar_text, kelvin_text

SMALL_SUPERHEAT = 5.0  # K; common practice, no source: less is lost to a change of load or charge
COLD_PLACES = (places.THROTTLE_INLET, places.THROTTLE_OUTLET, places.EVAPORATOR_OUTLET)


def circuit_warnings(
    points: dict[str, State],
    compression: CompressionResult,
    compressor: Compressor,
    superheat: float | None,
    freezing: tuple[str, ...],
) -> tuple[str, ...]:
    """All warnings about a circuit, the compressor's first.

    Parameters
    ----------
    points : dict
        The six states by place.
    superheat : float or None
        Of the compressor inlet [K]; None where the blend has no dew point at suction pressure.
    freezing : tuple of str
        Sentences about gases that freeze out; see `mixjt.circuit.freezing`.
    """
    return (
        *_suction(points[places.COMPRESSOR_INLET], superheat),
        *limit_warnings(compression, compressor),
        *_aftercooler(points),
        *_two_liquids(points),
        *freezing,
    )


def _suction(inlet: State, superheat: float | None) -> list[str]:
    found = []
    wet = 1.0 - inlet.vapour_fraction if inlet.liquids else 0.0
    if wet > 0.0:
        found.append(
            f"liquid reaches the compressor: {100 * wet:.3g} mol% of the suction is liquid at "
            f"{kelvin_text(inlet.temperature)}; it can break valves and washes out the oil. Use less of the "
            "heaviest gas or a lower suction pressure"
        )
    elif superheat is not None and superheat < SMALL_SUPERHEAT:
        found.append(
            f"the suction is only {superheat:.2g} K above its dew point (at least {SMALL_SUPERHEAT:g} K is "
            "usual): a small change of load or charge brings liquid to the compressor"
        )
    if inlet.pressure < ATMOSPHERE:
        found.append(
            f"the suction, {bar_text(inlet.pressure)} absolute, is below atmospheric pressure: a leak draws air "
            "in, which with flammable gases is dangerous and whose moisture freezes in the throttle"
        )
    return found


def _aftercooler(points: dict[str, State]) -> list[str]:
    before = points[places.COMPRESSOR_OUTLET].temperature
    after = points[places.AFTERCOOLER_OUTLET].temperature
    if before >= after:
        return []
    text = (
        f"the gas leaves the compressor at {kelvin_text(before)}, colder than the {kelvin_text(after)} assumed after "
        "the aftercooler: state a smaller aftercooler approach"
    )
    return [text]


def _two_liquids(points: dict[str, State]) -> list[str]:
    found = [place for place in COLD_PLACES if len(points[place].liquids) > 1]
    if not found:
        return []
    where = ", ".join(f"{place.replace('_', ' ')} ({points[place].temperature:.1f} K)" for place in found)
    text = (
        f"the blend splits into two liquids at: {where}. The light one may run ahead and the heavy one stay "
        "behind, so that the blend in circulation changes"
    )
    return [text]
