"""Small dense solvers that work in place, for systems of a few equations."""

from __future__ import annotations

from math import sqrt

from mixjt.properties.kernels import compiled


@compiled
def copy_into(target, source):
    """target[:] = source for vectors; a slice assignment costs seconds of compilation."""
    for i in range(target.size):
        target[i] = source[i]


@compiled
def cholesky_solve(M, rhs):
    """Solve M x = rhs for symmetric M, in place; False when M is not positive definite."""
    n = rhs.size
    for j in range(n):
        pivot = M[j, j]
        for k in range(j):
            pivot -= M[j, k] * M[j, k]
        if not pivot > 1e-14:
            return False
        root = sqrt(pivot)
        M[j, j] = root
        inverse = 1.0 / root
        for i in range(j + 1, n):
            value = M[i, j]
            for k in range(j):
                value -= M[i, k] * M[j, k]
            M[i, j] = value * inverse
    for i in range(n):
        value = rhs[i]
        for k in range(i):
            value -= M[i, k] * rhs[k]
        rhs[i] = value / M[i, i]
    for i in range(n - 1, -1, -1):
        value = rhs[i]
        for k in range(i + 1, n):
            value -= M[k, i] * rhs[k]
        rhs[i] = value / M[i, i]
    return True


@compiled
def damped_cholesky_solve(M, rhs, kept, kept_rhs):
    """Solve (M + damping I) x = rhs in place with the least damping that makes M positive definite.

    A minimiser then still steps downhill where the function is not convex. Only the lower triangle of M
    is read; kept and kept_rhs are scratch. False when no damping up to 1e3 helps.
    """
    n = rhs.size
    for i in range(n):
        kept_rhs[i] = rhs[i]
        for j in range(i + 1):
            kept[i, j] = M[i, j]
    damping = 0.0
    while not cholesky_solve(M, rhs):
        damping = 1e-7 if damping == 0.0 else 10.0 * damping
        if damping > 1e3:
            return False
        for i in range(n):
            rhs[i] = kept_rhs[i]
            for j in range(i + 1):
                M[i, j] = kept[i, j]
            M[i, i] += damping
    return True


@compiled
def gauss_solve(M, rhs, n):
    """Solve the leading n x n system M x = rhs in place with row pivoting; False when singular."""
    for k in range(n):
        pivot = k
        for i in range(k + 1, n):
            if abs(M[i, k]) > abs(M[pivot, k]):
                pivot = i
        if not abs(M[pivot, k]) > 1e-300:
            return False
        if pivot != k:
            for j in range(n):
                M[k, j], M[pivot, j] = M[pivot, j], M[k, j]
            rhs[k], rhs[pivot] = rhs[pivot], rhs[k]
        for i in range(k + 1, n):
            factor = M[i, k] / M[k, k]
            if factor != 0.0:
                for j in range(k, n):
                    M[i, j] -= factor * M[k, j]
                rhs[i] -= factor * rhs[k]
    for i in range(n - 1, -1, -1):
        value = rhs[i]
        for j in range(i + 1, n):
            value -= M[i, j] * rhs[j]
        rhs[i] = value / M[i, i]
    return True
