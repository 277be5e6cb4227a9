"""What the header of a column of a log says: which place is read there, and in what unit."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache

from mixjt.errors import InputError
from mixjt.studies.trial.log import PLACES
from mixjt.units import says_its_zero, unit_scale

KINDS = tuple(dict.fromkeys(place.kind for place in PLACES))
# What a word means, in the words of `log.PLACES`
_MEANINGS = {
    "suction": "suction suct suc low lo lowside lp return",
    "discharge": "discharge disch dis high hi highside hp head",
    "compressor": "compressor comp compr",
    "shell": "shell dome housing crankcase",
    "aftercooler": "aftercooler condenser cond gascooler",
    "throttle": "throttle capillary cap valve expansion restrictor orifice jt",
    "evaporator": "evaporator evap cold coldend",
    "ambient": "ambient amb room air surroundings",
    "supply": "supply mains grid wall",
    "heater": "heater heat htr",
    "inlet": "inlet in before upstream",
    "outlet": "outlet out after downstream exit",
}
_KIND_WORDS = {
    "pressure": "p press pressure",
    "temperature": "t temp temperature tc thermocouple",
    "voltage": "u v volt volts voltage",
    "current": "i amp amps ampere amperes current",
    "power": "power watt watts wattage",
}
_ELSE = "drop difference diff delta dp dt set setpoint target min max alarm rate"  # no reading of a place
_UNITS = {"volt": "V", "volts": "V", "amp": "A", "amps": "A", "watt": "W", "watts": "W"}
_SILENT = (
    "el electric electrical input total line side tube pipe gas of the at sensor probe end reading "
    "abs absolute gauge gage rel"
)
_TIME = {"time", "timestamp", "datetime", "date", "clock", "elapsed", "uptime"}
_GLUED = {"s": "suction", "d": "discharge"}  # in Ps, Td
_MEANING = {word: meaning for meaning, words in _MEANINGS.items() for word in words.split()}
_KIND = {word: kind for kind, words in _KIND_WORDS.items() for word in words.split()}


@dataclass(frozen=True)
class Header:
    """What a header says: the kind of reading and its unit as far as told, and the places that it may mean.

    is_time is whether it speaks of time, and unit then one of time, or "".
    """

    text: str
    kind: str | None
    unit: str
    places: tuple[str, ...]
    is_time: bool


def header_of(text: str) -> Header:
    """A header, read."""
    rest, unit = _unit_apart(text, _time_unit)
    if _TIME & set(_words(rest)) or _words(rest) in ([], ["t"]) and (unit or rest.strip()):
        return Header(text, None, unit, (), True)
    rest, unit = _unit_apart(text, unit_kind)
    words = _words(rest)
    unit = unit or next((_UNITS[word] for word in words if word in _UNITS), "")
    kind, told, location, odd = unit_kind(unit), None, set(), False
    for word in words:
        here, meaning = _understood(word)
        told = told or here
        location |= {meaning} - {None}
        odd |= here is None and meaning is None and word not in _SILENT.split()
    kind = kind or told
    if kind == "pressure" and unit and not says_its_zero(unit):
        unit += next((mark for mark, of in _MARKS.items() if of & set(words)), "")
    refused = set(words) & set(_ELSE.split())
    return Header(text, kind, unit, () if refused else _places(kind, location, odd), False)


_MARKS = {" abs": {"abs", "absolute"}, " gauge": {"gauge", "gage", "rel"}}


def _places(kind: str | None, location: set[str], odd: bool) -> tuple[str, ...]:
    """Those whose words are these; where the kind alone must tell, nothing else may be said."""
    if not location and (odd or kind is None):
        return ()
    return tuple(
        place.name
        for place in PLACES
        if kind in (place.kind, None) and any(set(words.split()) == location for words in place.words)
    )


def _understood(word: str) -> tuple[str | None, str | None]:
    """Kind of reading and location that a word tells."""
    if word in _KIND or word in _MEANING:
        return _KIND.get(word), _MEANING.get(word)
    glued = _MEANING.get(word[1:]) or _GLUED.get(word[1:])
    return (_KIND[word[0]], glued) if word[0] in "pt" and glued else (None, None)


def _words(text: str) -> list[str]:
    """Lower-case words, also of one written together as EvapOut."""
    return re.findall(r"[^\W\d_]+", re.sub(r"(?<=[a-z])(?=[A-Z])", " ", text).lower())


def _unit_apart(text: str, kind_of) -> tuple[str, str]:
    """A header without its unit, and the unit: in brackets, or its last words; "" where it has none."""
    opening, closing = ([m.start() for m in re.finditer(marks, text)] for marks in (r"[\[({]", r"[\])}]"))
    for start in opening:
        for end in reversed(closing):
            if end > start and kind_of(text[start + 1 : end]):
                return f"{text[:start]} {text[end + 1 :]}", _spelled(text[start + 1 : end])
    cuts = [match.end() for match in re.finditer(r"[\s_,/]+", f" {text}")][-3:]
    for cut in cuts:
        if kind_of(f" {text}"[cut:]):
            return f" {text}"[:cut], _spelled(f" {text}"[cut:])
    return text, ""


def _spelled(unit: str) -> str:
    """As `mixjt.units` spells it, whatever its capitals."""
    unit = re.sub(r"[\s_]+", " ", unit.replace("\u00ba", "\u00b0")).strip()
    unit = re.sub(r"\s*\(?\brel(?:ative)?\b\.?\)?", " gauge", unit)
    if re.match(r"(m?bar|psi)(?![a-z]{2})", unit, re.IGNORECASE):
        return unit.lower()
    return re.sub(r"deg(?:rees?)?\.?\s*([cf])(?:elsius|ahrenheit)?", _degrees, unit, flags=re.IGNORECASE)


def _degrees(match: re.Match) -> str:
    return f"deg{match[1].upper()}"


@cache
def unit_kind(unit: str) -> str | None:
    """What kind of reading has this unit; None for none, and for volt-amperes, which are no watts."""
    unit = _spelled(unit)
    if not unit or re.fullmatch(r"k?VA(?:r)?", unit, re.IGNORECASE):
        return None
    return next((kind for kind in KINDS if any(_is_unit(text, kind) for text in (unit, f"{unit} abs"))), None)


@cache
def _time_unit(unit: str) -> bool:
    return _is_unit(_spelled(unit), "time")


def _is_unit(unit: str, kind: str) -> bool:
    try:
        unit_scale(unit, kind, "")
    except InputError:
        return False
    return True
