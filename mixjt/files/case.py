"""The case file: one TOML file describes one machine and serves every command."""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

from mixjt.blend import Blend, Ingredient, expand, pure_ingredient, refuse_oxygen_with_fuel
from mixjt.constants import ATMOSPHERE
from mixjt.cycles.circuit import ThrottleCircuit
from mixjt.errors import InputError
from mixjt.files.case_tables import BLEND, BOTTLE, BOTTLE_KEYS, TABLES, TOP
from mixjt.files.rating_case import circuit_compressor
from mixjt.files.schema import Place, located, nearest, read_composition, read_table
from mixjt.files.toml_hints import toml_hint
from mixjt.studies.search.freezing import FreezingConstraint
from mixjt.studies.search.request import Bottle, SearchRequest
from mixjt.units import apart


@dataclass(frozen=True)
class Case:
    """A machine and what is asked of it, in SI units.

    blend and load are None where the case states none, search where it has no bottles. tables holds the SI
    values of every table by name (defaults filled in); None for a table that is absent and has needed keys.
    """

    file: str
    title: str
    notes: str
    circuit: ThrottleCircuit
    load: float | None
    blend: Blend | None
    bottles: tuple[Bottle, ...]
    search: SearchRequest | None
    text: str = field(default="", repr=False, compare=False)
    tables: dict[str, dict | None] = field(default_factory=dict, repr=False, compare=False)

    def place(self, table: str) -> Place:
        """Where a table stands in the file, for messages."""
        return Place(self.file, self.text).table(f"[{table}]")

    def table(self, name: str) -> dict:
        """The values of a table that a command needs.

        Raises
        ------
        InputError
            Where the case lacks it.
        """
        values = self.tables.get(name)
        if values is None:
            needed = ", ".join(key for key, entry in TABLES[name].keys.items() if entry.required)
            raise InputError(f"{self.file} has no [{name}], which describes {TABLES[name].help}; add it with {needed}")
        return values


def read_case(path) -> Case:
    """The case described by a TOML file.

    Parameters
    ----------
    path : str or Path

    Raises
    ------
    InputError
        For a file that cannot be read, and for every unknown, missing, mistyped or contradictory entry.
    """
    text = read_text(path)
    raw = _parsed(text, path)
    place = Place(str(path), text)
    tables = _read_tables(raw, place)
    circuit = _circuit(tables, place)
    bottles = _bottles(raw.get(BOTTLE, []), place)
    return Case(
        file=str(path),
        title=tables["title"],
        notes=tables["notes"],
        circuit=circuit,
        load=tables["cold_end"]["load"],
        blend=_blend(raw, bottles, place),
        bottles=bottles,
        search=_search(tables["search"], circuit, bottles, place),
        text=text,
        tables={name: tables[name] for name in TABLES},
    )


def read_text(path) -> str:
    """The text of a file, or an InputError that says what is wrong with the file."""
    try:
        return Path(path).read_bytes().decode("utf-8-sig")
    except FileNotFoundError:
        raise InputError(f"{path}: there is no such file") from None
    except IsADirectoryError:
        raise InputError(f"{path} is a directory; name the case file in it") from None
    except UnicodeDecodeError as error:
        raise InputError(f"{path} is not UTF-8 text (byte {error.start + 1}); save it as UTF-8") from None
    except (OSError, ValueError) as error:  # ValueError: a null byte in the name
        raise InputError(f"{path} cannot be read: {getattr(error, 'strerror', None) or error}") from None


def _parsed(text: str, path) -> dict:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise InputError(f"{path} is not valid TOML: {error}{toml_hint(text, str(error))}") from None
    except RecursionError:
        raise InputError(f"{path} is not valid TOML: nested too deeply") from None


def _read_tables(raw: dict, place: Place) -> dict:
    """Every plain table in SI values; the keys of the top of the file beside them."""
    for name, value in raw.items():
        if name not in TOP and name not in TABLES and name not in (BLEND, BOTTLE):
            raise InputError(_unknown_table(name, value, place))
    for name, table in TABLES.items():
        if table.required and name not in raw:
            raise InputError(f"{place.at()}: the table [{name}] is missing; it describes {table.help}")
    homes = {key: f"[{name}]" for name, table in reversed(TABLES.items()) for key in table.keys}
    values = read_table({key: raw[key] for key in TOP if key in raw}, TOP, place, ATMOSPHERE)
    atmosphere = ATMOSPHERE
    for name, table in TABLES.items():  # [ambient] first: gauge pressures need its pressure
        if name not in raw and any(entry.required for entry in table.keys.values()):
            values[name] = None
            continue
        here = place.table(f"[{name}]")
        values[name] = read_table(raw.get(name, {}), table.keys, here, atmosphere, homes)
        atmosphere = values["ambient"]["pressure"]
    return values


def _unknown_table(name: str, value, place: Place) -> str:
    is_table = isinstance(value, dict)
    where = place.table(f"[{name}]").at() if is_table else place.at(name)
    homes = {key: table for table, entry in reversed(TABLES.items()) for key in entry.keys}
    close = nearest(name, (*TABLES, BLEND, BOTTLE) if is_table else (*TOP, *TABLES, BLEND, BOTTLE))
    if not is_table and name in homes:
        return f"{where}: this key belongs to the table [{homes[name]}]"
    if close:
        kind, other = ("table", f"[{close}]") if is_table else ("key", close)
        return f"{where}: there is no such {kind}; did you mean {other}?"
    tables = ", ".join(f"[{table}]" for table in (*TABLES, BLEND)) + f", [[{BOTTLE}]]"
    return f"{where}: there is no such {'table' if is_table else 'key'}; a case knows {tables}"


