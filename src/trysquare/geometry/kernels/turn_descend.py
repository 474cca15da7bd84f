"""Damped Gauss-Newton descent to the least weighted sum of squares, Newton's once that is slow."""

import math

import numpy as np

from ...core.compiled import kernel
from .small import copy, factor_damped, solve
from .turn_rows import HOOP, STATE, WIDE, sums
from .turn_steps import free, reduced, stepped

SMALL_STEP, NO_DECREASE, OPEN, LIMIT = 1, 2, 3, 4  # codes of results.STOPS
_DIGITS = 1e-15  # of the size: a change of the residuals below it is none
_NEWTON = 6  # passes after which a descent that is still on its way counts the curvature of the distances too
_ROUNDING = 1e-15  # of the size: what a distance may be rounded by
_UNSEEN = 1e-9  # of the sum of squares: a decrease below it drowns in rounding, so a shrinking step is taken on trust
_SILENT = 1e-9  # of the size: a natural step that moves the surface less is one that the data say nothing about
_OPEN = 1e-6  # least sine between one column of the Jacobian and the others
_PROBE = 1e-5  # of the size, of a radian, of the curvature of the size: the step over which a gradient is compared


@kernel()
def workspace():
    """Matrices A (full), B (free), C (curved), L, Z, and vectors by row: J, g, f, d, scale, step, other, two states."""
    return np.zeros((5, WIDE, WIDE)), np.zeros((9, STATE))


@kernel()
def normal(kind, held, X, W, s, M, v):
    """Sum of squares at s; M[0] and v[1] hold all parameters, M[1] and v[2] the free ones; returns also their count."""
    ss = sums(kind, X, W, s, v[0], M[0], v[1])
    n = free(kind, held, s, M[4])
    reduced(M[0], v[1], M[4], n, M[1], v[2])
    return ss, n


@kernel()
def reach(kind, Z, j, size):
    """How far the free step j goes in natural units: the size, a radian, the curvature of the size."""
    far = max(abs(Z[0, j]) / size, abs(Z[1, j]), abs(Z[3, j]), abs(Z[4, j]), abs(Z[2, j]) * size, abs(Z[6, j]) * size)
    return max(far, abs(Z[5, j]) / size if kind == HOOP else abs(Z[5, j]) * size)


@kernel()
def _curved(kind, held, fixed, X, W, s, n, size, M, v):
    """M[2] = the second derivatives, by central differences of the gradient along each free step."""
    A, C, Z = M[0], M[2], M[4].copy()
    step, other, near = v[5], v[6], v[7]
    rows = np.empty((n, n))
    for j in range(n):
        step[:] = 0.0
        probe = _PROBE / reach(kind, Z, j, size)
        for side in range(2):
            step[j] = probe if side == 0 else -probe
            stepped(kind, held, fixed, s, Z, n, step, near)
            sums(kind, X, W, near, v[0], A, v[1])
            free(kind, held, near, M[4])
            reduced(A, v[1], M[4], n, M[3], other)
            for i in range(n):
                rows[j, i] = (0.0 if side == 0 else rows[j, i]) - (other[i] if side == 0 else -other[i])
        for i in range(n):
            rows[j, i] /= 2.0 * probe
    for i in range(n):
        for j in range(i, n):
            C[i, j] = 0.5 * (rows[i, j] + rows[j, i])


@kernel()
def settle(kind, held, fixed, X, W, s, size, passes, M, v):
    """Bring the state s to the least sum of squares; M[0] is left with the normal equations of all parameters there.

    Returns (code, passes used, sum of squares).
    """
    total = W.sum()
    trial = v[8]
    ss, n = normal(kind, held, X, W, s, M, v)
    damping, last, ratio, curvature = 0.0, 0.0, 0.0, False
    code, done = LIMIT, 0
    f, d, scale = v[2].copy(), v[3], v[4]
    ready = False
    while done < passes:
        done += 1
        if not ready:
            for i in range(n):
                scale[i] = M[1, i, i]
                f[i] = v[2, i]
            curvature = done > _NEWTON
            if curvature:
                _curved(kind, held, fixed, X, W, s, n, size, M, v)
            free(kind, held, s, M[4])
            ready = True
        ratio = factor_damped(M[2] if curvature else M[1], n, damping, scale, M[3])
        if ratio <= 0.0:
            if damping > 1e6 or not math.isfinite(ss):
                code = OPEN
                break
            damping = max(10.0 * damping, 1e-10)
            continue
        solve(M[3], n, f, d)
        change = 0.0
        for i in range(n):
            change += d[i] * f[i]
        change = math.sqrt(max(change, 0.0) / total)
        digits = _DIGITS * size
        stepped(kind, held, fixed, s, M[4], n, d, trial)
        if damping == 0.0 and (change <= digits or (change < 0.1 * last and change * change <= 0.1 * digits * last)):
            copy(trial, s)
            code = SMALL_STEP
            break
        after, _ = normal(kind, held, X, W, trial, M, v)
        rounding = _ROUNDING * size * math.sqrt(ss * total)
        unseen = total * change * change < _UNSEEN * ss + rounding and (last == 0.0 or change < last)
        if after < ss or (unseen and damping == 0.0):
            copy(trial, s)
            ss = after
            last = change
            ready = False
            damping = 0.0 if damping < 1e-9 else 0.1 * damping
            continue
        if change < 1e-9 * size:
            if damping == 0.0:
                code = NO_DECREASE
                break
            damping, last = 0.0, 0.0
        else:
            damping = max(10.0 * damping, 1e-4)
        if not curvature:  # the trial has overwritten the equations
            normal(kind, held, X, W, s, M, v)
        free(kind, held, s, M[4])
    ss, n = normal(kind, held, X, W, s, M, v)
    return code, done, ss


@kernel()
def told(kind, held, s, size, total, M, spread):
    """What the data tell at the state s, after `settle`: fills spread (7, 7) with the cofactors of all parameters.

    Returns (number of free steps, how many of them the data fix, least sine of a column to those before it).
    """
    B, L, Z = M[1], M[3], M[4]
    n = free(kind, held, s, Z)
    rank, least = 0, 1.0
    for i in range(n):
        for j in range(i):
            t = B[j, i]
            for q in range(j):
                t -= L[i, q] * L[j, q]
            L[i, j] = t * L[j, j]
        t = B[i, i]
        for q in range(i):
            t -= L[i, q] * L[i, q]
        heard = math.sqrt(B[i, i] / total) > _SILENT * size * reach(kind, Z, i, size)
        sine = math.sqrt(max(t, 0.0) / B[i, i]) if heard else 0.0
        least = min(least, sine)
        if sine > _OPEN:
            rank += 1
            L[i, i] = 1.0 / math.sqrt(t)
        else:
            L[i, i] = 0.0  # takes the step out
    spread[:, :] = 0.0
    x, e = np.empty(n), np.zeros(n)
    for a in range(WIDE):
        for j in range(n):
            e[j] = Z[a, j]
        solve(L, n, e, x)
        for b in range(WIDE):
            for j in range(n):
                spread[a, b] += Z[b, j] * x[j]
    return n, rank, least
