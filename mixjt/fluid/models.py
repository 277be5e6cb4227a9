"""Property models by name."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from weakref import WeakKeyDictionary

from mixjt.errors import InputError
from mixjt.fluid.flash.coefficients import pair
from mixjt.fluid.model_names import ALIASES, DEFAULT
from mixjt.fluid.pair_sets import PairSet, pair_function, set_names, sets_touching
from mixjt.fluid.states import PropertyModel

PRESENT = 1e-3  # mole fraction from which a gas counts


def load_model(name: str, gases: Sequence[str], threads: int | None = None) -> PropertyModel:
    """The property model of that name, bound to gases.

    Parameters
    ----------
    name : str
        One of `model_names`, or an alias.
    gases : sequence of str
    threads : int, optional
        Threads for batches; all processors by default.

    Raises
    ------
    InputError
        For an unknown model; the message names those that exist.
    UnknownGasError
    """
    own = require_model(name)
    from mixjt.fluid.multi_fluid import MultiFluidModel

    return MultiFluidModel(gases, threads=threads, pairs=None if own == DEFAULT else own)


def pairs_of(name: str) -> Callable[[str, str], dict]:
    """The function that gives a model's parameters of two gases."""
    own = require_model(name)
    return pair if own == DEFAULT else pair_function(own)


def model_names() -> tuple[str, ...]:
    """Names of the property models, the default first, then that with each other set of pair parameters."""
    return (DEFAULT, *set_names())


def plausible_models(model: PropertyModel, z) -> list[tuple[PairSet, PropertyModel]]:
    """The default model with every other plausible set of pair parameters that touches the gases of a blend z (c,).

    None beside any other model.
    """
    if model.name != DEFAULT:
        return []
    present = [name for name, share in zip(model.gases, z, strict=True) if share >= PRESENT]
    known = _PLAUSIBLE.setdefault(model, {})
    sets = [one for one in sets_touching(present) if one.plausible]
    for one in sets:
        if one.name not in known:
            known[one.name] = load_model(one.name, model.gases, model.threads)
    return [(one, known[one.name]) for one in sets]


_PLAUSIBLE: WeakKeyDictionary = WeakKeyDictionary()


def require_model(name: str) -> str:
    """The model's own name; refuses that of a model that does not exist, without loading one.

    Raises
    ------
    InputError
        The message names those that exist.
    """
    own = ALIASES.get(name, name)
    if own not in model_names():
        raise InputError(f"there is no property model '{name}'; choose one of {', '.join(model_names())}")
    return own
