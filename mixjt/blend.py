"""Blends of catalogue gases, and ingredients that are mixtures themselves."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from mixjt.errors import InputError
from mixjt.gases import Gas, gas, resolve_name

SUM_TOLERANCE = 1e-6
PRINTED_STEP = 1e-3  # mol/mol, the last digit of a fraction as it is printed for people
OXYGEN = "oxygen"


@dataclass(frozen=True)
class Blend:
    """Gases and their mole fractions, checked and scaled so that the fractions sum to 1.

    Parameters
    ----------
    gases : sequence of str
        Any names the catalogue accepts; kept as the catalogue's own names, in the order given.
    fractions : sequence of float
        Mole fractions, of which some may be 0.

    Raises
    ------
    InputError
        For an unknown gas, a gas named twice, a fraction that is negative or no number, a sum that
        differs from 1 by more than 1e-6, or oxygen together with a gas that burns.
    """

    gases: tuple[str, ...]
    fractions: tuple[float, ...]

    def __post_init__(self):
        names = tuple(resolve_name(name) for name in self.gases)
        _refuse_repeated(names, "gas")
        object.__setattr__(self, "gases", names)
        object.__setattr__(self, "fractions", _checked_fractions(names, self.fractions))
        refuse_oxygen_with_fuel(name for name, x in self.to_dict().items() if x > 0.0)

    @property
    def composition(self) -> np.ndarray:
        """Mole fractions, shape (c,)."""
        return np.array(self.fractions)

    @property
    def molar_mass(self) -> float:
        """Mean molar mass in kg/mol."""
        return math.fsum(x * entry.molar_mass for entry, x in self._parts)

    @property
    def mass_fractions(self) -> np.ndarray:
        """Mass fractions, shape (c,)."""
        masses = np.array([x * entry.molar_mass for entry, x in self._parts])
        return masses / masses.sum()

    @property
    def lower_flammable_limit(self) -> float | None:
        """Least mole fraction of this blend in air that burns; None if no fraction does.

        1/L = sum x_i/L_i over the flammable gases (Le Chatelier's rule). The inert gases only dilute here;
        their own effect on the limit (ISO 10156) is left out, which errs to the safe side.
        """
        reciprocal = math.fsum(x / entry.lower_flammable_limit for entry, x in self._parts if entry.flammable)
        return 1.0 / reciprocal if reciprocal >= 1.0 else None

    @property
    def gwp100(self) -> float:
        """Global warming potential over 100 years, the mean of the gases' weighted by mass."""
        return float(self.mass_fractions @ [entry.gwp100 for entry, _ in self._parts])

    @property
    def text(self) -> str:
        """For instance "36 % nitrogen, 15 % methane, 49 % propane (mole)"; absent gases are left out."""
        shares = [f"{_percent(x)} % {name}" for name, x in self.to_dict().items() if x > 0.0]
        return ", ".join(shares) + " (mole)"

    def to_dict(self) -> dict[str, float]:
        """Mole fraction by gas."""
        return dict(zip(self.gases, self.fractions))

    def without_absent(self) -> Blend:
        """The same blend without the gases whose fraction is 0."""
        present = [(name, x) for name, x in self.to_dict().items() if x > 0.0]
        return Blend(*zip(*present))

    @property
    def _parts(self) -> list[tuple[Gas, float]]:
        return [(gas(name), x) for name, x in zip(self.gases, self.fractions)]


@dataclass(frozen=True)
class Ingredient:
    """Something that is bought and charged as one item: a pure gas or a mixture such as bottled LPG.

    Parameters
    ----------
    name : str
        What the user calls it.
    gases, fractions
        As for Blend.

    Raises
    ------
    InputError
        As for Blend, naming the ingredient.
    """

    name: str
    gases: tuple[str, ...]
    fractions: tuple[float, ...]

    def __post_init__(self):
        if not self.name.strip():
            raise InputError("an ingredient needs a name")
        try:
            blend = Blend(self.gases, self.fractions)
        except InputError as error:
            raise type(error)(f"ingredient '{self.name}': {error}") from None
        object.__setattr__(self, "gases", blend.gases)
        object.__setattr__(self, "fractions", blend.fractions)


def refuse_oxygen_with_fuel(gases: Iterable[str]) -> None:
    """Refuse gases to be mixed that hold oxygen together with anything flammable, in whatever proportion.

    Which gases burn is the catalogue's lower flammable limit, with its source.

    Raises
    ------
    InputError
        Naming the hazard.
    """
    names = dict.fromkeys(resolve_name(name) for name in gases)
    fuels = [name for name in names if gas(name).flammable]
    if OXYGEN in names and fuels:
        raise InputError(
            f"oxygen (or air) with {', '.join(fuels)} can explode in a compressor: mixjt calculates no such mixture; "
            "leave out the oxygen, or all that burns"
        )


def pure_ingredient(name: str) -> Ingredient:
    """A pure gas as an ingredient, called by the catalogue's name."""
    return Ingredient(resolve_name(name), (name,), (1.0,))


def composition_matrix(ingredients: Sequence[Ingredient]) -> tuple[tuple[str, ...], np.ndarray]:
    """Gases of all ingredients in order of first appearance, and each ingredient's mole fractions of them.

    Returns
    -------
    tuple
        Names of the c gases, and a matrix of shape (len(ingredients), c); amounts @ matrix is the blend.

    Raises
    ------
    InputError
        If there is no ingredient, or two have the same name.
    """
    _refuse_repeated([item.name for item in ingredients], "ingredient")
    names = tuple(dict.fromkeys(name for item in ingredients for name in item.gases))
    matrix = np.zeros((len(ingredients), len(names)))
    for row, item in zip(matrix, ingredients):
        for name, x in zip(item.gases, item.fractions):
            row[names.index(name)] = x
    return names, matrix


def expand(ingredients: Sequence[Ingredient], amounts: Sequence[float]) -> Blend:
    """The blend made of these ingredients in these mole fractions.

    Raises
    ------
    InputError
        For ingredients that share a name, or amounts that are no mole fractions summing to 1.
    """
    names, matrix = composition_matrix(ingredients)
    shares = _checked_fractions([item.name for item in ingredients], amounts)
    return Blend(names, tuple(shares @ matrix))


def _refuse_repeated(names: Sequence[str], what: str) -> None:
    if not names:
        raise InputError(f"no {what} given")
    for name in names:
        if list(names).count(name) > 1:
            raise InputError(f"{what} {name} is given twice")


def _checked_fractions(names: Sequence[str], fractions) -> tuple[float, ...]:
    """The fractions scaled to sum to 1, or an error that says which name is at fault."""
    try:
        values = [float(x) for x in fractions]
    except (TypeError, ValueError):
        raise InputError(f"mole fractions must be numbers, got {fractions!r}") from None
    if len(values) != len(names):
        raise InputError(f"{len(names)} names but {len(values)} mole fractions")
    for name, x in zip(names, values):
        if not math.isfinite(x) or x < 0.0:
            raise InputError(f"mole fraction of {name} is {x:g}, but must be 0 or more")
    total = math.fsum(values)
    if abs(total - 1.0) > SUM_TOLERANCE:
        hint = f"; divide each by {total:.10g} to normalise" if total > 0.0 else ""
        raise InputError(f"mole fractions sum to {total:.10g}, but must sum to 1{hint}")
    return tuple(x / total for x in values)


def _percent(fraction: float) -> str:
    """Percent to one decimal, small values to two digits."""
    percent = 100.0 * fraction
    return f"{percent:.2g}" if percent < 1.0 else f"{round(percent, 1):g}"
