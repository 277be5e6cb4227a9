"""Whether the first start of a warm machine trips its motor.

At rest both sides stand at one pressure. The compressor then moves gas from the low side to the high side while all is
still warm, so that the charge alone relates the two pressures,

    V_low / v(p_low, T_ambient) + V_high / v(p_high, T_ambient) = charge,

until the throttle passes what the compressor moves: there the machine stays for the first minutes of its cool-down. The
suction is dense at first and the pressure ratio small, so that the power has its maximum on the way or at its end.
Balances alone; quasi-steady, aftercooler and lines at ambient temperature, no pressure drops, the composition that of the
charge, of which the oil holds nothing.

Bounds, all common practice, no source: an overload protector trips at 1.3 to 1.6 times the rated current if that is held
for minutes; what passes within seconds it mostly bears. A motor of low starting torque starts against equal pressures
only, and is made for those that its own refrigerant has in the warm machine at rest: at most its vapour pressure.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from mixjt.circuit.inventory import Volumes
from mixjt.errors import MixjtError, UnreachableError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.roots import root_between
from mixjt.fluid.standstill import standstill_pressure
from mixjt.fluid.vapour_pressure import vapour_pressure
from mixjt.parts.compressor.compression import CompressionResult, Compressor, compress
from mixjt.parts.oil import shell_at_discharge
from mixjt.parts.throttle.capillary import Capillary, flow_of_length
from mixjt.parts.throttle.expansion import expansion_line
from mixjt.units import bar_text

TRIPS = (1.3, 1.6)  # times the rated current
STEP = 0.5  # of ln p_low, between which its end is sought
POINTS = 10  # of the way
LEAST_WAY = 0.02  # of ln p_low
LOWEST_SUCTION = 2e4  # Pa
LINE_POINTS = 24
CLOSE = 3e-3  # of ln p_low, for the end of the way
HIGHER = 1.1  # times the design's discharge, which is worth a warning
NO, MAY, YES = "no", "may", "yes"
REMEDY = (
    "A regulator in the suction line that closes above a set pressure (crankcase pressure regulator) or a larger buffer "
    "keeps the suction down; or fill step by step while the machine cools"
)


@dataclass(frozen=True)
class StartRequest:
    """What starts: the blend charged and how much of it [mol], compressor, room [K], volumes, the capillary, and what the
    label says.

    discharge_pressure [Pa] is that of the design; refrigerant is that of the label, locked_rotor_current [A]; None where not known.
    """

    fluid: Fluid
    charge: float
    compressor: Compressor
    ambient: float
    volumes: Volumes
    tube: Capillary
    discharge_pressure: float
    refrigerant: str | None = None
    locked_rotor_current: float | None = None


@dataclass(frozen=True)
class FirstStart:
    """A first start; pressures [Pa], powers [W], currents [A].

    way holds (p_low, p_high) and the compression at each, from rest to where the throttle passes what is moved.
    greatest is the compression of greatest power on it or later, while the machine cools down; held that of greatest power
    at the end of the way or later, which lasts for minutes. trips is "no", "may" or "yes", None where no current tells;
    reasons say why.
    """

    standing_pressure: float
    refrigerant_pressure: float | None
    way: tuple[CompressionResult, ...]
    greatest: CompressionResult
    held: CompressionResult
    rated_current: float | None
    locked_rotor_current: float | None
    trips: str | None
    reasons: tuple[str, ...]

    @property
    def settled(self) -> CompressionResult:
        """The end of the way: the first minutes."""
        return self.way[-1]

    @property
    def trip_current(self) -> float | None:
        """The least at which a protector trips."""
        return None if self.rated_current is None else TRIPS[0] * self.rated_current

    @property
    def sentence(self) -> str:
        """A plain answer with its reasons, and the remedy where one is needed."""
        answer = {
            NO: "the first start does not trip the motor", MAY: "the first start may trip the motor",
            YES: "the first start trips the motor", None: "whether the first start trips the motor is not known",
        }[self.trips]  # fmt: skip
        text = f"{answer}: {'; '.join(self.reasons)}"
        return f"{text}. {REMEDY}" if self.trips in (MAY, YES) else text


@dataclass(frozen=True)
class StartLook:
    """A first start, or None where it is not known, and what to say of it."""

    found: FirstStart | None
    warnings: tuple[str, ...]


def look_at_start(request: StartRequest | None, later: Sequence[CompressionResult] = ()) -> StartLook:
    """The first start of a machine, where the case tells enough of it; parameters as in `first_start`."""
    if request is None:
        return StartLook(None, ())
    try:
        found = first_start(request, later)
    except MixjtError as error:
        return StartLook(None, (f"whether the first start trips the motor is not known: {error}",))
    said = [found.sentence] if found.trips != NO else []
    highest = max(one.discharge.pressure for one in (*found.way, *later))
    if highest > HIGHER * request.discharge_pressure:
        said.append(
            f"before the machine is cold the discharge rises to {bar_text(highest)}, above the "
            f"{bar_text(request.discharge_pressure)} of the design: parts and relief valves of the high side must stand that"
        )
    return StartLook(found, tuple(said))


def first_start(request: StartRequest, later: Sequence[CompressionResult] = ()) -> FirstStart:
    """Start a warm machine for the first time.

    Parameters
    ----------
    request : StartRequest
    later : sequence of CompressionResult
        At settled pressures while the machine cools down, where these are known.

    Raises
    ------
    UnreachableError
        Where the charge does not fit, or the throttle passes all that is moved at any pressures.
    ConvergenceError
    """
    standing = standstill_pressure(request.fluid, request.ambient, request.volumes.total / request.charge)
    way = _way(request, standing)
    held = max((way[-1], *later), key=lambda one: one.electrical_power)
    greatest = max((*way, *later), key=lambda one: one.electrical_power)
    own = None if request.refrigerant is None else _own_pressure(request)
    rated, trips, reasons = request.compressor.largest_supply_current, NO, []
    if own is not None and standing > own:
        trips = MAY
        reasons.append(
            f"both sides stand at {bar_text(standing)}, above the {bar_text(own)} of {request.refrigerant} at this ambient, "
            f"which its motor is made to start against: it may hum at its locked-rotor current"
        )
    if rated is None or held.supply_current is None:
        trips = trips if trips == MAY else None
        reasons.append("no current tells: state rated_current in [rating] and voltage in [compressor]")
    else:
        share, peak = held.supply_current / rated, greatest.supply_current / rated
        trips = max(trips, tripping(share, peak), key=(NO, MAY, YES).index)
        reasons.append(
            f"it draws {held.supply_current:.3g} A for minutes and {greatest.supply_current:.3g} A at most, {share:.2g} and "
            f"{peak:.2g} times the rated {rated:.3g} A; a protector trips at {TRIPS[0]:g} to {TRIPS[1]:g} times if that is held"
        )
    return FirstStart(
        standing, own, way, greatest, held, rated, request.locked_rotor_current, trips, tuple(reasons)
    )


def tripping(held: float, greatest: float) -> str:
    """The answer for currents held for minutes and passing in seconds, both over the rated one."""
    if held > TRIPS[1]:
        return YES
    return MAY if held > TRIPS[0] or greatest > TRIPS[1] else NO


def _way(request: StartRequest, standing: float) -> tuple[CompressionResult, ...]:
    """Compressions from rest to where the throttle passes what is moved."""
    fluid, room, top = request.fluid, request.ambient, math.log(standing)

    def surplus(log_low: float) -> float:
        """Logarithm of what the compressor moves over what the throttle passes."""
        if log_low == top:
            return 1.0
        try:
            moved = _moved(request, math.exp(log_low))
        except UnreachableError:
            return -1.0  # it moves nothing, or the gas would be far too hot: the discharge is too high
        line = expansion_line(fluid, fluid.tp(room, moved.discharge.pressure), math.exp(log_low), LINE_POINTS)
        return math.log(moved.mass_flow / flow_of_length(line, request.tube))

    before = at = top
    while surplus(at) > 0.0 and at > math.log(LOWEST_SUCTION):
        before, at = at, at - STEP
    end = root_between(surplus, at, before, CLOSE) if surplus(at) <= 0.0 else at
    if top - end < LEAST_WAY:
        raise UnreachableError("the throttle is so wide that no pressure builds up at the first start")
    lows = np.exp(np.linspace(top, end, POINTS + 1)[1:])
    return tuple(_moved(request, float(low)) for low in lows)


def _moved(request: StartRequest, low: float) -> CompressionResult:
    """The compressor at a suction pressure [Pa], the rest of the charge on the high side, all warm."""
    fluid, volumes = request.fluid, request.volumes
    high_volume = volumes.hot + volumes.high + (volumes.shell if shell_at_discharge(request.compressor) else 0.0)
    suction = fluid.tp(request.ambient, low)
    on_high = request.charge - (volumes.total - high_volume) / suction.molar_volume
    high = standstill_pressure(fluid, request.ambient, high_volume / on_high)
    return compress(fluid, suction, high, request.compressor, request.ambient)


def _own_pressure(request: StartRequest) -> float | None:
    try:
        return vapour_pressure(request.refrigerant, request.ambient)
    except MixjtError:
        return None  # above its critical temperature
