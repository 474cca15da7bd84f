"""Least squares with all points on one side: the dual method of D. Goldfarb and A. Idnani (Math. Prog. 27 (1983) 1).

In a frame about the centroid the plane h = c + p a + q b has the mean of squares c^2 + (p, q) S (p, q) - 2 (p, q).s
+ S_hh (S the scatter across, s that with the heights). It is made least under c + p a_i + q b_i >= h_i for all points.
"""

import math

from ...core.compiled import kernel
from .chart import outside

_TOL = 1e-15  # of the largest height
_STEPS = 200
_SCANS = 200
_FLAT = 1e-12  # of a normal of a constraint: less of it left across the others is nothing


@kernel()
def factor_two(aa, ab, bb, free, L):
    """Lower factor of the weights across; False where they are not positive."""
    L[1, 0] = 0.0
    L[1, 1] = 1.0
    if not aa > 0.0:
        return False
    L[0, 0] = math.sqrt(aa)
    if free > 2:
        L[1, 0] = ab / L[0, 0]
        left = bb - L[1, 0] ** 2
        if not left > 1e-12 * bb:
            return False
        L[1, 1] = math.sqrt(left)
    return True


@kernel()
def _row(L, free, a, b, out):
    """A constraint (1, a, b) in coordinates in which the weights are 1."""
    out[0] = 1.0
    out[1] = a / L[0, 0]
    out[2] = (b - L[1, 0] * out[1]) / L[1, 1] if free > 2 else 0.0


@kernel()
def _split(rows, count, Q, R, d, r, z):
    """z = the part of d across the first rows, r its coefficients along them; |z|^2 over |d|^2."""
    for i in range(3):
        z[i] = d[i]
    for j in range(count):
        for i in range(3):
            Q[j, i] = rows[j, i]
        for twice in range(2):
            for k in range(j):
                s = Q[j, 0] * Q[k, 0] + Q[j, 1] * Q[k, 1] + Q[j, 2] * Q[k, 2]
                R[k, j] = s if twice == 0 else R[k, j] + s
                for i in range(3):
                    Q[j, i] -= s * Q[k, i]
        R[j, j] = math.sqrt(Q[j, 0] ** 2 + Q[j, 1] ** 2 + Q[j, 2] ** 2)
        for i in range(3):
            Q[j, i] /= R[j, j]
        r[j] = 0.0
    for _ in range(2):
        for j in range(count):
            s = z[0] * Q[j, 0] + z[1] * Q[j, 1] + z[2] * Q[j, 2]
            r[j] += s
            for i in range(3):
                z[i] -= s * Q[j, i]
    for j in range(count - 1, -1, -1):
        for k in range(j + 1, count):
            r[j] -= R[j, k] * r[k]
        r[j] /= R[j, j]
    whole = d[0] ** 2 + d[1] ** 2 + d[2] ** 2
    return (z[0] ** 2 + z[1] ** 2 + z[2] ** 2) / whole


@kernel()
def _drop(out, count, rows, index, u):
    for j in range(out, count - 1):
        for i in range(3):
            rows[j, i] = rows[j + 1, i]
        index[j] = index[j + 1]
        u[j] = u[j + 1]


@kernel()
def _add(point, short, x, rows, k, index, u, d, Q, R, r, z):
    """Bring in the constraint d of `point`, `short` of its height at x: how many are active now, -1 when stuck."""
    own = 0.0
    for _ in range(12):
        left = _split(rows, k, Q, R, d, r, z)
        step, out = math.inf, -1
        for j in range(k):
            if r[j] > 0.0 and u[j] / r[j] < step:
                step, out = u[j] / r[j], j
        whole = d[0] ** 2 + d[1] ** 2 + d[2] ** 2
        full = short / (left * whole) if left > _FLAT**2 else math.inf
        if full <= step:
            out, step = -1, full
        if step == math.inf:
            return -1
        for j in range(k):
            u[j] -= step * r[j]
        own += step
        if left > _FLAT**2:
            short -= step * left * whole
            for i in range(3):
                x[i] += step * z[i]
        if out < 0:
            for i in range(3):
                rows[k, i] = d[i]
            index[k], u[k] = point, own
            return k + 1
        _drop(out, k, rows, index, u)
        k -= 1
    return -1


@kernel()
def nearest(room, L, free, start, index, work):
    """c, p and q of the least sum of squares, from the free optimum `start` (p, q); points active in `index`, counted.

    `L` are the weights by `factor_two`; `room` holds the points as seen; `work` (8, 4, 4).
    """
    rows, Q, R = work[0], work[1], work[2]
    u, d, r, z, x, y = work[3, 0], work[3, 1], work[3, 2], work[3, 3], work[4, 0], work[4, 1]
    seen = room.seen
    x[0] = 0.0
    x[1] = L[0, 0] * start[0] + (L[1, 0] * start[1] if free > 2 else 0.0)
    x[2] = L[1, 1] * start[1] if free > 2 else 0.0
    k = 0
    for _ in range(_SCANS):
        _plane(L, free, x, y)
        count = outside(seen, y[1], y[2], -1e300, y[0] + _TOL * room.scales[2], room.lanes, room.rows)
        if count == 0:
            break
        for _ in range(_STEPS):
            _plane(L, free, x, y)
            short, point = _TOL * room.scales[2], -1
            for j in range(count):
                i = room.rows[j]
                e = seen[2, i] - y[0] - y[1] * seen[0, i] - y[2] * seen[1, i]
                if e > short:
                    short, point = e, i
            if point < 0:
                break
            _row(L, free, seen[0, point], seen[1, point], d)
            k = _add(point, short, x, rows, k, index, u, d, Q, R, r, z)
            if k < 0:
                return y[0], y[1], y[2], 0
    _plane(L, free, x, y)
    return y[0], y[1], y[2], k


@kernel()
def _plane(L, free, x, y):
    """y = c, p, q of the coordinates x."""
    y[0] = x[0]
    y[2] = x[2] / L[1, 1] if free > 2 else 0.0
    y[1] = (x[1] - L[1, 0] * y[2]) / L[0, 0]
