"""Quantities as people write them, turned into SI numbers once, at the edge.

Conventions where the written form leaves a choice:

- a pressure without a mark ("1.5 bar", "150 kPa", "1 atm") is absolute; gauge pressure says so
  ("0.5 barg", "0.5 bar gauge", "7 psig", "50 kPag"). A plain "psi" is refused: label it psia or psig;
- a vacuum says so ("10 inHg vacuum": that much below the atmosphere). Plain inches of mercury are
  refused, because a service gauge reads vacuum in them and a barometer the pressure itself;
- a temperature difference is written in kelvin ("5 K"); "5 degC" is refused, because it reads as a
  temperature too;
- horsepower is refused for a power: it tells a motor's size, neither what a machine cools nor what it draws. Where a
  motor's size is asked for it may be a fraction: "1/3 hp", "1 1/2 hp";
- a volume "per revolution" may say so or not: "6.4 cm3", "6.4 cm3/rev";
- a speed counts revolutions: 60 rpm are 1 Hz;
- a fraction is a bare number or a percentage: 0.12, "0.12" or "12 %".
"""

from __future__ import annotations

import math
import re
from contextlib import suppress
from dataclasses import dataclass
from functools import cache

from mixjt.constants import ATMOSPHERE, ZERO_CELSIUS
from mixjt.errors import InputError


@dataclass(frozen=True)
class Dimension:
    """A kind of quantity: what to call it, its SI unit, how it may be written, how to show it."""

    noun: str
    unit: str  # SI, as pint spells it; "" for a bare number
    example: str
    shown_in: str = ""  # unit of messages and tables; the SI unit where empty


DIMENSIONS = {
    "pressure": Dimension("a pressure", "Pa", '"1.5 bar" or "20 psig"', "bar"),
    "pressure_difference": Dimension("a pressure difference", "Pa", '"0.1 bar"', "bar"),
    "temperature": Dimension("a temperature", "K", '"120 K" or "-150 degC"'),
    "temperature_difference": Dimension("a temperature difference", "K", '"5 K"'),
    "power": Dimension("a power", "W", '"12 W"'),
    "motor_size": Dimension("the nominal size of a motor", "W", '"1/3 hp"'),
    "volume": Dimension("a volume", "m**3", '"6.4 cm3"', "cm**3"),
    "length": Dimension("a length", "m", '"2.5 mm"', "mm"),
    "room": Dimension("a volume", "m**3", '"30 m3"'),
    "height": Dimension("a height", "m", '"2.4 m"'),
    "area": Dimension("an area", "m**2", '"3.2 cm2"', "cm**2"),
    "mass": Dimension("a mass", "kg", '"45 g"', "g"),
    "mass_flow": Dimension("a mass flow", "kg/s", '"1.2 g/s"', "g/s"),
    "time": Dimension("a time", "s", '"20 min"'),
    "velocity": Dimension("a velocity", "m/s", '"1.5 m/s"'),
    "frequency": Dimension("a speed or frequency", "Hz", '"2900 rpm" or "50 Hz"'),
    "voltage": Dimension("a voltage", "V", '"230 V"'),
    "current": Dimension("a current", "A", '"2.5 A"'),
    "heat_per_length": Dimension("a heat per length", "W/m", '"5 W/m"'),
    "heat_conductivity": Dimension("a thermal conductivity", "W/(m*K)", '"0.033 W/m/K"'),
    "heat_conductance": Dimension("a heat conductance", "W/K", '"0.05 W/K"'),
    "fraction": Dimension("a fraction", "", '0.12 or "12 %"'),
    "number": Dimension("a number", "", "1.5"),
}

