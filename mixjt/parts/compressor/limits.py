"""What a compressor stands: its limits, by how much a compression keeps them, and what to say where it does not.

Each limit belongs to the place where it is measured: the valve's is that of the gas as it leaves the cylinder,
T(h1 + w); the discharge's that of the line outside, where the shell has taken its loss. That of the suction pressure
comes from the label, that of the current from there or from the user, that of the power from the user. What has the attributes that are limited may be asked: a compression, a solved circuit,
the cycle of a vapour-compression stage.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from mixjt.constants import ZERO_CELSIUS
from mixjt.parts.compressor.compression import Compressor
from mixjt.units import apart

RELATIVE = "%"


@dataclass(frozen=True)
class Limit:
    """The greatest value of an attribute.

    text is a sentence with room for value and largest; dimension and digits say how these are written. unit is that of margins, K or %. set_by
    names the pressures that alone decide the value, whatever the blend.
    """

    attribute: str
    text: str
    dimension: str
    digits: int = 3
    unit: str = RELATIVE
    set_by: tuple[str, ...] = ()

    @property
    def name(self) -> str:
        """In words, for instance "valve temperature"."""
        return self.attribute.replace("_", " ")

    @property
    def field(self) -> str:
        """Of the compressor."""
        return f"largest_{self.attribute}"

    def margin(self, value, compressor: Compressor):
        """By how much values, an array or a number, keep the limit, in `unit`; negative where they pass it.

        Relative ones are logarithms, nearly per cent: one is worth about as much as a kelvin.
        """
        largest = getattr(compressor, self.field)
        return 100.0 * np.log(largest / value) if self.unit == RELATIVE else largest - value

    def kept(self, found, compressor: Compressor) -> float:
        """The margin of a compression or its like."""
        return float(self.margin(getattr(found, self.attribute), compressor))

    def sentence(self, found, compressor: Compressor) -> str:
        """What is wrong with a compression or its like that passes the limit."""
        numbers = getattr(found, self.attribute), getattr(compressor, self.field)
        value, largest = apart(*numbers, self.dimension, self.digits)
        if self.dimension == "temperature":
            value += f" ({numbers[0] - ZERO_CELSIUS:.0f} degC)"
        return self.text.format(value=value, largest=largest)


LIMITS = (
    Limit(
        "discharge_temperature",
        "the discharge is too hot: {value} in the line against at most {largest} for oil and valves. Lower the pressure "
        "ratio or cool the shell",
        "temperature",
        4,
        "K",
    ),
    Limit(
        "valve_temperature",
        "the gas at the discharge valve is too hot: {value} against at most {largest}, where oil carbonises; cooling the "
        "shell does not help it. Lower the pressure ratio or the suction temperature",
        "temperature",
        4,
        "K",
    ),
    Limit(
        "supply_current",
        "the motor draws {value}, more than the {largest} of its label or supply: it overheats until its protector trips. "
        "Lower the pressures or choose a blend that needs less work",
        "current",
    ),
    Limit(
        "electrical_power",
        "the compressor draws {value}, more than the {largest} allowed. Lower the pressures or choose a blend that needs "
        "less work",
        "power",
    ),
    Limit(
        "pressure_ratio",
        "the pressure ratio of {value} is beyond the {largest} that one stage of such a compressor stands for long",
        "number",
        set_by=("suction", "discharge"),
    ),
    Limit(
        "suction_pressure",
        "the suction pressure of {value} is above the {largest} that the label's refrigerant has at its warmest: the "
        "motor is overloaded. Lower it",
        "pressure",
        set_by=("suction",),
    ),
)  # fmt: skip


def known_limits(compressor: Compressor) -> tuple[Limit, ...]:
    """Those that are stated for a compressor; that of the current only where a voltage gives a current."""
    return tuple(limit for limit in LIMITS if getattr(compressor, limit.field) is not None and not (
        limit.attribute == "supply_current" and compressor.supply_voltage is None
    ))  # fmt: skip


def exceeded(found, compressor: Compressor) -> tuple[Limit, ...]:
    """The limits that a compression or its like passes."""
    return tuple(limit for limit in known_limits(compressor) if limit.kept(found, compressor) < 0.0)


def limit_warnings(found, compressor: Compressor) -> list[str]:
    """Sentences on the limits that a compression or its like passes, and on a current that cannot be compared."""
    return [limit.sentence(found, compressor) for limit in exceeded(found, compressor)] + unknown_current(compressor)


def unknown_current(compressor: Compressor) -> list[str]:
    """A sentence where a current that nobody can calculate is limited."""
    if compressor.largest_supply_current is None or compressor.supply_voltage is not None:
        return []
    return [
        (f"the current is not compared with the largest, {compressor.largest_supply_current:.3g} A: state voltage in "
        "[compressor]")
    ]
