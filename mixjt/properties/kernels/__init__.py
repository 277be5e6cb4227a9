"""Compiled kernels: cubic equation of state, stability, phase splits, sweeps along temperature.

Everything below this package is numba code on plain arrays. Conventions, all per blend and state:

- c gases with nonzero mole fraction; A (c, c) and B (c,) are the dimensionless parameters
  A_ij = a_ij p / (R T)^2 and B_i = b_i p / (R T);
- eos = (delta1, delta2, omega_a / omega_b): p = RT/(v - b) - a / ((v + delta1 b)(v + delta2 b)), and the
  value of a / (b R T) at the critical point of a pure fluid;
- ln phi is the logarithm of a fugacity coefficient.
"""

from numba import njit

# Reassociation and contraction are allowed; NaN and infinity keep their meaning.
OPTIONS = {"nogil": True, "error_model": "numpy", "fastmath": {"contract", "reassoc", "arcp", "nsz"}}


def compiled(function):
    """Compile a kernel when it is first called; kept for later runs where a directory for that can be written."""
    try:
        return njit(cache=True, **OPTIONS)(function)
    except RuntimeError:  # numba: no locator available, so neither the package nor the user's cache is writable
        return njit(**OPTIONS)(function)
