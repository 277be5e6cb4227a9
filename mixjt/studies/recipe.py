"""A blend as it is charged: so much of each bottle, a bottle being a gas or a mixture bought as one item."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from mixjt.blend import Ingredient
from mixjt.errors import InputError


@dataclass(frozen=True)
class Recipe:
    """Names (k) of the bottles, their amounts (k,) in mole fractions, and matrix (k, c), what each is made of."""

    names: tuple[str, ...]
    amounts: np.ndarray
    matrix: np.ndarray

    @property
    def composition(self) -> np.ndarray:
        """Mole fractions (c,) of the gases."""
        return self.mixed(self.amounts)

    def mixed(self, amounts) -> np.ndarray:
        """Mole fractions (..., c) of the gases for amounts (..., k)."""
        z = np.asarray(amounts, dtype=float) @ self.matrix
        return z / z.sum(axis=-1, keepdims=True)

    def holding(self, amounts) -> Recipe:
        """The bottles that come nearest to amounts (c,) [mol] of the gases; bottles of mixtures may not come to them."""
        from scipy.optimize import nnls

        found, _ = nnls(self.matrix.T, np.asarray(amounts, dtype=float))
        return replace(self, amounts=found / found.sum())

    def masses(self, charge: float, molar_masses) -> np.ndarray:
        """Masses (k,) [kg] of the bottles in a charge [kg], with molar masses (c,) [kg/mol] of the gases."""
        heavy = self.amounts * (self.matrix @ molar_masses)
        return charge * heavy / heavy.sum()


def recipe_of(ingredients: Sequence[Ingredient], amounts: Sequence[float], gases: Sequence[str]) -> Recipe:
    """The recipe of what is present, for a property model with these gases.

    Raises
    ------
    InputError
        Where an ingredient holds another gas, or nothing is present.
    """
    present = [(item, float(x)) for item, x in zip(ingredients, amounts, strict=True) if x > 0.0]
    if not present:
        raise InputError("the blend holds nothing")
    matrix = np.zeros((len(present), len(gases)))
    for row, (item, _) in zip(matrix, present, strict=True):
        for name, x in zip(item.gases, item.fractions, strict=True):
            if x > 0.0 and name not in gases:
                raise InputError(f"{item.name} holds {name}, which the property model was not given")
            if x > 0.0:
                row[list(gases).index(name)] = x
    shares = np.array([x for _, x in present])
    return Recipe(tuple(item.name for item, _ in present), shares / shares.sum(), matrix)


def shifted(amounts, k: int, step: float) -> np.ndarray | None:
    """Amounts (n,) with `step` more of the k-th, all others scaled alike so that the sum stays.

    That is also what weighing in too much of the k-th does to the mole fractions of a charge. None where the step
    takes the k-th below 0 or to all of the blend, or where there is no other.
    """
    amounts = np.asarray(amounts, dtype=float)
    changed, rest = amounts[k] + step, amounts.sum() - amounts[k]
    if changed < 0.0 or not rest > 0.0 or not changed < amounts.sum():
        return None
    moved = amounts * ((rest - step) / rest)
    moved[k] = changed
    return moved
