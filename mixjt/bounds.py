"""Numbers that cannot be: refused where they are stated, None where they are told."""

from __future__ import annotations

import math
import operator
from collections.abc import Iterable
from numbers import Real

from mixjt.errors import InputError

HOLDS = {"above": operator.gt, "at least": operator.ge, "below": operator.lt, "at most": operator.le}


def require(what: str, value, *, above=None, least=None, below=None, most=None) -> None:
    """Refuse what is not a finite number within bounds.

    Parameters
    ----------
    what : str
        Its name in the message; underscores become spaces.
    value : object
    above, least, below, most : float, optional

    Raises
    ------
    InputError
    """
    bounds = {"above": above, "at least": least, "below": below, "at most": most}
    bounds = {word: bound for word, bound in bounds.items() if bound is not None}
    number = isinstance(value, Real) and math.isfinite(value)
    if not (number and all(HOLDS[word](value, bound) for word, bound in bounds.items())):
        need = " and ".join(f"{word} {bound:g}" for word, bound in bounds.items())
        raise InputError(f"{what.replace('_', ' ')} must be a number {need}, got {value}")


def require_fields(record, of: str, names: Iterable[str], *, optional: bool = False, **bounds) -> None:
    """The same of fields of a record, named as those `of` something; an optional one may be None."""
    for name in names:
        value = getattr(record, name)
        if not (optional and value is None):
            require(f"{of} {name}", value, **bounds)


def finite_or_none(value) -> float | None:
    """What is told of a number, which is NaN or infinite inside where there is none."""
    return float(value) if math.isfinite(value) else None
