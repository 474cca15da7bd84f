"""Linear Chebyshev fit by exchange: the primal simplex method on the dual linear program, one member at a time.

min over c of max |h - Q c| has the dual: max sum x_i s_i h_i with sum x_i s_i Q_i = 0, sum x_i = 1, x >= 0. A basis
holds r + 1 signed rows; a step lets in the row with the largest deviation and puts out the one the ratio test names.
"""

import numpy as np

from ...core.compiled import kernel
from .small import copy

_BIG = 16.0  # cost of the start columns. Columns are orthonormal (rms 1), |h| <= 1: every answer has |c| <= 2
_TOL = 1e-13  # of the largest |h|: a deviation above the level by less is none
_BLAND = 60  # steps after which the first row that helps is let in instead of the best: no cycle can last
_LIMIT = 2000


@kernel()
def invert(B, V):
    """V = inverse of B (destroyed) by Gauss-Jordan with row pivots; False when singular."""
    n = B.shape[0]
    for i in range(n):
        for j in range(n):
            V[i, j] = 1.0 if i == j else 0.0
    for k in range(n):
        p = k
        for i in range(k + 1, n):
            if abs(B[i, k]) > abs(B[p, k]):
                p = i
        if B[p, k] == 0.0:
            return False
        if p != k:
            for j in range(n):
                B[k, j], B[p, j] = B[p, j], B[k, j]
                V[k, j], V[p, j] = V[p, j], V[k, j]
        d = 1.0 / B[k, k]
        for j in range(n):
            B[k, j] *= d
            V[k, j] *= d
        for i in range(n):
            f = B[i, k]
            if i != k and f != 0.0:
                for j in range(n):
                    B[i, j] -= f * B[k, j]
                    V[i, j] -= f * V[k, j]
    return True


@kernel()
def _start(Q, h, C, cost, index):
    """Start basis: one big-cost column per direction, signed so that the first row and they balance."""
    r = Q.shape[1]
    C[:, :] = 0.0
    s = 1.0 if h[0] >= 0.0 else -1.0
    for k in range(r):
        C[k, k] = -1.0 if s * Q[0, k] > 0.0 else 1.0
        cost[k] = -_BIG
        index[k] = -1 - k
        C[k, r] = s * Q[0, k]
    C[r, r] = 1.0
    cost[r] = s * h[0]
    index[r] = 0


@kernel()
def _worst(Q, h, y, first):
    """Row with the largest |h - Q y| (or the first above the level y[r] when `first`), that value and its sign."""
    N, r = Q.shape
    best = -1.0
    row = 0
    sign = 1.0
    for i in range(N):
        e = h[i]
        for k in range(r):
            e -= Q[i, k] * y[k]
        a = abs(e)
        if a > best:
            best = a
            row = i
            sign = 1.0 if e > 0.0 else -1.0
            if first and a > y[r] + _TOL:
                break
    return row, best, sign


@kernel()
def _leaving(x, w, index):
    """Position that leaves by the ratio test, ties to the smallest index; -1 when none may."""
    out = -1
    least = 0.0
    for i in range(x.size):
        if w[i] > 1e-10:
            ratio = max(x[i], 0.0) / w[i]
            if out < 0 or ratio < least or (ratio == least and index[i] < index[out]):
                least = ratio
                out = i
    return out


@kernel()
def exchange(Q, h, y, index):
    """Solve one member with |h| <= 1; y[:r] the coefficients, y[r] the level, index (r + 1) the rows at the level.

    Returns the largest |h - Q y|: the level itself but for rounding.
    """
    r = Q.shape[1]
    n = r + 1
    C = np.empty((n, n))
    W = np.empty((n, n))
    V = np.empty((n, n))
    cost = np.empty(n)
    x = np.empty(n)
    w = np.empty(n)
    _start(Q, h, C, cost, index)
    upper = 4.0
    for step in range(_LIMIT):
        copy(C, W)
        if not invert(W, V):
            break
        for j in range(n):
            y[j] = 0.0
            for i in range(n):
                y[j] += cost[i] * V[i, j]
        row, best, sign = _worst(Q, h, y, step > _BLAND)
        if step <= _BLAND:
            upper = min(upper, best)
        if best <= y[r] + _TOL:
            return best
        for i in range(n):
            x[i] = V[i, r]
            w[i] = V[i, r]
            for k in range(r):
                w[i] += V[i, k] * sign * Q[row, k]
        out = _leaving(x, w, index)
        if out < 0:
            break
        for k in range(r):
            C[k, out] = sign * Q[row, k]
        C[r, out] = 1.0
        cost[out] = sign * h[row]
        index[out] = row
    return upper


@kernel()
def zone(Q, H, widths, coefficients):
    """Widths (m,) and coefficients (m, r) of heights H (m, N) over orthogonal columns Q (N, r) of mean square 1."""
    N, r = Q.shape
    y = np.empty(r + 1)
    index = np.empty(r + 1, np.int64)
    base = np.empty(r)
    h = np.empty(N)
    for m in range(H.shape[0]):
        for k in range(r):
            s = 0.0
            for i in range(N):
                s += Q[i, k] * H[m, i]
            base[k] = s / N
        scale = 0.0
        for i in range(N):
            e = H[m, i]
            for k in range(r):
                e -= Q[i, k] * base[k]
            h[i] = e
            scale = max(scale, abs(e))
        widths[m] = 0.0
        copy(base, coefficients[m])
        if scale > 0.0:
            for i in range(N):
                h[i] /= scale
            widths[m] = 2.0 * scale * exchange(Q, h, y, index)
            for k in range(r):
                coefficients[m, k] += scale * y[k]