# Spellings that pint lacks, or would read as something else (C as coulomb, F as farad).
_TEMPERATURE_SPELLINGS = {
    "C": "degC", "°C": "degC", "deg C": "degC", "celsius": "degC", "Celsius": "degC", "℃": "degC",
    "F": "degF", "°F": "degF", "deg F": "degF", "fahrenheit": "degF", "Fahrenheit": "degF", "℉": "degF",
    "R": "degR", "°R": "degR", "Kelvin": "K",
}  # fmt: skip
_FREQUENCY_SPELLINGS = dict.fromkeys(("rpm", "rev/min", "r/min", "RPM"), "1/min") | {"rev/s": "1/s"}

_NUMBER = re.compile(r"\s*([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*(.*?)\s*", re.DOTALL)
_FACTOR = r"[^\W\d_]+(?:_[A-Za-z]+)?(?:(?:\^|\*\*)?-?[1-4]|[²³])?"
_UNIT = re.compile(rf"(?:1\s*/\s*)?[°]?{_FACTOR}(?:\s*[/*·]\s*{_FACTOR}){{0,4}}")
_GAUGE = re.compile(r"(?P<unit>.+?)(?:\s*\(?(?:gauge|gage)\)?|\s*\(g\))|(?P<short>bar|mbar|k?Pa|MPa|psi)\s?g")
_ABSOLUTE = re.compile(
    r"(?P<unit>.+?)(?:\s*\(?abs(?:olute)?\.?\)?|\s*\(a\))|(?P<short>bar|mbar|k?Pa|MPa|psi)\s?a"
)
_VACUUM = re.compile(r"(?P<unit>.+?)\s*\(?vac(?:uum)?\.?\)?")
_INCHES_OF_MERCURY = re.compile(r"in(?:ch(?:es)?)?[\s_]*(?:of[\s_]*)?(?:hg|mercury)", re.IGNORECASE)
_HORSEPOWER = re.compile(r"(?:.*[\W\d_])?(?:\w{0,5}hp|ps|horsepower)", re.IGNORECASE)
# By SI unit, the units as they are spelled here: suggested where one differs in its capitals only.
_SPELLINGS = {
    "Pa": ("Pa", "kPa", "MPa", "bar", "mbar", "atm", "torr", "mmHg"), "K": ("K", "degC", "degF"),
    "W": ("W", "kW", "BTU/h", "kcal/h"), "m**3": ("m3", "cm3", "cc", "in3", "L"), "m": ("m", "cm", "mm", "um", "in"),
    "kg": ("kg", "g", "oz", "lb"), "s": ("s", "min", "h"), "Hz": ("Hz", "rpm"), "V": ("V",), "A": ("A",),
}  # fmt: skip
_MARKED = ("bara", "barg", "psia", "psig", "kPag", "kPaa")  # for pressures, not for their differences
_WEIGHT_PER_AREA = {"kg/cm2": "kgf/cm2", "kp/cm2": "kgf/cm2", "kg/cm2g": "kgf/cm2 gauge", "kg/cm2a": "kgf/cm2 abs"}
_HORSES = {"hp": "hp", "horsepower": "hp", "ps": "metric_horsepower"}
_FRACTION = re.compile(
    r"\s*(?P<whole>\d+(?:\.\d*)?|\.\d+)?(?:(?:(?<=\d)\s+)?(?<![\d.])(?P<above>\d+)\s*/\s*(?P<below>\d+))?\s*(?P<unit>[A-Za-z]+)\s*"
)  # of a motor's size
_PER_REVOLUTION = re.compile(r"\s*(?:/\s*rev(?:olution)?|per rev(?:olution)?)$")


