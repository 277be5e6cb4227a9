"""The root of a function between two points where its signs differ."""

from __future__ import annotations

import math
from collections.abc import Callable

from mixjt.errors import ConvergenceError

MOST_STEPS = 200
SMALLEST_RTOL = 8.9e-16  # four times the spacing of floats


def root_between(function: Callable[[float], float], low: float, high: float, xtol: float, rtol: float = SMALLEST_RTOL) -> float:
    """Where a function crosses zero, by inverse quadratic interpolation where that is safe and by halving elsewhere.

    As scipy.optimize.brentq, but a function that is not a number is refused instead of being taken for a root, and
    nothing is loaded that takes longer than solving a circuit.

    Parameters
    ----------
    low, high : float
        The signs of the function differ there.
    xtol, rtol : float
        The root lies within xtol + rtol |x| of what is returned, a point at which the function was asked.

    Raises
    ------
    ConvergenceError
        Where the signs do not differ, or the function is not a number.

    Source: Chandrupatla, Advances in Engineering Software 28 (1997) 145.
    """
    b, a = float(low), float(high)
    fb, fa = function(b), function(a)
    if fa == 0.0 or fb == 0.0:
        return a if fa == 0.0 else b
    if math.isnan(fa) or math.isnan(fb) or (fa > 0.0) == (fb > 0.0):
        raise ConvergenceError("root of a function", "its signs at the ends of the bracket must differ", low=b, high=a)
    share = 0.5
    for _ in range(MOST_STEPS):
        x = a + share * (b - a)
        fx = function(x)
        if math.isnan(fx):
            break
        if (fx > 0.0) == (fa > 0.0):
            c, fc = a, fa
        else:
            c, fc, b, fb = b, fb, a, fa
        a, fa = x, fx
        best, least = (a, fa) if abs(fa) < abs(fb) else (b, fb)
        smallest = (0.5 * xtol + 0.5 * rtol * abs(best)) / abs(b - a)
        if least == 0.0 or smallest > 0.5:
            return best
        xi, phi = (a - b) / (c - b), (fa - fb) / (fc - fb)
        share = 0.5
        if phi**2 < xi and (1.0 - phi) ** 2 < 1.0 - xi:
            share = fa / (fb - fa) * fc / (fb - fc) + (c - a) / (b - a) * fa / (fc - fa) * fb / (fc - fb)
        share = min(max(share, smallest), 1.0 - smallest)
    raise ConvergenceError("root of a function", "try slightly different conditions", at=x)
