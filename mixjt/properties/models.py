"""Property models by name."""

from __future__ import annotations

from collections.abc import Sequence

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