def read_quantity(written, dimension: str, where: str, atmosphere: float = ATMOSPHERE) -> float:
    """The SI value of a quantity as written in a case file or on the command line.

    Parameters
    ----------
    written : str or number
        For instance "1.5 bar"; a bare number only where the dimension has no unit.
    dimension : str
        A key of DIMENSIONS.
    where : str
        The place of the value, put at the head of an error message.
    atmosphere : float
        Local atmospheric pressure [Pa], added to gauge pressures.

    Returns
    -------
    float
        Pa (absolute), K, W, m3, m, m2, kg, s, m/s, revolutions per second, V, A, W/K, W/(m K) or a bare number.

    Raises
    ------
    InputError
        For a missing, unknown, wrong or ambiguous unit, or a number that is not finite.
    """
    kind = DIMENSIONS[dimension]
    if dimension == "motor_size":
        written = _without_fraction(written)
    number, unit = _split(written, kind, where)
    if not kind.unit:
        return _bare(number, unit, kind, where)
    if not unit:
        raise InputError(
            f"{where}: {kind.noun} needs its unit, for example {kind.example}; got {shown(written)}"
        )
    if dimension == "pressure":
        return _pressure(number, unit, where, atmosphere)
    if dimension == "temperature":
        return _temperature(number, unit, where)
    if dimension == "power" and _HORSEPOWER.fullmatch(unit):
        raise InputError(
            f"{where}: {shown(written)} is the size of a motor, neither what a machine cools nor what it draws; take "
            "watts or BTU/h from the label"
        )
    if dimension == "temperature_difference" and _TEMPERATURE_SPELLINGS.get(unit, unit) in ("degC", "degF"):
        raise InputError(
            f'{where}: write a temperature difference in kelvin, for example "5 K"; got "{written}"'
        )
    if dimension == "volume":
        unit = _PER_REVOLUTION.sub("", unit)
    if dimension == "frequency":
        unit = _FREQUENCY_SPELLINGS.get(unit, unit)
    return _converted(number, unit, kind, where)


def unit_scale(unit: str, dimension: str, where: str, atmosphere: float = ATMOSPHERE) -> tuple[float, float]:
    """Scale and offset that turn numbers in a unit into SI values: every unit is linear in its number.

    Parameters and errors as `read_quantity`; of a vacuum for positive numbers.
    """
    low, high = 0.25, 0.5  # which a vacuum may be, too
    first, second = (read_quantity(f"{number} {unit}", dimension, where, atmosphere) for number in (low, high))
    scale = (second - first) / (high - low)
    return scale, first - low * scale


def says_its_zero(unit: str) -> bool:
    """Whether a unit of pressure is marked as gauge, absolute or vacuum."""
    return any(mark.fullmatch(unit) for mark in (_GAUGE, _ABSOLUTE, _VACUUM))


def shown(written) -> str:
    """A value from a case file as it would be written there."""
    if isinstance(written, bool):
        return str(written).lower()
    return f'"{written}"' if isinstance(written, str) else str(written)


def in_units(value: float, unit: str) -> float:
    """An SI value in another unit, for instance in_units(150000.0, "bar") = 1.5."""
    try:
        return value / _SCALES[unit]
    except KeyError:
        raise InputError(f'"{unit}" is not a unit of our tables') from None


def quantity_text(value: float, dimension: str, digits: int = 4, unit: str | None = None) -> str:
    """An SI value for a message, for instance "1.5 bar" or "120 K"."""
    kind = DIMENSIONS[dimension]
    unit = unit or kind.shown_in or kind.unit
    return f"{in_units(value, unit):.{digits}g} {unit}".replace("**", "").rstrip()


def written_quantity(value: float, dimension: str, like=None, atmosphere: float = ATMOSPHERE) -> str | float:
    """An SI value as `read_quantity` takes it, to ten digits.

    Parameters
    ----------
    value, dimension
        As `read_quantity` gives and takes them.
    like : str or number, optional
        A quantity of the same dimension as somebody has written it, whose unit is kept where it can say the value.
    atmosphere : float
        [Pa]
    """
    kind = DIMENSIONS[dimension]
    unit = "" if like is None else _split(like, kind, "")[1]
    if unit:
        with suppress(InputError):  # of a unit that has no such value, as a vacuum above the atmosphere
            text = f"{_number_in(value, dimension, like, atmosphere):.{WRITTEN_DIGITS}g} {unit}"
            if math.isclose(read_quantity(text, dimension, "", atmosphere), value, rel_tol=WRITTEN_EXACTLY):
                return text
    if not kind.unit:
        return _rounded(value, WRITTEN_DIGITS)
    large = in_units(value, kind.shown_in or kind.unit) >= LONG and value < LONG
    return quantity_text(value, dimension, WRITTEN_DIGITS, kind.unit if large and value >= 1.0 else None)


