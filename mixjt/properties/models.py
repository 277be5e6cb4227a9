"""Property models by name."""

from __future__ import annotations

from collections.abc import Sequence
from weakref import WeakKeyDictionary

from mixjt.errors import InputError
from mixjt.properties.records import PropertyModel

FAST = "fast"
REFERENCE = "reference"


def load_model(name: str, gases: Sequence[str], threads: int | None = None) -> PropertyModel:
    """The property model of that name, bound to gases.

    Parameters
    ----------
    name : str
        "fast" (the default parameter set), "reference" or the name of a parameter set.
    gases : sequence of str
    threads : int, optional
        Threads for batches; all processors by default.

    Raises
    ------
    InputError
        For an unknown model; the message names those that exist.
    UnknownGasError
    """
    from mixjt.properties.parameters import DEFAULT_SET, load_parameters

    require_model(name)
    if name == REFERENCE:
        from mixjt.properties.reference import ReferenceModel

        return ReferenceModel(gases, threads=threads)
    if name == FAST:
        name = DEFAULT_SET
    from mixjt.properties.fast import FastModel

    return FastModel(load_parameters(name, gases), threads)


def second_name(model: PropertyModel) -> str | None:
    """The model to check another's results by: the reference model, or the fast one for the reference model.

    None for a model that is not one of those `load_model` knows.
    """
    from mixjt.properties.parameters import parameter_sets

    if model.name == REFERENCE:
        return FAST
    return REFERENCE if model.name in parameter_sets() else None


def second_model(model: PropertyModel) -> PropertyModel | None:
    """That second model for the same gases, loaded once a model; None where there is none."""
    if model not in _SECONDS:
        name = second_name(model)
        _SECONDS[model] = None if name is None else load_model(name, model.gases)
    return _SECONDS[model]


_SECONDS: WeakKeyDictionary = WeakKeyDictionary()


def require_model(name: str) -> None:
    """Refuse the name of a model that does not exist, without loading one.

    Raises
    ------
    InputError
        The message names those that exist.
    """
    from mixjt.properties.parameters import parameter_sets

    known = (FAST, REFERENCE, *parameter_sets())
    if name not in known:
        raise InputError(f"there is no property model '{name}'; choose one of {', '.join(known)}")
