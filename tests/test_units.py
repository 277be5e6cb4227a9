"""Quantities as written. Conversion factors are exact by definition unless a source is named.

Definitions: 1 in = 25.4 mm, 1 lb = 0.45359237 kg (international yard and pound, 1959); standard gravity
9.80665 m/s2 and standard atmosphere 101325 Pa (CGPM); degrees Celsius and Fahrenheit by definition.
"""

import subprocess
import sys

import pytest

from mixjt.constants import ATMOSPHERE
from mixjt.errors import InputError
from mixjt.units import apart, in_units, quantity_text, read_quantity, says_its_zero, unit_scale

INCH_OF_MERCURY = 3386.389  # Pa, conventional: NIST Special Publication 811 (2008), table B.8
PSI = 0.45359237 * 9.80665 / 0.0254**2  # Pa


@pytest.mark.parametrize(
    "written, dimension, value",
    [
        ("1.5 bar", "pressure", 1.5e5),
        ("1.5bara", "pressure", 1.5e5),
        ("1.5 bar abs", "pressure", 1.5e5),
        ("1.5 bar (a)", "pressure", 1.5e5),
        ("150 kPa", "pressure", 1.5e5),
        ("1 atm", "pressure", ATMOSPHERE),
        ("22 psia", "pressure", 22 * PSI),
        ("0.5 barg", "pressure", 0.5e5 + ATMOSPHERE),
        ("0.5 bar gauge", "pressure", 0.5e5 + ATMOSPHERE),
        ("50 kPag", "pressure", 0.5e5 + ATMOSPHERE),
        ("-0.3 bar (g)", "pressure", ATMOSPHERE - 0.3e5),
        ("7 psig", "pressure", 7 * PSI + ATMOSPHERE),
        ("10 inHg vacuum", "pressure", ATMOSPHERE - 10 * INCH_OF_MERCURY),
        ("-10 in Hg vac", "pressure", ATMOSPHERE - 10 * INCH_OF_MERCURY),
        ("-10 inHg gauge", "pressure", ATMOSPHERE - 10 * INCH_OF_MERCURY),
        ("10 inHg abs", "pressure", 10 * INCH_OF_MERCURY),
        ("0.3 bar (vacuum)", "pressure", ATMOSPHERE - 0.3e5),
        ("1 kgf/cm2", "pressure", 98066.5),
        ("2 psi", "pressure_difference", 2 * PSI),
        ("120 K", "temperature", 120.0),
        ("-150 degC", "temperature", 123.15),
        ("-40 °C", "temperature", 233.15),
        ("-40 C", "temperature", 233.15),
        ("-40 F", "temperature", 233.15),
        ("-40 deg F", "temperature", 233.15),
        ("5 K", "temperature_difference", 5.0),
        ("6.4 cm3", "volume", 6.4e-6),
        ("6.4 cm^3/rev", "volume", 6.4e-6),
        ("6.4 cc per revolution", "volume", 6.4e-6),
        ("1 in³", "volume", 0.0254**3),
        ("2.5mm", "length", 2.5e-3),
        ("3 cm2", "area", 3e-4),
        ("45 g", "mass", 0.045),
        ("2900 rpm", "frequency", 2900 / 60),
        ("50 Hz", "frequency", 50.0),
        ("48 rev/s", "frequency", 48.0),
        ("12 W", "power", 12.0),
        ("0.05 W/K", "heat_conductance", 0.05),
        ("230 V", "voltage", 230.0),
        ("20 min", "time", 1200.0),
        ("12 %", "fraction", 0.12),
        ("12%", "fraction", 0.12),
        ("0.12", "fraction", 0.12),
        (0.12, "fraction", 0.12),
        (3, "number", 3.0),
    ],
)
def test_reads(written, dimension, value):
    digits = 1e-6 if "Hg" in str(written) else 1e-12  # the inch of mercury is known to seven digits
    assert read_quantity(written, dimension, "here") == pytest.approx(value, rel=digits)


def test_gauge_pressure_counts_from_the_local_atmosphere():
    assert read_quantity("1 barg", "pressure", "here", atmosphere=80e3) == pytest.approx(180e3)
    assert read_quantity("1 bara", "pressure", "here", atmosphere=80e3) == pytest.approx(100e3)


