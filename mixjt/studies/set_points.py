"""Where cut-outs and relief valves are set: above what the machine reaches without fault, below what its parts stand.

Which devices there are, and on which side of what each is set, is common practice, no source: a relief valve on either
side, set no higher than the lowest rating there; a high-pressure cut-out below the relief valve; a low-pressure cut-out
that acts before the suction draws air in; a thermostat on the discharge line; the compressor's own overload protector.
Local codes decide.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from operator import attrgetter

from mixjt.parts.compressor.compression import Compressor
from mixjt.studies.first_start import TRIPS
from mixjt.studies.readings import HOTTEST, WAY, Reading
from mixjt.units import quantity_text

BELOW_RELIEF = 0.9  # of the relief valve's gauge pressure, for the high-pressure cut-out (common practice, no source)
PRESSURE, TEMPERATURE, CURRENT = "pressure", "temperature", "current"
UNRESTED = "not known: the pressure at rest on the hottest day is not calculated; state [volumes]"
FOLLOWED, NOT_FOLLOWED = "reached from start to cold", "as designed; start and cool-down are not followed"


@dataclass(frozen=True)
class SetPoint:
    """A device, what it acts on (PRESSURE [Pa absolute], TEMPERATURE [K] or CURRENT [A]), and what it is set between.

    Below least it acts without a fault, above most it protects nothing; of a low-pressure cut-out it is the other way round.
    None where the case does not tell; from says where each comes from, or what tells it.
    """

    device: str
    measure: str
    least: float | None
    least_from: str
    most: float | None
    most_from: str

    @property
    def conflict(self) -> str:
        """A sentence where nothing lies between; "" where something does, or one of the two is not known."""
        if self.least is None or self.most is None or self.least < self.most:
            return ""
        least, most = (quantity_text(value, self.measure, 3) for value in (self.least, self.most))
        return f"no setting of the {self.device} does: {least} ({self.least_from}) is not below {most} ({self.most_from})"


def set_points(
    compressor: Compressor, readings: Sequence[Reading], rating: float | None, atmosphere: float
) -> tuple[SetPoint, ...]:
    """What each device is set between.

    Parameters
    ----------
    compressor : Compressor
    readings : sequence of Reading
        What the machine shows without fault, at rest and running.
    rating : float or None
        The lowest rating of a part [Pa].
    atmosphere : float
        [Pa]
    """
    running = [one for one in readings if one.runs]
    reached = FOLLOWED if any(one.when == WAY for one in running) else NOT_FOLLOWED
    low, high = (max(readings, key=attrgetter(side)) for side in ("suction", "discharge"))
    rests = any(one.when == HOTTEST for one in readings)  # it may stand far above what runs, and then decides
    low_side, high_side = ((one_side, one.when) if rests else (None, UNRESTED)
                           for one, one_side in ((low, low.suction), (high, high.discharge)))
    discharge = max(one.discharge for one in running)
    line = max(one.discharge_temperature for one in running)
    current = max((one.current for one in running if one.current is not None), default=None)
    rated = compressor.largest_supply_current
    stated = "[standstill] largest_pressure, the lowest rating of a part"
    unstated = "the lowest rating on that side, which the case does not state"
    relief = "the lowest rating of the high side's own parts, read off them: at most a rating of the whole circuit is stated"
    return (
        SetPoint("relief valve, low side", PRESSURE, *low_side, rating, stated if rating else unstated),
        SetPoint("relief valve, high side", PRESSURE, *high_side, None, relief),
        SetPoint(
            "high-pressure cut-out", PRESSURE, discharge, reached, None,
            f"{100 * BELOW_RELIEF:.0f} % of the gauge pressure of the high side's relief valve (common practice, no source)",
        ),
        SetPoint(
            "low-pressure cut-out", PRESSURE, atmosphere, "the local atmosphere: below it a leak draws air in",
            min(one.suction for one in running), f"lowest suction {reached}",
        ),
        SetPoint(
            "discharge thermostat", TEMPERATURE, line, reached, compressor.largest_discharge_temperature,
            "[compressor] largest_discharge_temperature, of the line outside the shell",
        ),
        SetPoint(
            "overload protector", CURRENT, current, reached if current else "no voltage in [compressor]",
            rated and TRIPS[0] * rated,
            f"{TRIPS[0]:g} times what label or supply allow (common practice, no source); keep the compressor's own"
            if rated else "neither rated_current in [rating] nor a largest current in [compressor]",
        ),
    )  # fmt: skip
