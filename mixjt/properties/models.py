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
    from mixjt.properties.parameters import DEFAULT_SET, load_parameters, parameter_sets

    if name == REFERENCE:
        from mixjt.properties.reference import ReferenceModel

        return ReferenceModel(gases, threads=threads)
    if name == FAST:
        name = DEFAULT_SET
    if name not in parameter_sets():
        known = ", ".join((FAST, REFERENCE, *parameter_sets()))
        raise InputError(f"there is no property model '{name}'; choose one of {known}")
    from mixjt.properties.fast import FastModel

    return FastModel(load_parameters(name, gases), threads)
