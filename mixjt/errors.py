"""The errors mixjt raises on purpose. Every one of them ends a command with exit code 2."""

from __future__ import annotations


class MixjtError(Exception):
    """Root of all errors raised on purpose; its text is one line meant for the user."""


class InputError(MixjtError, ValueError):
    """The request itself is wrong: a name, a fraction, a unit, a range, a file."""


class UnknownGasError(InputError):
    """A gas name that the catalogue does not know."""


class UnreachableError(MixjtError):
    """The request is well formed, but no state or design can satisfy it."""


class MissingDataError(MixjtError):
    """The model lacks a parameter that the request needs."""


class ConvergenceError(MixjtError):
    """A solver stopped short of its tolerance.

    Parameters
    ----------
    task : str
        What was being solved, for instance "flash at given temperature and pressure".
    hint : str
        What the user may try.
    **state
        Whatever pins the failed state down (temperature in K, pressure in Pa, blend ...).
    """

    def __init__(self, task: str, hint: str = "", **state):
        self.task, self.hint, self.state = task, hint, state
        where = ", ".join(f"{name} = {_short(value)}" for name, value in state.items())
        text = f"{task} did not converge" + (f" at {where}" if where else "")
        super().__init__(text + (f"; {hint}" if hint else ""))


def _short(value) -> str:
    return f"{value:.6g}" if isinstance(value, float) else str(value)