def _number_in(value: float, dimension: str, like: str, atmosphere: float) -> float:
    """The number before the unit of a written quantity that makes it an SI value.

    Every unit is linear in its number, gauge pressures and degrees Celsius too, so two readings tell how.
    """
    number, unit = _split(like, DIMENSIONS[dimension], "")
    other = 0.9 * number if number else 1.0
    here, there = (read_quantity(f"{n!r} {unit}", dimension, "", atmosphere) for n in (number, other))
    return number + (value - here) * (other - number) / (there - here)


def kelvin_text(temperature: float) -> str:
    """For instance "250.2 K (-23 degC)"."""
    return f"{temperature:.1f} K ({temperature - ZERO_CELSIUS:.0f} degC)"


def bar_text(pressure: float) -> str:
    """For instance "1.35 bar"."""
    return f"{pressure / 1e5:.3g} bar"


def apart(first: float, second: float, dimension: str, digits: int = 4) -> tuple[str, str]:
    """Two SI values for one message, with as many digits as it takes to see how far they are apart."""
    for more in range(digits, 17):
        if abs(_rounded(first, more) - _rounded(second, more) - (first - second)) <= 0.5 * abs(first - second):
            digits = more
            break
    return quantity_text(first, dimension, digits), quantity_text(second, dimension, digits)


def _rounded(value: float, digits: int) -> float:
    return float(f"{value:.{digits}g}")


WRITTEN_DIGITS, WRITTEN_EXACTLY = 10, 1e-8  # of a number in a case file, and what reading it again may change, relative
LONG = 1000.0  # from which a number is written in the larger SI unit, as metres
# The units of our own tables and messages, in SI.
_SCALES = {"bar": 1e5, "cm**3": 1e-6, "mm": 1e-3, "cm**2": 1e-4, "g": 1e-3, "%": 0.01, "g/s": 1e-3,
           "kJ/mol": 1e3, "": 1.0} | {kind.unit: 1.0 for kind in DIMENSIONS.values()}  # fmt: skip


def _split(written, kind: Dimension, where: str) -> tuple[float, str]:
    """Number and unit text of a written quantity."""
    if isinstance(written, bool) or not isinstance(written, (str, int, float)):
        raise InputError(f"{where}: needs {kind.noun}, for example {kind.example}; got {shown(written)}")
    match = _NUMBER.fullmatch(str(written))
    if not match:
        raise InputError(f"{where}: needs {kind.noun}, for example {kind.example}; got {shown(written)}")
    number, unit = float(match[1]), match[2]
    if not math.isfinite(number):
        raise InputError(f"{where}: {shown(written)} is not a finite number")
    if re.match(r",\d", unit):
        raise InputError(f"{where}: write the decimal sign as a point, not a comma; got {shown(written)}")
    return number, unit


def _without_fraction(written):
    """A size such as "1 1/2 HP" with a decimal number, and its unit as pint spells it."""
    match = _FRACTION.fullmatch(written) if isinstance(written, str) else None
    if not match or not (match["whole"] or match["above"]) or float(match["below"] or 1) == 0.0:
        return written
    number = float(match["whole"] or 0.0) + float(match["above"] or 0.0) / float(match["below"] or 1.0)
    return f"{number!r} {_HORSES.get(match['unit'].lower(), match['unit'])}"


def _bare(number: float, unit: str, kind: Dimension, where: str) -> float:
    if not unit:
        return number
    if unit in ("%", "percent") and kind.noun == "a fraction":
        return number / 100.0
    raise InputError(f'{where}: {kind.noun} has no unit, for example {kind.example}; got "{number:g} {unit}"')


