"""Look gases up by name, R-number, formula or CAS number."""

from __future__ import annotations

import difflib
import json
import re
from dataclasses import dataclass, field
from functools import cache
from importlib.resources import files

from mixjt.errors import UnknownGasError

DATA_FILE = "gases.json"
# Air by mole: E. W. Lemmon, R. T Jacobsen, S. G. Penoncello, D. G. Friend, J. Phys. Chem. Ref. Data 29 (2000) 331
AIR = "write nitrogen 0.7812, oxygen 0.2096, argon 0.0092 (mole fractions, dry); never put air to fuel gas or oil"
MIXTURES = {"air": AIR, "r-729": AIR}


@dataclass(frozen=True)
class Gas:
    """One row of the catalogue, in SI units.

    Temperatures in K, critical_pressure in Pa, molar_mass in kg/mol, enthalpy_of_fusion in J/mol at the
    triple point, lower_flammable_limit as a mole fraction in air (None: not flammable), gwp100 relative to
    the same mass of carbon dioxide, safety_class after ISO 817 (None: not classified). ideal_cp holds a_k of
    cp0/R = sum a_k (T / 298.15 K)**k, good from 60 K to 450 K. refrigerant is False for a gas that is in the
    catalogue only as an impurity. sources maps a field name to where its value comes from.
    """

    name: str
    formula: str
    cas: str
    r_number: str | None
    aliases: tuple[str, ...]
    molar_mass: float
    critical_temperature: float
    critical_pressure: float
    acentric_factor: float
    normal_boiling_point: float
    triple_point_temperature: float
    enthalpy_of_fusion: float
    safety_class: str | None
    lower_flammable_limit: float | None
    gwp100: float
    ideal_cp: tuple[float, ...]
    refrigerant: bool = True
    sources: dict[str, str] = field(default_factory=dict, repr=False, compare=False)

    @property
    def flammable(self) -> bool:
        """Whether the gas burns in air at ambient conditions."""
        return self.lower_flammable_limit is not None


def gas(name: str) -> Gas:
    """The gas of that name, R-number, formula or CAS number.

    Raises
    ------
    UnknownGasError
        Naming the nearest names that the catalogue knows.
    """
    return _catalogue()[resolve_name(name)]


def gas_names() -> tuple[str, ...]:
    """Names of all gases, in order of their normal boiling points."""
    return tuple(_catalogue())


def resolve_name(name: str) -> str:
    """The catalogue's own name for a gas given by any of its names.

    Case, and blanks or underscores in place of hyphens, do not matter: "R290", "r-290" and "Propane" are
    all propane.

    Raises
    ------
    UnknownGasError
        Naming the nearest names that the catalogue knows.
    """
    spelling = _spellings().get(_plain(str(name)))
    if spelling is None:
        raise UnknownGasError(_unknown_text(str(name)))
    return spelling


def gas_table() -> list[dict]:
    """The catalogue as plain rows, lightest boiling first, units in the keys."""
    return [_row(entry) for entry in _catalogue().values()]


def _row(entry: Gas) -> dict:
    return {
        "gas": entry.name,
        "r_number": entry.r_number,
        "formula": entry.formula,
        "cas": entry.cas,
        "molar_mass_g_per_mol": 1e3 * entry.molar_mass,
        "normal_boiling_point_K": entry.normal_boiling_point,
        "triple_point_K": entry.triple_point_temperature,
        "enthalpy_of_fusion_J_per_mol": entry.enthalpy_of_fusion,
        "critical_temperature_K": entry.critical_temperature,
        "critical_pressure_bar": 1e-5 * entry.critical_pressure,
        "acentric_factor": entry.acentric_factor,
        "safety_class": entry.safety_class,
        "lower_flammable_limit_percent": None if not entry.flammable else 100 * entry.lower_flammable_limit,
        "gwp100": entry.gwp100,
        "refrigerant": entry.refrigerant,
        "sources": dict(entry.sources),
    }


@cache
def _catalogue() -> dict[str, Gas]:
    text = files("mixjt.gases").joinpath(DATA_FILE).read_text(encoding="utf-8")
    entries = [_entry(row) for row in json.loads(text)["gases"]]
    entries.sort(key=lambda entry: entry.normal_boiling_point)
    return {entry.name: entry for entry in entries}


def _entry(row: dict) -> Gas:
    values = dict(row["values"], sources=dict(row["sources"]))
    values["aliases"] = tuple(values["aliases"])
    values["ideal_cp"] = tuple(values["ideal_cp"])
    return Gas(**values)


@cache
def _spellings() -> dict[str, str]:
    """Every accepted spelling, reduced by _plain, to the catalogue's own name."""
    table: dict[str, str] = {}
    for entry in _catalogue().values():
        given = (entry.name, entry.formula, entry.cas, entry.r_number, *entry.aliases)
        for text in filter(None, given):
            table.setdefault(_plain(text), entry.name)
    for formula in _shared_formulas():
        del table[_plain(formula)]
    return table


def _shared_formulas() -> set[str]:
    """Formulas of isomers, such as C4H10: they name no gas."""
    formulas = [entry.formula for entry in _catalogue().values()]
    return {formula for formula in formulas if formulas.count(formula) > 1}


def _plain(text: str) -> str:
    """Lower case with hyphens only; "r290" gains its hyphen."""
    text = re.sub(r"[\s_-]+", "-", text.strip().lower())
    return re.sub(r"^r(?=\d)", "r-", text)


def _unknown_text(name: str) -> str:
    plain = _plain(name)
    if plain in MIXTURES:
        return f"{name} is a mixture, no gas of the catalogue: {MIXTURES[plain]}"
    cutoff = 0.9 if re.match(r"r-\d", plain) else 0.6  # R-numbers that look alike are other gases
    near = difflib.get_close_matches(plain, _spellings(), n=5, cutoff=cutoff)
    names = list(dict.fromkeys(_spellings()[spelling] for spelling in near))[:3]
    hint = f"did you mean {' or '.join(names)}? " if names else ""
    return f"unknown gas '{name}': {hint}'mixjt gases' lists the names"
