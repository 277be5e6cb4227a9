"""Symmetric positive definite systems of a few unknowns, solved in place."""

from __future__ import annotations

from math import sqrt

from mixjt.linked import inlined

SMALLEST_PIVOT = 1e-13


@inlined
def factor(A, n):
    """Cholesky factor into the lower triangle of A, reciprocal pivots on its diagonal; False where not positive."""
    for j in range(n):
        pivot = A[j, j]
        for k in range(j):
            pivot -= A[j, k] * A[j, k]
        if not pivot > SMALLEST_PIVOT:
            return False
        inverse = 1.0 / sqrt(pivot)
        A[j, j] = inverse
        for i in range(j + 1, n):
            value = A[i, j]
            for k in range(j):
                value -= A[i, k] * A[j, k]
            A[i, j] = value * inverse
    return True


@inlined
def solve(A, n, x):
    """Replace x by the solution, A as `factor` left it."""
    for i in range(n):
        value = x[i]
        for k in range(i):
            value -= A[i, k] * x[k]
        x[i] = value * A[i, i]
    for i in range(n - 1, -1, -1):
        value = x[i]
        for k in range(i + 1, n):
            value -= A[k, i] * x[k]
        x[i] = value * A[i, i]
