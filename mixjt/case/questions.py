"""What `mixjt start` asks for: each question is an option of it too, and says where in the case its answer stands.

Nothing heavy is imported, because the options are made of this. Guesses are common practice, no source: orders of
magnitude of small machines made of salvaged parts.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

BOTTLE = "bottle"
COMPRESSOR, PRESSURES, RECUPERATOR = "compressor", "pressures", "recuperator"
RANGE, SIZES = r"\s+to\s+", r"\s*[x\u00d7]\s*"  # between the parts of an answer
_BARE_NUMBER, _NUMBER = re.compile(r"[+-]?[\d.]+"), re.compile(r"[+-]?[\d.]+\s*")


@dataclass(frozen=True)
class Question:
    """One question.

    words ask it, and explain the option. places are (table, key) of the case, one for each part of an answer, between
    which stands apart; with RANGE, that of a single value and that of a lower and an upper one. guess is written where
    there is no answer, by type of compressor where it goes with that. It is asked where one of after is answered, or
    after is empty, and none of unless. Questions of a group are checked together.
    """

    name: str
    words: str
    places: tuple[tuple[str, str], ...] = ()
    group: str = ""
    needed: bool = False
    guess: str | Mapping[str, str] = ""
    after: tuple[str, ...] = ()
    unless: tuple[str, ...] = ()
    apart: str = ""

    @property
    def option(self) -> str:
        """As typed."""
        return f"--{self.name.replace('_', '-')}"

    def applies(self, answered: Iterable[str]) -> bool:
        """Whether it is to be asked beside those that are answered."""
        known = set(answered)
        return (not self.after or not known.isdisjoint(self.after)) and known.isdisjoint(self.unless)

    def guess_for(self, kind: str) -> str:
        """What is written where there is no answer."""
        return self.guess if isinstance(self.guess, str) else self.guess.get(kind, "")

    def parts(self, answer: str) -> list[str]:
        """The parts of an answer; a bare number has the unit of the last: "2 to 5 bar"."""
        parts = re.split(self.apart, answer.strip()) if self.apart else [answer.strip()]
        unit = _NUMBER.sub("", parts[-1], count=1)
        return [
            f"{part} {unit}".rstrip() if _BARE_NUMBER.fullmatch(part) and len(parts) > 1 else part
            for part in parts
        ]


QUESTIONS = (
    Question("title", "a name for the machine", (("", "title"),)),
    Question(
        "ambient",
        'temperature of the air around the machine, as "25 degC"',
        (("ambient", "temperature"),),
        guess="25 degC",
    ),
    Question(
        "compressor",
        "the kind of compressor: reciprocating, rotary or scroll",
        (("compressor", "type"),),
        COMPRESSOR,
        needed=True,
    ),
    Question(
        "capacity", 'capacity on its label, as "4000 BTU/h" or "180 W"', (("rating", "capacity"),), COMPRESSOR
    ),
    Question(
        "displacement",
        'swept volume per revolution, as "6.4 cm3"',
        (("compressor", "displacement"),),
        COMPRESSOR,
        unless=("capacity",),
    ),
    Question(
        "speed",
        'speed of its shaft, as "2900 rpm"',
        (("compressor", "speed"),),
        COMPRESSOR,
        needed=True,
        after=("displacement",),
        unless=("capacity",),
    ),
    Question(
        "motor_size",
        'nominal size of its motor, as "1/3 hp", for a wide guess',
        (("rating", "nominal_power"),),
        COMPRESSOR,
        needed=True,
        unless=("capacity", "displacement"),
    ),
    Question(
        "refrigerant",
        'refrigerant on the label, as "R-134a"',
        (("rating", "refrigerant"),),
        COMPRESSOR,
        needed=True,
        after=("capacity",),
    ),
    Question(
        "rating_point",
        "what that capacity is rated for: low, medium or high back-pressure (freezer, refrigerator, "
        "dehumidifier) or air conditioning",
        (("rating", "point"),),
        COMPRESSOR,
        needed=True,
        after=("capacity",),
    ),
    Question(
        "supply_frequency",
        'frequency of the supply, as "60 Hz"',
        (("rating", "frequency"),),
        COMPRESSOR,
        guess="50 Hz",
        after=("capacity", "motor_size"),
    ),
    Question("voltage", 'voltage of the supply, as "230 V"', (("compressor", "voltage"),), COMPRESSOR),
    Question(
        "rated_current",
        'rated current (RLA) on the label, as "2.2 A"',
        (("rating", "rated_current"),),
        COMPRESSOR,
    ),
    Question(
        "suction_pressure",
        'pressure at the compressor inlet, or what to search between, as "1.5 to 4 bar"',
        (("circuit", "suction_pressure"), ("search", "suction_pressure_range")),
        PRESSURES,
        apart=RANGE,
        guess={"reciprocating": "1.2 bar to 2.5 bar", "rotary": "2 bar to 5 bar", "scroll": "2 bar to 5 bar"},
    ),
    Question(
        "discharge_pressure",
        "pressure at the compressor outlet, likewise; below what the weakest part stands",
        (("circuit", "discharge_pressure"), ("search", "discharge_pressure_range")),
        PRESSURES,
        apart=RANGE,
        guess={
            "reciprocating": "10 bar to 16 bar",
            "rotary": "12 bar to 20 bar",
            "scroll": "12 bar to 20 bar",
        },
    ),
    Question(
        "tubes",
        "tubes of the recuperator, if you know them: tube in tube, tubes in shell or soldered tubes",
        (("recuperator_tubes", "kind"),),
        RECUPERATOR,
    ),
    Question(
        "small_tube",
        'its inner or soldered-on tube, outside diameter x wall, as "6 x 1 mm"',
        (("recuperator_tubes", "small_diameter"), ("recuperator_tubes", "small_wall")),
        RECUPERATOR,
        needed=True,
        after=("tubes",),
        apart=SIZES,
    ),
    Question(
        "large_tube",
        'its outer or large tube, as "12 x 1 mm"',
        (("recuperator_tubes", "large_diameter"), ("recuperator_tubes", "large_wall")),
        RECUPERATOR,
        needed=True,
        after=("tubes",),
        apart=SIZES,
    ),
    Question(
        "tube_length",
        'length of the recuperator, as "30 m"',
        (("recuperator_tubes", "length"),),
        RECUPERATOR,
        after=("tubes",),
    ),
    Question(
        "approach",
        'smallest temperature difference in the recuperator, as "4 K"',
        (("recuperator", "approach"),),
        RECUPERATOR,
        guess="4 K",
        unless=("tube_length",),
    ),
    Question(
        "cold_end",
        'how cold the warmest point of the load must be, as "120 K" or "-150 degC"',
        (("cold_end", "temperature"),),
        "cold end",
        needed=True,
    ),
    Question("load", 'heat to be removed there, as "12 W"', (("cold_end", "load"),), "cold end"),
    Question(
        BOTTLE,
        'what you can buy: gases, as "nitrogen, ethane", or one mixture, as "camping gas: propane=0.3, '
        'n-butane=0.7"',
        group="bottles",
        needed=True,
    ),
)
STAND_INS = {  # of groups that are still to be asked, so that the others can be checked as a whole case
    COMPRESSOR: {"compressor": "rotary", "displacement": "5 cm3", "speed": "2900 rpm"},
    PRESSURES: {"suction_pressure": "0.1 bar", "discharge_pressure": "100 bar"},
    RECUPERATOR: {},
    "cold end": {"cold_end": "60 K"},
    "bottles": {BOTTLE: ("nitrogen",)},
}


def groups() -> list[tuple[Question, ...]]:
    """The questions that are checked together, in turn."""
    named = dict.fromkeys(question.group for question in QUESTIONS)
    return [tuple(one for one in QUESTIONS if one.group == name) for name in named]


def unanswered(answers: Mapping) -> list[Question]:
    """Needed questions without an answer."""
    return [one for one in QUESTIONS if one.needed and one.name not in answers and one.applies(answers)]
