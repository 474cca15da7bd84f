"""The least largest of linear functions over a box, by exchange: the primal simplex method on the dual linear program.

min over x in a box of max_i (b_i + a_i . x), or of max_i |b_i + a_i . x| (`both`). The dual: max sum w_i s_i b_i less
the sum of the box's half-widths times its multipliers, with sum w_i s_i a_i + the box's multipliers = 0 and
sum w_i = 1. Its value is a lower bound at every step.
"""

import numpy as np

from ...core.compiled import kernel
from .zone import invert

_TOL = 1e-13  # of the largest |b|: a row above the level by less is not above it
_BLAND = 60  # steps after which the first row that helps is let in instead of the best: no cycle can last
_LIMIT = 400
MOST = 6  # columns of a basis: five unknowns and the level


@kernel()
def _start(A, b, both, box, C, cost, index):
    """Start basis: the side of the box that balances the highest row, for each unknown."""
    p = A.shape[0]
    top = 0
    for i in range(1, b.size):
        if (abs(b[i]) > abs(b[top])) if both else (b[i] > b[top]):
            top = i
    s = -1.0 if both and b[top] < 0.0 else 1.0
    for i in range(p + 1):
        for j in range(p + 1):
            C[i, j] = 0.0
    for k in range(p):
        C[k, k] = -1.0 if s * A[k, top] > 0.0 else 1.0
        cost[k] = -box[k]
        index[k] = -1 - k
        C[k, p] = s * A[k, top]
    C[p, p] = 1.0
    cost[p] = s * b[top]
    index[p] = top
    return s


@kernel()
def heights(A, b, x, e):
    """e = b + A' x, one unknown after another."""
    n = b.size
    for i in range(n):
        e[i] = b[i]
    for k in range(A.shape[0]):
        c = x[k]
        for i in range(n):
            e[i] += A[k, i] * c


@kernel()
def entering(e, both, level, first):
    """The row highest above the level (the first one when `first`), by how much, and its sign."""
    most = -1e300
    row = 0
    for i in range(e.size):
        a = abs(e[i]) if both else e[i]
        if a > most:
            most = a
            row = i
            if first and a > level + _TOL:
                break
    return row, most - level, -1.0 if both and e[row] < 0.0 else 1.0


@kernel()
def _leaving(w, V, p, index):
    """Position that leaves by the ratio test, ties to the smallest index; -1 when none may."""
    out = -1
    least = 0.0
    for i in range(p + 1):
        if w[i] > 1e-11:
            ratio = max(V[i, p], 0.0) / w[i]
            if out < 0 or ratio < least or (ratio == least and index[i] < index[out]):
                least = ratio
                out = i
    return out


@kernel()
def least_max(A, b, both, box, x, index, sign, weight, e):
    """Solve for A (p, n), b (n) with |b| <= 1; box (p) holds the half-widths. Returns the level: a lower bound.

    Fills x (p); index (p + 1): rows at the level, or -1 - k where side k of the box holds; sign and weight (p + 1) of
    each. e (n) is room to work in.
    """
    p = A.shape[0]
    C = np.empty((MOST, MOST))
    W = np.empty((p + 1, p + 1))
    V = np.empty((p + 1, p + 1))
    cost = np.empty(MOST)
    w = np.empty(MOST)
    sign[p] = _start(A, b, both, box, C, cost, index)
    for k in range(p):
        sign[k] = C[k, k]
    level = -1e300
    for step in range(_LIMIT):
        for i in range(p + 1):
            for j in range(p + 1):
                W[i, j] = C[i, j]
        if not invert(W, V):
            break
        level = 0.0
        for j in range(p + 1):
            y = 0.0
            for i in range(p + 1):
                y += cost[i] * V[i, j]
            if j < p:
                x[j] = -y
            else:
                level = y
        for i in range(p + 1):
            weight[i] = V[i, p]
        heights(A, b, x, e)
        row, over, s = entering(e, both, level, step > _BLAND)
        wall = -1
        for k in range(p):
            beyond = abs(x[k]) - box[k]
            if beyond > _TOL * (1.0 + box[k]) and (beyond > over or over <= _TOL):
                over = beyond
                wall = k
        if over <= _TOL:
            break
        if wall >= 0:
            s = 1.0 if x[wall] > 0.0 else -1.0
        for i in range(p + 1):
            w[i] = V[i, wall] * s if wall >= 0 else V[i, p]
            if wall < 0:
                for k in range(p):
                    w[i] += V[i, k] * s * A[k, row]
        out = _leaving(w, V, p, index)
        if out < 0:
            break
        for k in range(p):
            C[k, out] = (s if k == wall else 0.0) if wall >= 0 else s * A[k, row]
        C[p, out] = 0.0 if wall >= 0 else 1.0
        cost[out] = -box[wall] if wall >= 0 else s * b[row]
        index[out] = -1 - wall if wall >= 0 else row
        sign[out] = s
    return level
