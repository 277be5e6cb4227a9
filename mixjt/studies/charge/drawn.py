"""What comes out of bottles, and how much of each makes the amounts that a circuit must hold.

A bottle of a mixture that holds liquid gives its liquid where it is drawn by a dip tube or valve downwards, and else
the vapour over it, which is richer in what boils first: the vapour of the bubble point at the bench's temperature. That
is what comes first; with everything drawn the bottle gets heavier.

The amounts m >= 0 of bottles are those whose gases come closest to the amounts n wanted, min |A m - n|, with column k
of A what bottle k gives (Lawson and Hanson, Solving Least Squares Problems (1974), chapter 23). A mixture cannot give
its gases in any other ratio: what is then missed is told.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from mixjt.blend import pure_ingredient
from mixjt.errors import InputError
from mixjt.fluid.fluid import Fluid
from mixjt.fluid.states import VAPOUR, PropertyModel
from mixjt.gases import gas
from mixjt.studies.search.search_request import Bottle

BELOW_BUBBLE = 1e-6  # of the pressure: where the first vapour is looked for
TRACE = 1e-6  # mol/mol; less of a bottle is rounding
MISSED = 1e-3  # mol/mol of the charge; what is told of a mixture that does not fit
HIGH_PRESSURE = 15e5  # Pa; stronger gases come in steel cylinders, weaker in cartridges (common practice, no source)
CARTRIDGE, CYLINDER = 1.0, 15.0  # kg, full and with the valve (common practice, no source)


@dataclass(frozen=True, eq=False)
class Drawn:
    """What comes out of a bottle: name, mole fractions z (c,), and its vapour pressure [Pa], None above critical.

    bottled (c,) is the composition of its liquid; gross_mass [kg] that of the full bottle with its valve.
    """

    name: str
    z: np.ndarray
    bottled: np.ndarray
    pressure: float | None
    gross_mass: float

    @property
    def changes(self) -> bool:
        """Whether what comes out differs from what is in the bottle."""
        return bool(np.max(np.abs(self.z - self.bottled)) > MISSED)


@dataclass(frozen=True, eq=False)
class Portions:
    """Bottles with the amounts (k,) [mol] of them, and what they miss (c,) [mol] of the gases wanted."""

    bottles: tuple[Drawn, ...]
    amounts: np.ndarray
    missed: np.ndarray

    @property
    def given(self) -> np.ndarray:
        """Amounts (c,) [mol] of the gases that these portions bring."""
        return self.amounts @ np.array([bottle.z for bottle in self.bottles])

    def sentence(self, gases: Sequence[str]) -> str:
        """What the bottles cannot give; "" where they give all."""
        share = self.missed / self.given.sum()
        off = [f"{gas} {100.0 * x:+.2g} %" for gas, x in zip(gases, share, strict=True) if abs(x) > MISSED]
        if not off:
            return ""
        return (
            f"no portions of these bottles give this blend: what comes closest is off by {', '.join(off)} "
            "of the charge (mole); get a bottle of what is short"
        )


def usable_bottles(gases: Sequence[str], bottles: Sequence[Bottle]) -> tuple[Bottle, ...]:
    """The bottles that hold one of these gases, and one of the pure gas for every gas that none of them holds."""
    usable = [bottle for bottle in bottles if any(name in gases for name in _held(bottle))]
    held = {name for bottle in usable for name in _held(bottle)}
    return (*usable, *(Bottle(pure_ingredient(name)) for name in gases if name not in held))


def gases_in(bottles: Sequence[Bottle]) -> tuple[str, ...]:
    """All gases that the bottles hold."""
    return tuple(dict.fromkeys(name for bottle in bottles for name in _held(bottle)))


def drawn_from(model: PropertyModel, bottle: Bottle, temperature: float) -> Drawn:
    """What a bottle gives at a temperature [K].

    Raises
    ------
    InputError
        Where it holds a gas that the model was not given.
    """
    bottled = np.zeros(len(model.gases))
    for name, x in _held(bottle).items():
        if name not in model.gases:
            raise InputError(f"{bottle.ingredient.name} holds {name}, which the property model was not given")
        bottled[model.gases.index(name)] = x
    fluid = Fluid(model, bottled)
    found = fluid.bubble_pressure(temperature)
    pressure = found if math.isfinite(found) else None
    z = bottled if pressure is None or not bottle.as_vapour else _first_vapour(fluid, temperature, pressure)
    strong = pressure is None or pressure > HIGH_PRESSURE
    usual = CYLINDER if strong else CARTRIDGE
    return Drawn(bottle.ingredient.name, z, bottled, pressure, bottle.gross_mass or usual)


def portions(bottles: Sequence[Drawn], wanted) -> Portions:
    """How much of each bottle gives amounts (c,) [mol] of the gases; bottles that are not needed are left out."""
    from scipy.optimize import nnls

    wanted = np.asarray(wanted, dtype=float)
    if wanted.ndim != 1 or not np.all(np.isfinite(wanted)) or np.any(wanted < 0.0) or not wanted.sum() > 0.0:
        raise InputError("a charge needs an amount of at least 0 of each gas, and of one of them above 0")
    matrix = np.array([bottle.z for bottle in bottles])
    amounts, _ = nnls(matrix.T, wanted / wanted.sum())
    kept = [k for k, amount in enumerate(amounts) if amount > TRACE]
    amounts = amounts[kept] * wanted.sum()
    return Portions(tuple(bottles[k] for k in kept), amounts, amounts @ matrix[kept] - wanted)


def filling_order(model: PropertyModel, given: Portions, temperature: float) -> Portions:
    """The portions by rising vapour pressure, so that the weaker bottle still pushes its gas in.

    Above the critical temperature the vapour pressure is extrapolated: ln(p/pc) = 5.373 (1 + w) (1 - Tc/T), with
    Raoult's law for mixtures (Wilson, 65th National Meeting of the AIChE, Cleveland, 1969, paper 15C, from memory).
    """
    by_gas = np.array([_extrapolated(name, temperature) for name in model.gases])

    def strength(k: int) -> float:
        bottle = given.bottles[k]
        return float(bottle.bottled @ by_gas) if bottle.pressure is None else bottle.pressure

    order = sorted(range(len(given.bottles)), key=strength)
    return Portions(tuple(given.bottles[k] for k in order), given.amounts[order], given.missed)


def _extrapolated(name: str, temperature: float) -> float:
    entry = gas(name)
    steepness = 5.373 * (1.0 + entry.acentric_factor)
    return entry.critical_pressure * math.exp(steepness * (1.0 - entry.critical_temperature / temperature))


def _first_vapour(fluid: Fluid, temperature: float, pressure: float) -> np.ndarray:
    """Composition (c,) of the vapour over a liquid at its bubble point; the liquid's own where no vapour is told."""
    state = fluid.tp(temperature, pressure * (1.0 - BELOW_BUBBLE))
    lightest = state.phases[0]
    return lightest.composition if lightest.kind == VAPOUR else fluid.z


def _held(bottle: Bottle) -> dict[str, float]:
    """Mole fraction of each gas in it."""
    parts = zip(bottle.ingredient.gases, bottle.ingredient.fractions, strict=True)
    return {name: x for name, x in parts if x > 0.0}