def _pressure(number: float, unit: str, where: str, atmosphere: float) -> float:
    """Absolute pressure [Pa] from a gauge or absolute one."""
    if unit.lower() == "psi":
        raise InputError(f'{where}: "{number:g} {unit}" may be absolute or gauge; say psia or psig')
    gauge, absolute, vacuum = _GAUGE.fullmatch(unit), _ABSOLUTE.fullmatch(unit), _VACUUM.fullmatch(unit)
    marked = gauge or absolute or vacuum
    groups = marked.groupdict() if marked else {"unit": unit}
    plain = (groups["unit"] or groups["short"]).strip()
    if _INCHES_OF_MERCURY.fullmatch(plain):
        if not (absolute or vacuum or (gauge and number < 0.0)):
            raise InputError(
                f'{where}: "{number:g} {unit}" may be vacuum, as a service gauge reads, or absolute; say '
                f'"{number:g} inHg vacuum" or "{number:g} inHg abs"'
            )
        plain = "inHg"
    value = _converted(number, plain, DIMENSIONS["pressure"], where)
    if gauge or vacuum:
        value = atmosphere + (value if gauge else -abs(value))
    if value <= 0.0:
        kind = "gauge " if gauge else ""
        raise InputError(f'{where}: "{number:g} {unit}" is a {kind}pressure at or below vacuum')
    return value


def _temperature(number: float, unit: str, where: str) -> float:
    if re.match(r"delta|[Δ∆]", unit, re.IGNORECASE):
        raise InputError(
            f'{where}: "{number:g} {unit}" is a temperature difference, but a temperature is due, like '
            f"{DIMENSIONS['temperature'].example}"
        )
    value = _converted(number, _TEMPERATURE_SPELLINGS.get(unit, unit), DIMENSIONS["temperature"], where)
    if value <= 0.0:
        raise InputError(f'{where}: "{number:g} {unit}" is at or below absolute zero')
    return value


def _converted(number: float, unit: str, kind: Dimension, where: str) -> float:
    """A number with a plain unit, in the SI unit of its kind."""
    near = _near_unit(unit, kind)
    problem = InputError(
        f'{where}: "{unit}" is not a unit of {_without_article(kind.noun)}; write it like {kind.example}'
        + (f'; did you mean "{near}"?' if near else "")
    )
    if not _UNIT.fullmatch(unit) or len(unit) > 30:
        raise problem
    spelled = re.sub(r"(?<=[^\W\d_])(?=-?[1-4])", "**", unit).replace("^", "**").replace("·", "*")
    try:
        value = float(_registry().Quantity(number, spelled).to(kind.unit).magnitude)
    except (AttributeError, TypeError, ValueError, ArithmeticError):  # the bases of pint's own errors
        raise problem from None
    if not math.isfinite(value):
        raise InputError(f'{where}: "{number:g} {unit}" is not a finite number')
    return value


def _near_unit(unit: str, kind: Dimension) -> str | None:
    """The unit that was meant, where only its capitals or the kind of kilogram are wrong."""
    known = {name.lower(): name for name in _SPELLINGS.get(kind.unit, ())}
    if kind.unit == "Pa":
        known |= _WEIGHT_PER_AREA
    if kind is DIMENSIONS["pressure"]:
        known |= {name.lower(): name for name in _MARKED}
    near = known.get(re.sub(r"\s", "", unit.lower()))
    return None if near == unit else near


def _without_article(noun: str) -> str:
    return noun.removeprefix("an ").removeprefix("a ")


@cache
def _registry():
    import pint  # takes a third of a second to load: only when a quantity is read

    try:
        return pint.UnitRegistry(cache_folder=":auto:")  # its definitions, parsed, in the user's cache directory
    except OSError:
        return pint.UnitRegistry()
