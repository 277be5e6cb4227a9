"""A new case file made of answers: annotated, ready to be filled in further, read back before anybody gets it."""

from __future__ import annotations

import textwrap
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property

from mixjt.blend import Ingredient, pure_ingredient
from mixjt.case.bottles import amounts_from_text
from mixjt.case.case import Case, case_of
from mixjt.case.questions import BOTTLE, COMPRESSOR, QUESTIONS, RANGE, STAND_INS, Question, groups
from mixjt.case.read import case_file
from mixjt.case.ready_lines import ALWAYS, READY
from mixjt.case.schema import located, read_entry
from mixjt.case.tables import BOTTLE_TABLE, CHARGE_TABLE, MASS, TABLES, TOP
from mixjt.constants import ATMOSPHERE
from mixjt.errors import InputError
from mixjt.keys import Key
from mixjt.units import read_quantity, shown, written_quantity

WIDTH = 100
GUESS = "set by mixjt start: a guess"
MOTOR_SIZE = ("rating", "nominal_power")
CHARGED = "20 g"  # an example
FEW = 8  # choices that a line names
HEAD = f"""
Written by mixjt start: a machine as a text file, for every command of mixjt. docs/case-file.md lists \
all keys.
A line that begins with "#" and no blank is ready to be filled in: put your own value there and take \
the "#" away. Its value is an example.
What ends with "{GUESS}" nobody has told yet: replace it by what you know.
Every quantity has its unit. A pressure is absolute unless marked as gauge: 2 bar are about 1 barg, or \
14.5 psig.
Flammable gas, pressure, cold burns, asphyxiation, and oxygen where air condenses: read docs/bench.md \
before anything is built. Local codes and licensed practice decide.
""".strip().splitlines()
Answers = Mapping[str, "str | tuple[str, ...]"]  # by question, as written; the bottles one by one


@dataclass(frozen=True)
class NewCase:
    """A case made of answers to questions."""

    answers: Answers

    @cached_property
    def guessed(self) -> dict[str, str]:
        """By question, what is written where there is no answer."""
        left = (one for one in QUESTIONS if one.name not in self.answers and one.applies(self.answers))
        found = {one.name: one.guess_for(self.answers[COMPRESSOR]) for one in left}
        return {name: text for name, text in found.items() if text}

    @cached_property
    def entries(self) -> dict[tuple[str, str], object]:
        """What is written, by table and key."""
        found = {}
        for question in QUESTIONS:
            text = (self.answers | self.guessed).get(question.name)
            if text is not None and question.places:
                found |= _entries(question, text)
        return found | ALWAYS

    @cached_property
    def guesses(self) -> dict[tuple[str, str], object]:
        """Those of the entries that nobody has answered, and the size of a motor, which tells little."""
        places = {place for one in QUESTIONS if one.name in self.guessed for place in one.places}
        places |= {MOTOR_SIZE, *ALWAYS}
        places |= {one.places[0] for one in QUESTIONS if one.apart == RANGE and one.places[1] in self.entries}
        return {place: value for place, value in self.entries.items() if place in places}

    @cached_property
    def text(self) -> str:
        """The case file."""
        title = _line("title", TOP["title"], self.entries.get(("", "title")), "cold receiver", "")
        bottles = [_bottle(text) for text in self.answers[BOTTLE]]
        parts = [*map(_comment, HEAD), "", *title, ""]
        for name in READY:
            if name != "recuperator" or "tube_length" not in self.answers or "approach" in self.answers:
                parts += [*self._table(name), ""]
        return "\n".join([*parts, *_charge(bottles), *_bottle_lines(bottles)]) + "\n"

    def read(self, path) -> Case:
        """The case as it is read again.

        Raises
        ------
        InputError
            For answers that make no machine; no line is named, as the file is not there yet.
        """
        return case_of(replace(case_file(path, self.text), text=""))

    def _table(self, name: str) -> list[str]:
        """A table with its answered lines, and others ready to be filled in."""
        table, stated = TABLES[name], {key for place, key in self.entries if place == name}
        lines = [_comment(f"{_begun(table.help)}."), f"[{name}]" if stated else f"#[{name}]"]
        for key, (example, how) in READY[name].items():
            remark = f"  # {GUESS}" if (name, key) in self.guesses else ""
            lines += _line(key, table.keys[key], self.entries.get((name, key)), example, how, remark)
        return lines


def as_stated(entries: Mapping[tuple[str, str], object]) -> list[str]:
    """For instance "[circuit] suction_pressure = "2 bar"", by table and key."""
    return [f"[{table}] {key} = {_toml(value)}" for (table, key), value in entries.items()]


