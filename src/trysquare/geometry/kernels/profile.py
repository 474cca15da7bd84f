"""Smallest zone of distances from a nominal surface over rigid motions of the points; a batch in turn.

The distances along the nominal normals are made linear in the motion, the linear zone solved exactly (`zone.exchange`),
and the step taken in full, or in part where the whole would widen the zone, until the width meets its linear bound.
"""

import math

import numpy as np

from ...core.compiled import kernel
from .zone import exchange

_TURNS = 60
_HALVINGS = 30
_DIGITS = 2e-13  # of the width: a gap to the bound of less is none
_LEFT = 1e-8  # of a column: what is left across the others counts as nothing below
_MET, _NO_DECREASE, _LIMIT = 0, 1, 3  # as in zones.STOPS


@kernel()
def rotation(w, R):
    """R = exp of the rotation vector w (O. Rodrigues)."""
    t = math.sqrt(w[0] * w[0] + w[1] * w[1] + w[2] * w[2])
    s = 1.0 if t < 1e-150 else math.sin(t) / t
    c = 0.5 if t < 1e-150 else 2.0 * (math.sin(0.5 * t) / t) ** 2
    for i in range(3):
        for j in range(3):
            R[i, j] = c * w[i] * w[j] + (1.0 - c * t * t if i == j else 0.0)
    R[0, 1] -= s * w[2]
    R[0, 2] += s * w[1]
    R[1, 0] += s * w[2]
    R[1, 2] -= s * w[0]
    R[2, 0] -= s * w[1]
    R[2, 1] += s * w[0]


@kernel()
def _turns_of(w, G):
    """Columns of G: the small turn that a change of each part of the rotation vector w adds (left Jacobian)."""
    t = math.sqrt(w[0] * w[0] + w[1] * w[1] + w[2] * w[2])
    a = 1.0 if t < 1e-4 else math.sin(t) / t
    b = 0.5 if t < 1e-4 else (1.0 - math.cos(t)) / (t * t)
    c = 1.0 / 6.0 if t < 1e-4 else (1.0 - a) / (t * t)
    for i in range(3):
        for j in range(3):
            G[i, j] = c * w[i] * w[j] + (a if i == j else 0.0)
    G[0, 1] -= b * w[2]
    G[0, 2] += b * w[1]
    G[1, 0] += b * w[2]
    G[1, 2] -= b * w[0]
    G[2, 0] -= b * w[1]
    G[2, 1] += b * w[0]


@kernel()
def _distances(P, N, normals, R, t, d):
    """d = distances of R p + t from the nominal points along their normals. Largest and least."""
    high, low = -math.inf, math.inf
    for i in range(P.shape[0]):
        s = 0.0
        for k in range(3):
            q = R[k, 0] * P[i, 0] + R[k, 1] * P[i, 1] + R[k, 2] * P[i, 2] + t[k] - N[i, k]
            s += normals[i, k] * q
        d[i] = s
        high = max(high, s)
        low = min(low, s)
    return high, low


@kernel()
def _columns(P, normals, R, G, free, offset, A):
    """Rows of A: change of the distances with the offset and each free part of the motion. How many there are."""
    count = 0
    if offset:
        for i in range(P.shape[0]):
            A[0, i] = 1.0
        count = 1
    for k in range(6):
        if not free[k]:
            continue
        for i in range(P.shape[0]):
            if k < 3:
                A[count, i] = normals[i, k]
                continue
            x = R[0, 0] * P[i, 0] + R[0, 1] * P[i, 1] + R[0, 2] * P[i, 2]
            y = R[1, 0] * P[i, 0] + R[1, 1] * P[i, 1] + R[1, 2] * P[i, 2]
            z = R[2, 0] * P[i, 0] + R[2, 1] * P[i, 1] + R[2, 2] * P[i, 2]
            A[count, i] = (
                G[0, k - 3] * (y * normals[i, 2] - z * normals[i, 1])
                + G[1, k - 3] * (z * normals[i, 0] - x * normals[i, 2])
                + G[2, k - 3] * (x * normals[i, 1] - y * normals[i, 0])
            )
        count += 1
    return count


@kernel()
def _orthogonal(A, count, T, kept):
    """Make the first rows of A orthogonal, of mean square 1, over the same space; rows kept = T' of them. The rank."""
    n = A.shape[1]
    r = 0
    for k in range(count):
        whole = 0.0
        for i in range(n):
            A[r, i] = A[k, i]
            whole += A[k, i] * A[k, i]
        for j in range(r):
            T[j, r] = 0.0
        for _ in range(2):
            for j in range(r):
                s = 0.0
                for i in range(n):
                    s += A[j, i] * A[r, i]
                s /= n
                T[j, r] += s
                for i in range(n):
                    A[r, i] -= s * A[j, i]
        left = 0.0
        for i in range(n):
            left += A[r, i] * A[r, i]
        if left > _LEFT * _LEFT * whole:
            T[r, r] = math.sqrt(left / n)
            for i in range(n):
                A[r, i] /= T[r, r]
            kept[r] = k
            r += 1
    return r


