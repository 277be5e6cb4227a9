"""A compressor of which only the nominal motor size is known: a wide guess of its capacity.

Nominal horsepower is a size of the trade, not shaft power: for one motor it says more capacity the warmer the machine
evaporates. Per horsepower at the rating point of the application, all common practice, no source (for air conditioning
the rule of thumb of 12 000 BTU/h); half as much again, or two thirds, is found among real machines.
"""

from __future__ import annotations

from mixjt.parts.compressor.rating_points import AIR, HIGH, LOW, MEDIUM

HORSEPOWER = 745.7  # W
PER_HORSEPOWER = {LOW: 900.0, MEDIUM: 2000.0, HIGH: 3000.0, AIR: 3517.0}  # W
USUAL_POINT = {"reciprocating": LOW, "rotary": AIR, "scroll": AIR}
USUAL_REFRIGERANT = {LOW: "R-134a", MEDIUM: "R-134a", HIGH: "R-134a", AIR: "R-22"}
WIDE = 1.5
GUESSES = {"low": 1.0 / WIDE, "middle": 1.0, "high": WIDE}  # times the capacity


def guessed_capacity(nominal_power: float, point: str) -> float:
    """Capacity [W] at a rating point of the trade of a machine of a nominal motor size [W]."""
    return PER_HORSEPOWER[point] * nominal_power / HORSEPOWER
