"""Smallest zone, smallest circumscribed and largest inscribed circle, sphere and cylinder, one member at a time.

Each step solves the linear problem within a box exactly (`least_max`); where fewer contacts than unknowns hold the
optimum, a Newton step on the conditions of the optimum, with those contacts, follows (R. Fletcher, E. Sainz de la Maza,
Math. Programming 43, 1989). A step is taken when what is made small falls, else the box shrinks.
"""

import math

import numpy as np

from ...core.compiled import kernel
from .least_max import entering, heights, least_max
from .round_state import INNER, OUTER, TUBE, ZONE, bend, distances, move, reach, slopes
from .zone import invert

MET, NO_DECREASE, OPEN, LIMIT = range(4)
_PASSES = 150
_EPS = 2.3e-16
_FREE = 1e9  # half-width of the box for the radius of a zone, in half-widths of the zone: none
_EXCHANGES = 12
_CORRECTIONS = 3
_POLISH = 6  # Newton steps of less than 1e-6 of the size that are taken on trust


@kernel()
def _level(mode, low, high):
    """What is made small."""
    return high if mode == OUTER else (-low if mode == INNER else 0.5 * (high - low))


@kernel()
def _rows(mode, k, low, high, rho, A, b):
    """The rows of the linear problem over A[:k], the slopes: b scaled to |b| <= 1. Returns the scale."""
    n = rho.size
    scale = 0.5 * (high - low) if mode == ZONE else high - low
    if not scale > 0.0:
        scale = high if high > 0.0 else 1.0
    for i in range(n):
        if mode == ZONE:
            b[i] = (rho[i] - 0.5 * (low + high)) / scale
            A[k, i] = -1.0
        elif mode == OUTER:
            b[i] = (rho[i] - high) / scale
        else:
            b[i] = (low - rho[i]) / scale
            for j in range(k):
                A[j, i] = -A[j, i]
    return scale


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
def _newton(kind, mode, P, s, half, scale, damping, A, b, index, sign, weight, x, e):
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
        if over <= 1e-12 * (1.0 + abs(level)) or q > p:
            done = over <= 1e-12 * (1.0 + abs(level))
            break
        index[q], sign[q], weight[q] = top, side, 0.0
        q += 1
    for j in range(q, p + 1):
        index[j] = -1
        weight[j] = 0.0
    return done


@kernel()
def _corrected(mode, k, low, high, scale, rho, A, x, b):
    """b such that the linear rows meet the distances rho found after the step x: what the curvature added counts."""
    for i in range(rho.size):
        if mode == ZONE:
            b[i] = (rho[i] - 0.5 * (low + high)) / scale
        else:
            b[i] = ((rho[i] - high) if mode == OUTER else (low - rho[i])) / scale
        for j in range(k):
            b[i] -= A[j, i] * x[j]


@kernel()
def _vertex(index, p):
    """Whether rows alone hold the linear problem, and no side of the box."""
    for j in range(p + 1):  # noqa: SIM110 - compiled
        if index[j] < 0:
            return False
    return True


@kernel()
def _longest(x, k):
    """The largest of the first k."""
    most = 0.0
    for i in range(k):
        most = max(most, abs(x[i]))
    return most


@kernel()
def _try(kind, mode, P, s, x, scale, half, trial, rho):
    """The level after the step."""
    move(kind, s, x, scale, half, trial)
    low, high = distances(kind, P, trial, rho)
    return _level(mode, low, high)


@kernel()
def press_one(kind, mode, P, s, A, b, rho, e, index, sign, weight, info):
    """Bring the state s of one member to its optimum. Returns the level there."""
    k = kind
    p = A.shape[0]
    x = np.zeros(p)
    y = np.zeros(p)
    box = np.empty(p)
    trial = np.empty(12)
    other = np.empty(12)
    half = reach(P, s) if kind == TUBE else 1.0
    if not half > 0.0:
        half = 1.0
    low, high = distances(kind, P, s, rho)
    level = _level(mode, low, high)
    delta = 0.5 * high
    polish = 0
    damping = 0.0
    info[0] = LIMIT
    for turn in range(_PASSES):
        info[1] = turn
        low, high = distances(kind, P, s, rho)
        eps = _EPS * high
        slopes(kind, P, s, half, A)
        scale = _rows(mode, k, low, high, rho, A, b)
        for j in range(p):
            box[j] = delta / scale if j < k else _FREE
        bound = least_max(A, b, mode == ZONE, box, x, index, sign, weight, e)
        fall = ((1.0 if mode == ZONE else 0.0) - bound) * scale
        if not fall > 2.0 * eps:
            info[0] = MET
            break
        first = _try(kind, mode, P, s, x, scale, half, trial, rho)
        step = _longest(x, k) * scale
        fine = False
        taken = vertex = _vertex(index, p)
        for _ in range(_CORRECTIONS):
            if not _newton(kind, mode, P, s, half, scale, damping / high, A, b, index, sign, weight, y, e):
                break
            second = _try(kind, mode, P, s, y, scale, half, other, rho)
            size = _longest(y, k) * scale
            fine = size < 1e-6 * high and second <= level + 8.0 * eps and second <= first and polish < _POLISH
            if fine or second < min(first, level):
                first, step = second, size
                trial, other = other, trial
                taken = True
                break
            _corrected(mode, k, low, high, scale, rho, A, y, b)
        if not vertex:
            damping = (0.1 * damping if damping > 1e-4 else 0.0) if taken else max(1e-2, 4.0 * damping)
        if fine:
            polish += 1
            if step < 1e-14 * high or polish == _POLISH:
                level = first
                for j in range(12):
                    s[j] = trial[j]
                info[0] = MET
                break
        if first < level or fine:
            if level - first > 0.5 * fall and step > 0.9 * delta:
                delta *= 2.0
            level = first
            for j in range(12):
                s[j] = trial[j]
        else:
            delta = 0.25 * min(delta, step)
            if delta < 1e-15 * high:
                info[0] = NO_DECREASE
                break
    return level


@kernel()
def press(kind, mode, P, states, levels, index, side, weight, info):
    """Optima of P (m, n, 3) from the states (m, 12), which end there; fills levels (m), the contacts index (m, 6), -1
    where free, their side and weight (m, 6), and info (m, 2): why it stopped, passes.
    """
    n = P.shape[1]
    p = kind + 1 if mode == ZONE else kind
    A = np.empty((p, n))
    b = np.empty(n)
    rho = np.empty(n)
    e = np.empty(n)
    for m in range(P.shape[0]):
        for j in range(6):
            index[m, j] = -1
            side[m, j] = 0.0
            weight[m, j] = 0.0
        levels[m] = press_one(kind, mode, P[m], states[m], A, b, rho, e, index[m], side[m], weight[m], info[m])
        for j in range(p + 1):
            if index[m, j] < 0 or not weight[m, j] > 0.0:
                index[m, j] = -1
                side[m, j] = 0.0
                weight[m, j] = 0.0
            elif mode != ZONE:
                side[m, j] = mode