def checked_answer(question: Question, text: str) -> str | tuple[str, ...]:
    """An answer as it is kept, that to the question for bottles as a tuple; each part is one that a case takes.

    Raises
    ------
    InputError
        As the reader of case files says it.
    """
    if question.name == BOTTLE:
        bottles = tuple(part.strip() for part in ([text] if ":" in text else text.split(",")))
        for bottle in bottles:
            _ingredient(bottle)
        return bottles
    for (table, key), written in _entries(question, text).items():
        read_entry(written, TABLES[table].keys[key] if table else TOP[key], question.option, ATMOSPHERE)
    return text.strip()


def checked_together(answers: Answers, passed: int, path) -> None:
    """Check the answers to so many groups of questions as a whole case, with others to stand in for the rest.

    Raises
    ------
    InputError
        Where they do not go together.
    """
    asked, later = groups()[:passed], groups()[passed:]
    known = {one.name: answers[one.name] for group in asked for one in group if one.name in answers}
    for group in later:
        known |= STAND_INS.get(group[0].group, {})
    NewCase(known).read(path)


def _entries(question: Question, text: str) -> dict[tuple[str, str], object]:
    """What an answer puts into the case."""
    parts = question.parts(text)
    if question.apart == RANGE:
        alone, between = question.places
        several = len(parts) > 1
        return {alone: _middle(parts, question.option), between: parts} if several else {alone: parts[0]}
    if len(parts) != len(question.places):
        raise InputError(f"{question.option}: needs {question.words}; got {shown(text)}")
    return dict(zip(question.places, parts, strict=True))


def _middle(parts: list[str], where: str) -> str | float:
    low, high = (read_quantity(part, "pressure", where) for part in (parts[0], parts[-1]))
    return written_quantity(0.5 * (low + high), "pressure", parts[0])


def _bottle(text: str) -> dict:
    """A bottle as a case file states it: "nitrogen", or "camping gas: propane=0.3, n-butane=0.7"."""
    name, mixture, composition = (part.strip() for part in text.partition(":"))
    return {"name": name, "composition": amounts_from_text(composition)} if mixture else {"gas": name}


def _ingredient(text: str) -> Ingredient:
    option = next(one.option for one in QUESTIONS if one.name == BOTTLE)
    with located(option):
        if not text.partition(":")[0].strip():
            raise InputError(f"a bottle needs the name of a gas or of a mixture; got {shown(text)}")
        bottle = _bottle(text)
        if "gas" in bottle:
            return pure_ingredient(bottle["gas"])
        return Ingredient(bottle["name"], tuple(bottle["composition"]), tuple(bottle["composition"].values()))


def _bottle_lines(bottles: list[dict]) -> list[str]:
    lines = [_comment("What can be bought: gases, or mixtures by the mole fractions of their liquid.")]
    for bottle in bottles:
        lines += [f"[[{BOTTLE_TABLE}]]", *(f"{key} = {_toml(value)}" for key, value in bottle.items()), ""]
    return lines[:-1]


def _charge(bottles: list[dict]) -> list[str]:
    """The table of what has been weighed in, to be filled in."""
    names = [bottle.get("gas") or bottle["name"] for bottle in bottles]
    about = f"{_begun(MASS.help)}, weighed. With [volumes] mixjt cycle tells what circulates of it."
    lines = [f"#{_key(name)} = {_toml(CHARGED)}" for name in names]
    return [_comment(about), f"#[{CHARGE_TABLE}]", *lines, ""]


def _line(name: str, entry: Key, stated, example, how: str, remark: str = "") -> list[str]:
    """What a key means and how to find it, and below that the line that states it, or is ready to."""
    choices = f" ({', '.join(entry.choices)})" if 1 < len(entry.choices) <= FEW else ""
    about = _comment("; ".join(filter(None, (f"{entry.help}{choices}", how))))
    return [about, f"#{name} = {_toml(example)}" if stated is None else f"{name} = {_toml(stated)}{remark}"]


def _begun(text: str) -> str:
    return text[0].upper() + text[1:]


def _comment(text: str) -> str:
    whole = {"break_long_words": False, "break_on_hyphens": False}
    return textwrap.fill(text, WIDTH, initial_indent="# ", subsequent_indent="# ", **whole)


def _toml(value) -> str:
    import tomlkit

    if isinstance(value, dict):
        return f"{{{', '.join(f'{_key(name)} = {_toml(one)}' for name, one in value.items())}}}"
    return tomlkit.item(value).as_string()


def _key(name: str) -> str:
    import tomlkit

    return tomlkit.key(name).as_string()