@kernel()
def _beside(A, r, flat):
    """The first rows of A as columns (n, r)."""
    n = A.shape[1]
    Q = flat[: n * r].reshape((n, r))
    for i in range(n):
        for j in range(r):
            Q[i, j] = A[j, i]
    return Q


@kernel()
def _spread_out(y, T, r, kept, free, offset, step):
    """step (7): the motion (6) and the offset of the coefficients y of the orthogonal columns."""
    for k in range(7):
        step[k] = 0.0
    for j in range(r - 1, -1, -1):
        s = y[j]
        for k in range(j + 1, r):
            s -= T[j, k] * y[k]
        y[j] = s / T[j, j]
        place = kept[j] - (1 if offset else 0)
        if place < 0:
            step[6] = y[j]
            continue
        for k in range(6):
            if free[k]:
                if place == 0:
                    step[k] = y[j]
                place -= 1


@kernel()
def profile_zone(P, N, normals, R0, start, free, offset, values, motions, notes, held, residuals):
    """Members P (m, n, 3) about the point that is turned about, turned by R0 (m, 3, 3) and moved by `start` (m, 3).

    `free` (6): shifts along, turns about the axes. Fills values (m, 3): width, bound, middle; motions (m, 3, 4): turn
    and shift; notes (m, 3): stop, turns, rank; held (m, 2, 8): contacts and sides; residuals (m, n) from the middle.
    """
    n = P.shape[1]
    A, flat, T = np.empty((7, n)), np.empty(7 * n), np.zeros((7, 7))
    d, h, y, step = np.empty(n), np.empty(n), np.empty(8), np.empty(7)
    index, kept = np.empty(8, np.int64), np.empty(7, np.int64)
    w, t, R, E, G, now = np.empty(3), np.empty(3), np.empty((3, 3)), np.empty((3, 3)), np.empty((3, 3)), np.empty(6)
    for m in range(P.shape[0]):
        for k in range(6):
            now[k] = 0.0 if k >= 3 else start[m, k]
        high, low = _moved(P[m], N, normals, R0[m], now, w, t, E, R, d)
        code, rank, turns, bound = _LIMIT, 0, 0, 0.0
        width = high - low if offset else 2.0 * max(high, -low)
        for turn in range(_TURNS):
            turns = turn
            _turns_of(w, G)
            rank = _orthogonal(A, _columns(P[m], normals, R, G, free, offset, A), T, kept)
            scale = max(high, -low)
            for j in range(8):
                index[j] = -1
            if scale <= 0.0:
                code = _MET
                break
            for i in range(n):
                h[i] = d[i] / scale
            exchange(_beside(A, rank, flat), h, y[: rank + 1], index[: rank + 1])
            bound = min(2.0 * scale * y[rank], width)
            if width - bound <= _DIGITS * width:
                code = _MET
                break
            _spread_out(y, T, rank, kept, free, offset, step)
            part, better = -scale, False
            for _ in range(_HALVINGS):
                for k in range(6):
                    now[k] += part * step[k]
                up, down = _moved(P[m], N, normals, R0[m], now, w, t, E, R, d)
                trial = up - down if offset else 2.0 * max(up, -down)
                if trial < width:
                    high, low, width, better = up, down, trial, True
                    break
                for k in range(6):
                    now[k] -= part * step[k]
                part *= 0.5
            if not better:
                code = _NO_DECREASE
                _moved(P[m], N, normals, R0[m], now, w, t, E, R, d)
                break
        middle = 0.5 * (high + low) if offset else 0.0
        values[m, 0], values[m, 1], values[m, 2] = width, bound, middle
        notes[m, 0], notes[m, 1], notes[m, 2] = code, turns, rank - (1 if offset else 0)
        _write(R, t, d, middle, index, rank, motions[m], held[m], residuals[m])


@kernel()
def _moved(P, N, normals, R0, now, w, t, E, R, d):
    """Motion `now` (shift, rotation vector) as w, t and R = exp(w) R0, and the distances it leaves."""
    for k in range(3):
        t[k], w[k] = now[k], now[3 + k]
    rotation(w, E)
    for i in range(3):
        for j in range(3):
            R[i, j] = E[i, 0] * R0[0, j] + E[i, 1] * R0[1, j] + E[i, 2] * R0[2, j]
    return _distances(P, N, normals, R, t, d)


@kernel()
def _write(R, t, d, middle, index, rank, motion, held, residuals):
    for i in range(3):
        for j in range(3):
            motion[i, j] = R[i, j]
        motion[i, 3] = t[i]
    for i in range(d.size):
        residuals[i] = d[i] - middle
    for j in range(8):
        own = j <= rank and index[j] >= 0
        held[0, j] = index[j] if own else -1
        held[1, j] = 0
        if own:
            held[1, j] = 1 if residuals[index[j]] > 0.0 else -1