@pytest.mark.parametrize(
    "written, dimension, complaint",
    [
        (1.5, "pressure", 'a pressure needs its unit, for example "1.5 bar"'),
        ("120", "temperature", "a temperature needs its unit"),
        ("20 psi", "pressure", "say psia or psig"),
        ("-2 barg", "pressure", "at or below vacuum"),
        ("0 bar", "pressure", "at or below vacuum"),
        ("10 inHg", "pressure", 'say "10 inHg vacuum" or "10 inHg abs"'),
        ("10 inches of mercury gauge", "pressure", 'say "10 inHg vacuum" or "10 inHg abs"'),
        ("31 inHg vacuum", "pressure", "at or below vacuum"),
        ("20 PSI", "pressure", "say psia or psig"),
        ("20 PSIA", "pressure", 'did you mean "psia"?'),
        ("2 kg/cm2", "pressure", 'did you mean "kgf/cm2"?'),
        ("2 kg/cm2 g", "pressure", 'did you mean "kgf/cm2 gauge"?'),
        ("1 hp", "power", "the size of a motor"),
        ("1/4 HP", "power", "the size of a motor"),
        ("0.5 metric_horsepower", "power", "the size of a motor"),
        ("300 delta_degC", "temperature", "is a temperature difference, but a temperature is due"),
        ("5 Δ°C", "temperature", "is a temperature difference, but a temperature is due"),
        ("5 watt", "pressure", '"watt" is not a unit of pressure; write it like "1.5 bar" or "20 psig"'),
        ("1.5 Bar", "pressure", '"Bar" is not a unit of pressure'),
        ("1,5 bar", "pressure", "as a point, not a comma"),
        ("5 barg", "pressure_difference", '"barg" is not a unit of pressure difference'),
        ("12 m", "power", '"m" is not a unit of power'),
        ("120 k", "temperature", '"k" is not a unit of temperature'),
        ("-300 degC", "temperature", "at or below absolute zero"),
        ("5 degC", "temperature_difference", "in kelvin"),
        ("nan K", "temperature", "needs a temperature"),
        ("inf bar", "pressure", "needs a pressure"),
        ("1e999 bar", "pressure", "not a finite number"),
        (float("nan"), "fraction", "needs a fraction"),
        ("12 W", "fraction", "a fraction has no unit"),
        (True, "fraction", "got true"),
        ([1.0], "pressure", "needs a pressure"),
        ("1 m**9**9**9", "length", "is not a unit of length"),
        ("", "pressure", "needs a pressure"),
    ],
)
def test_refuses(written, dimension, complaint):
    with pytest.raises(InputError) as refused:
        read_quantity(written, dimension, "[table] key")
    assert str(refused.value).startswith("[table] key: ")
    assert complaint in str(refused.value)


def test_a_difference_of_pressures_is_not_told_to_be_gauge():
    with pytest.raises(InputError) as refused:
        read_quantity("2 PSIG", "pressure_difference", "here")
    assert "did you mean" not in str(refused.value)


def test_limits_and_what_exceeds_them_read_differently():
    assert apart(1.0130e5, 1.01325e5, "pressure", 3) == ("1.013 bar", "1.0132 bar")
    assert apart(393.16, 393.15, "temperature", 4) == ("393.16 K", "393.15 K")
    assert apart(2e5, 3e5, "pressure") == ("2 bar", "3 bar")
    assert apart(2e5, 2e5, "pressure") == ("2 bar", "2 bar")


@pytest.mark.parametrize(
    "unit, dimension, scale, offset",
    [
        ("degF", "temperature", 5.0 / 9.0, 459.67 * 5.0 / 9.0),
        ("°C", "temperature", 1.0, 273.15),
        ("bar g", "pressure", 1e5, 90000.0),
        ("psia", "pressure", PSI, 0.0),
        ("inHg vacuum", "pressure", -INCH_OF_MERCURY, 90000.0),
        ("mA", "current", 1e-3, 0.0),
    ],
)
def test_numbers_in_a_unit_are_scaled_as_one_by_one(unit, dimension, scale, offset):
    assert unit_scale(unit, dimension, "here", 90000.0) == pytest.approx((scale, offset), rel=1e-6, abs=1e-6)


def test_pressures_that_say_their_zero():
    assert all(map(says_its_zero, ("bar g", "barg", "bar(g)", "psig", "bar abs", "psia", "kPa gauge", "inHg vacuum")))
    assert not any(map(says_its_zero, ("bar", "psi", "Pa", "kPa", "mmHg")))


def test_shows():
    assert in_units(6.4e-6, "cm**3") == pytest.approx(6.4)
    assert quantity_text(1.5e5, "pressure") == "1.5 bar"
    assert quantity_text(6.4e-6, "volume") == "6.4 cm3"
    assert quantity_text(0.25, "fraction") == "0.25"


def test_pint_is_loaded_only_when_a_quantity_is_read():
    code = "import sys, mixjt.units; sys.exit('pint' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
