"""Standard rating points of refrigeration compressors.

All temperatures from memory; the standards themselves were not at hand. Evaporating and condensing temperatures are dew
points of the suction and discharge pressure; return gas is what enters the compressor; liquid is what enters the
expansion valve of the rating, so that capacity = flow * (h of the return gas - h of that liquid).
"""

from __future__ import annotations

from dataclasses import dataclass

from mixjt.errors import InputError
from mixjt.keys import key

LOW, MEDIUM, HIGH, AIR = "low back-pressure", "medium back-pressure", "high back-pressure", "air conditioning"
POINTS = (LOW, MEDIUM, HIGH, AIR)
RATING_AMBIENT = 305.37  # K, 90 degF: of the air around a compressor that is rated, 32 to 35 degC; from memory
OF_THE_POINT = "of the rating point"


@dataclass(frozen=True)
class RatingPoint:
    """Temperatures of a rating [K]: evaporating, condensing, return gas and liquid before the valve."""

    evaporating: float = key(
        "temperature", "of the rating", at="evaporating_temperature", within="[150, 330]", otherwise=OF_THE_POINT
    )
    condensing: float = key(
        "temperature", "of the rating", at="condensing_temperature", within="[200, 400]", otherwise=OF_THE_POINT
    )
    return_gas: float = key(
        "temperature", "of the rating, at the compressor inlet", at="return_gas_temperature", within="[150, 400]",
        otherwise=OF_THE_POINT,
    )
    liquid: float = key(
        "temperature", "of the rating, before the expansion valve", at="liquid_temperature", within="[150, 400]",
        otherwise=OF_THE_POINT,
    )

    def __post_init__(self):
        if not 100.0 < self.evaporating < self.condensing < 450.0:
            raise InputError(
                f"a rating needs an evaporating temperature below the condensing one, got {self.evaporating:.5g} K and "
                f"{self.condensing:.5g} K"
            )
        if not self.return_gas >= self.evaporating:
            raise InputError(
                f"the return gas of a rating is not colder than its evaporating temperature: {self.return_gas:.5g} K "
                f"against {self.evaporating:.5g} K"
            )
        if not self.evaporating < self.liquid <= self.condensing:
            raise InputError(
                f"the liquid of a rating lies between evaporating and condensing temperature, got {self.liquid:.5g} K"
            )


def _celsius(evaporating, condensing, return_gas, liquid) -> RatingPoint:
    return RatingPoint(*(value + 273.15 for value in (evaporating, condensing, return_gas, liquid)))


def _fahrenheit(*values) -> RatingPoint:
    return _celsius(*((value - 32.0) / 1.8 for value in values))


STANDARDS: dict[str, dict[str, RatingPoint]] = {
    # ANSI/ASHRAE 23 and the points its users print: -10, 20 and 45 degF over 130 degF
    "ASHRAE": {
        LOW: _fahrenheit(-10.0, 130.0, 90.0, 90.0),
        MEDIUM: _fahrenheit(20.0, 130.0, 95.0, 115.0),
        HIGH: _fahrenheit(45.0, 130.0, 95.0, 115.0),
        AIR: _fahrenheit(45.0, 130.0, 65.0, 115.0),
    },
    # EN 12900: return gas 20 degC, no subcooling; air conditioning with 10 K of superheat
    "EN 12900": {
        LOW: _celsius(-35.0, 40.0, 20.0, 40.0),
        MEDIUM: _celsius(-10.0, 45.0, 20.0, 45.0),
        HIGH: _celsius(5.0, 50.0, 20.0, 50.0),
        AIR: _celsius(5.0, 50.0, 15.0, 50.0),
    },
    # CECOMAF GT 4-003: return gas 32 degC, no subcooling; it has no point of its own for air conditioning
    "CECOMAF": {
        LOW: _celsius(-25.0, 55.0, 32.0, 55.0),
        MEDIUM: _celsius(-10.0, 55.0, 32.0, 55.0),
        HIGH: _celsius(5.0, 55.0, 32.0, 55.0),
    },
}


def rating_point(standard: str, name: str) -> RatingPoint:
    """The rating point of a standard.

    Raises
    ------
    InputError
        For a standard or a point that is not in the table.
    """
    if standard not in STANDARDS:
        raise InputError(f"there is no standard '{standard}' in the table; choose one of {', '.join(STANDARDS)}")
    points = STANDARDS[standard]
    if name not in points:
        raise InputError(f"{standard} has no point '{name}'; it has {', '.join(points)}")
    return points[name]