def _circuit(tables: dict, place: Place) -> ThrottleCircuit:
    """The throttle circuit; it checks what spans several tables."""
    ambient, pressures, cold_end = tables["ambient"], tables["circuit"], tables["cold_end"]
    aftercooler, recuperator = tables["aftercooler"], tables["recuperator"]
    _check_order(pressures, ambient["temperature"], cold_end["temperature"], place)
    compressor = circuit_compressor(tables, place)
    with located(place.at()):
        return ThrottleCircuit(
            ambient_temperature=ambient["temperature"],
            suction_pressure=pressures["suction_pressure"],
            discharge_pressure=pressures["discharge_pressure"],
            cold_temperature=cold_end["temperature"],
            aftercooler_approach=aftercooler["approach"],
            aftercooler_drop=aftercooler["pressure_drop"],
            recuperator_approach=recuperator["approach"],
            high_side_drop=recuperator["pressure_drop_high"],
            low_side_drop=recuperator["pressure_drop_low"],
            compressor=compressor,
        )


def _check_order(pressures: dict, ambient: float, cold_end: float, place: Place) -> None:
    """Refuse swapped pressures and swapped temperatures at their own line of the file."""
    suction, discharge = pressures["suction_pressure"], pressures["discharge_pressure"]
    if discharge <= suction:
        high, low = apart(discharge, suction, "pressure")
        raise InputError(
            f"{place.table('[circuit]').at('discharge_pressure')}: {high} is not above the suction pressure of {low} "
            "(both absolute)"
        )
    if cold_end >= ambient:
        cold, warm = apart(cold_end, ambient, "temperature", 5)
        raise InputError(
            f"{place.table('[cold_end]').at('temperature')}: {cold} is not below the ambient temperature of {warm}"
        )


def _bottles(raw, place: Place) -> tuple[Bottle, ...]:
    if not isinstance(raw, list):
        raise InputError(f"{place.at(BOTTLE)}: write each bottle under its own header [[{BOTTLE}]]")
    bottles = []
    for number, entry in enumerate(raw, start=1):
        here = place.table(f"[[{BOTTLE}]]", number)
        bottle = _bottle(read_table(entry, BOTTLE_KEYS, here, ATMOSPHERE), here)
        if bottle.ingredient.name in [other.ingredient.name for other in bottles]:
            raise InputError(f"{here.at()}: there is another bottle of {bottle.ingredient.name}")
        bottles.append(bottle)
        with located(here.at()):
            refuse_oxygen_with_fuel(name for other in bottles for name in other.ingredient.gases)
    return tuple(bottles)


def _bottle(values: dict, place: Place) -> Bottle:
    gas, name, composition = values["gas"], values["name"], values["composition"]
    if (gas is None) == (name is None) or (name is None) != (composition is None):
        raise InputError(f"{place.at()}: give either gas, or name and composition")
    if values["least"] > values["most"]:
        raise InputError(f"{place.at('least')}: {values['least']:g} is above most = {values['most']:g}")
    with located(place.at("composition" if gas is None else "gas")):
        if gas is not None:
            ingredient = pure_ingredient(gas)
        else:
            ingredient = Ingredient(name, tuple(composition), tuple(composition.values()))
    return Bottle(ingredient, values["least"], values["most"])


def blend_from_text(text: str, bottles: Sequence[Bottle] = ()) -> Blend:
    """A blend such as "nitrogen=0.4, propane=20 %, camping gas=0.4", bottles of mixtures by their names.

    Raises
    ------
    InputError
        Naming the part that cannot be read, an unknown gas, or fractions that do not sum to 1.
    """
    amounts = {}
    for part in text.split(","):
        name, _, amount = (piece.strip() for piece in part.partition("="))
        if not (name and amount):
            raise InputError(
                f'blend: cannot read "{part.strip()}"; write it like "nitrogen=0.4, propane=0.6"'
            )
        if name in amounts:
            raise InputError(f"blend: {name} is given twice")
        amounts[name] = amount
    with located("blend"):
        return _mixed(read_composition(amounts, "mole fraction of"), bottles)


def _blend(raw: dict, bottles: tuple[Bottle, ...], place: Place) -> Blend | None:
    if BLEND not in raw:
        return None
    here = place.table(f"[{BLEND}]").at()
    amounts = read_composition(raw[BLEND], here)
    with located(here):
        return _mixed(amounts, bottles)


def _mixed(amounts: dict[str, float], bottles: Sequence[Bottle]) -> Blend:
    """Gases and bottles of mixtures poured together."""
    known = {bottle.ingredient.name: bottle.ingredient for bottle in bottles}
    items = [known.get(name) or pure_ingredient(name) for name in amounts]
    return expand(items, list(amounts.values()))


def _search(values: dict, circuit: ThrottleCircuit, bottles, place: Place) -> SearchRequest | None:
    """What the search is asked for; None where there is nothing to choose from."""
    if not bottles:
        return None
    stated = dict(values)
    margin = stated.pop("smallest_freezing_margin")
    constraints = () if margin is None else (FreezingConstraint(circuit, margin),)
    with located(place.table("[search]").at()):
        return SearchRequest(circuit=circuit, bottles=bottles, constraints=constraints, **stated)
