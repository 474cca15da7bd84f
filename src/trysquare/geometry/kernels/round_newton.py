"""Newton step on the conditions of a round minimax optimum that fewer contacts than unknowns hold."""

import math

import numpy as np

from ...core.compiled import kernel
from .least_max import entering, heights
from .round_state import INNER, ZONE, bend
from .small import factor
from .zone import invert

_EXCHANGES = 12
_RAISES = 14
_COST = 1e6  # of a row off level, in largest curvatures


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
    W = K.copy()
    if not invert(W, V):
        return math.inf
    y, r = np.zeros(m), f.copy()
    for _ in range(2):  # the second time for what rounding left
        for k in range(m):
            for j in range(m):
                y[k] += V[k, j] * r[j]
            if not abs(y[k]) < 1e12:
                return math.inf
        for k in range(m):
            r[k] = f[k]
            for j in range(m):
                r[k] -= K[k, j] * y[j]
    for k in range(p):
        x[k] = y[k]
    for k in range(q):
        weight[k] = y[p + 1 + k]
    return y[p]


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
def _bowl(H, A, row, sign, q, M, L):
    """Whether H curves upwards along all steps that keep the q rows level: then it does once rows off level cost."""
    p = A.shape[0]
    most = 0.0
    for i in range(p):
        for j in range(p):
            M[i, j] = H[i, j]
            most = max(most, abs(H[i, j]))
    for r in range(1, q):
        for i in range(p):
            u = sign[r] * A[i, row[r]] - sign[0] * A[i, row[0]]
            for j in range(p):
                M[i, j] += _COST * most * u * (sign[r] * A[j, row[r]] - sign[0] * A[j, row[0]])
    return factor(M, p, L) > 0.0


@kernel()
def _exchanged(H, A, b, both, row, sign, q, x, weight, e, M, L):
    """Step x (p) from the q rows, exchanged until no other row stands above them: the level, and how many rows hold it
    then. Infinite where there is no such step.
    """
    p = A.shape[0]
    for _ in range(_EXCHANGES):
        if not _bowl(H, A, row, sign, q, M, L):
            return math.inf, q
        level = _conditions(H, A, b, row, sign, q, x, weight)
        if level == math.inf:
            return math.inf, q
        left = _drop(row, sign, weight, q)
        if left < q:
            q = left
            continue
        heights(A, b, x, e)
        top, over, side = entering(e, both, level, False)
        if over <= 1e-12 * (1.0 + abs(level)):
            return level, q
        if q > p or _among(row, q, top):
            break
        row[q], sign[q], weight[q] = top, side, 0.0
        q += 1
    return math.inf, q


@kernel()
def _held(kind, mode, P, s, half, scale, index, sign, weight, H):
    """Bring the contacts that carry weight to the front: how many; H is the curvature of their weighted sum."""
    q = 0
    for j in range(index.size):
        if index[j] >= 0 and weight[j] > 1e-9:
            w = sign[j] * weight[j] * scale
            bend(kind, P[index[j]], s, half, -w if mode == INNER else w, H)
            index[q], sign[q], weight[q] = index[j], sign[j], weight[j]
            q += 1
    return q


@kernel()
def _seen(H, x, k):
    """The longest of the first k of the step x, and what the curvature adds along it."""
    far = more = 0.0
    for i in range(k):
        far = max(far, abs(x[i]))
        for j in range(k):
            more += 0.5 * x[i] * H[i, j] * x[j]
    return far, more


@kernel()
def newton(kind, mode, P, s, half, scale, stiff, room, raised, A, b, index, sign, weight, x, e):
    """Newton step x (p) from the contacts index (6), no longer than `room`. The curvature is raised alike in all
    unknowns where the contacts hold a saddle or the step is longer, until a step fills at least half of the room; with
    `raised` >= 0 (else -1) by that much and no other. Contacts, signs and weights are renewed.

    Returns the level that the rows and the curvature promise, infinite where there is no such step, and what the
    curvature was raised by, in terms of which `stiff` is that of one point.
    """
    p = A.shape[0]
    H, M, L = np.zeros((p, p)), np.empty((p, p)), np.empty((p, p))
    row, side, share, y = np.empty(6, np.int64), np.empty(6), np.empty(6), np.empty(p)
    last, last_side, last_share = np.empty(6, np.int64), np.empty(6), np.empty(6)
    held = _held(kind, mode, P, s, half, scale, index[: p + 1], sign, weight, H)
    found = high = math.inf
    low, more, at = 0.0, max(raised, 0.0), 0.0
    total, kept = 0.0, 0
    for _ in range((1 if raised >= 0.0 else _RAISES) if 2 <= held <= p else 0):
        total += more
        for j in range(kind):
            H[j, j] += more
        for j in range(held):
            row[j], side[j], share[j] = index[j], sign[j], weight[j]
        level, q = _exchanged(H, A, b, mode == ZONE, row, side, held, y, share, e, M, L)
        far, bowl = _seen(H, y, kind)
        if level < math.inf and far <= room:
            found, high, at, kept = level + bowl, total, total, q
            for j in range(p):
                x[j] = y[j]
            for j in range(q):
                last[j], last_side[j], last_share[j] = row[j], side[j], share[j]
            if total == 0.0 or far > 0.5 * room:
                break
        else:
            low = total
        more = 0.5 * (low + high) - total if high < math.inf else (9.0 * total if total > 0.0 else 1e-6 * stiff)
    if found < math.inf:
        for j in range(p + 1):
            index[j] = last[j] if j < kept else -1
            sign[j] = last_side[j] if j < kept else 0.0
            weight[j] = last_share[j] if j < kept else 0.0
    return found, at
