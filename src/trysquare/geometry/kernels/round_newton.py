"""Newton step on the conditions of a round minimax optimum that fewer contacts than unknowns hold."""

import math

import numpy as np

from ...core.compiled import kernel
from .least_max import entering, heights
from .round_state import INNER, ZONE, bend
from .zone import invert

_EXCHANGES = 12


@kernel()
def _conditions(H, A, b, row, sign, q, x, weight):
    """Step x (p) that keeps the q rows level at the least of level + x' H x / 2, and their weights; the level after it.

    Infinite where the conditions have no single solution.
    """
    p = A.shape[0]
    m = p + 1 + q
    K = np.zeros((m, m))
    V = np.empty((m, m))
    f = np.zeros(m)
    f[p] = -1.0
    for i in range(p):
        for k in range(p):
            K[i, k] = H[i, k]
    for i in range(q):
        for k in range(p):
            K[k, p + 1 + i] = K[p + 1 + i, k] = sign[i] * A[k, row[i]]
        K[p, p + 1 + i] = K[p + 1 + i, p] = -1.0
        f[p + 1 + i] = -sign[i] * b[row[i]]
    if not invert(K, V):
        return math.inf
    level = 0.0
    for k in range(m):
        y = 0.0
        for j in range(p, m):
            y += V[k, j] * f[j]
        if not abs(y) < 1e12:
            return math.inf
        if k < p:
            x[k] = y
        elif k == p:
            level = y
        else:
            weight[k - p - 1] = y
    return level


@kernel()
def _drop(row, sign, weight, q):
    """Take out the row of the least weight when that is negative. Returns how many are left."""
    least = 0
    for i in range(1, q):
        if weight[i] < weight[least]:
            least = i
    if weight[least] >= 0.0:
        return q
    for i in range(least, q - 1):
        row[i] = row[i + 1]
        sign[i] = sign[i + 1]
        weight[i] = weight[i + 1]
    return q - 1


@kernel()
def _among(index, q, row):
    """Whether the row is one of the first q."""
    for j in range(q):  # noqa: SIM110 - compiled
        if index[j] == row:
            return True
    return False


@kernel()
def newton(kind, mode, P, s, half, scale, damping, A, b, index, sign, weight, x, e):
    """Newton step x (p) from the contacts index (p + 1), exchanged until no other row stands above them. Contacts,
    signs and weights are renewed. False where no such step was found.
    """
    p = A.shape[0]
    H = np.zeros((p, p))
    turn = -1.0 if mode == INNER else 1.0
    q = 0
    for j in range(p + 1):
        if index[j] >= 0 and weight[j] > 1e-9:
            bend(kind, P[index[j]], s, half, turn * sign[j] * weight[j] * scale, H)
            index[q], sign[q], weight[q] = index[j], sign[j], weight[j]
            q += 1
    if q < 2 or q > p:
        return False
    for j in range(kind):
        H[j, j] += damping * scale
    done = False
    for _ in range(_EXCHANGES):
        level = _conditions(H, A, b, index, sign, q, x, weight)
        if level == math.inf:
            return False
        left = _drop(index, sign, weight, q)
        if left < q:
            q = left
            continue
        heights(A, b, x, e)
        top, over, side = entering(e, mode == ZONE, level, False)
        done = over <= 1e-12 * (1.0 + abs(level))
        if done or q > p or _among(index, q, top):
            break
        index[q], sign[q], weight[q] = top, side, 0.0
        q += 1
    for j in range(q, p + 1):
        index[j] = -1
        weight[j] = 0.0
    return done
