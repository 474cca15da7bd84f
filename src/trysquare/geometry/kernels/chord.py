"""Longest chord of a set of points along the axis of a frame: the dual of the smallest zone of heights.

Over slopes p, q: min of max(h - p a - q b) - min(h - p a - q b) = the longest chord, parallel to the heights, of the
convex hull. Solved by the primal simplex method on the chord (G. B. Dantzig's rule, R. Bland's against cycling): a
basis holds as many points as there are unknowns, upper ones at one end of the chord and lower ones at the other.

With `one` the lower end is held at the origin of the frame (the centroid): the ray from there to the hull.
"""

from collections import namedtuple

import numpy as np

from ...core.compiled import kernel
from .chart import LANES, outside
from .zone import invert

FREE = -1  # in a list of contacts: nothing there
_TOL = 1e-14  # of the largest height: a violation by less is none
_BLAND = 40  # steps over one pool after which the first point that helps is let in: no cycle can last
_STEPS = 400
_SCANS = 200
_POOL = 256
_FEASIBLE = -1e-12  # a weight above counts as not negative

#: Working memory of one thread: points about their middle (3, n) and their mean, the points in a frame, scales of the
#: three coordinates, the basis with its inverse and costs, a pool of points that were outside, a frame, and places.
Room = namedtuple("Room", "xyz mean seen scales C W V cost y pool rows lanes trial spots")


@kernel()
def room_for(n):
    """Room for n points."""
    return Room(
        np.empty((3, n)), np.empty(3), np.empty((3, n)), np.ones(3), np.empty((4, 4)), np.empty((4, 4)),
        np.empty((4, 4)), np.empty(4), np.empty(4), np.empty((3, _POOL)), np.empty(_POOL, np.int64),
        np.empty((2, LANES)), np.empty((3, 3)), np.empty((2, 32, 2)),
    )  # fmt: skip


@kernel()
def _column(room, free, a, b, h, side, j):
    """Column j of the basis: a point (scaled) at its side."""
    room.C[0, j] = side
    room.C[1, j] = side * a
    if free > 2:
        room.C[2, j] = side * b
    room.C[free, j] = 1.0
    room.cost[j] = side * h


@kernel()
def _point(room, free, i, side, j):
    """Column j of the basis: point i, or the origin where i is past the last."""
    v, s = room.seen, room.scales
    if i < v.shape[1]:
        _column(room, free, v[0, i] / s[0], v[1, i] / s[1], v[2, i] / s[2], side, j)
    else:
        _column(room, free, 0.0, 0.0, 0.0, side, j)


@kernel()
def _inverse(room, n):
    """V = inverse of the basis; whether it has one."""
    for i in range(n):
        for j in range(n):
            room.W[i, j] = room.C[i, j]
    return invert(room.W[:n, :n], room.V[:n, :n])


@kernel()
def _plain(room, free, one, index, sides):
    """A chord of no length, at a point (or the origin of a ray), with points that lie off it both ways."""
    A, B = room.seen[0], room.seen[1]
    a, b = (0.0, 0.0) if one else (A[0], B[0])
    index[0] = index[1] = A.size if one else 0
    for j in range(free + 1):
        sides[j] = 1
    sides[1] = -1
    index[2] = index[free] = 0
    best = 0.0
    for i in range(A.size):
        if abs(A[i] - a) > best:
            best, index[2] = abs(A[i] - a), i
    if free > 2:
        x, y = (A[index[2]] - a) / room.scales[0], (B[index[2]] - b) / room.scales[1]
        best = 0.0
        for i in range(A.size):
            area = abs(x * (B[i] - b) / room.scales[1] - y * (A[i] - a) / room.scales[0])
            if area > best:
                best, index[3] = area, i
    for j in range(free + 1):
        _point(room, free, index[j], sides[j], j)
    return _inverse(room, free + 1)


@kernel()
def _begin(room, free, one, index, sides):
    """Basis from `index` and `sides` where they hold one that is still feasible, else the plain one; False for none."""
    n = free + 1
    warm = True
    for j in range(n):
        warm = warm and index[j] != FREE
        if warm:
            _point(room, free, index[j], sides[j], j)
    warm = warm and _inverse(room, n)
    for i in range(n):
        warm = warm and room.V[i, free] >= _FEASIBLE
    return warm or _plain(room, free, one, index, sides)


@kernel()
def _level(room, n):
    """y = coefficients and level of the basis."""
    for j in range(n):
        s = 0.0
        for i in range(n):
            s += room.cost[i] * room.V[i, j]
        room.y[j] = s


@kernel()
def _gather(room, free, one, pool):
    """Add points outside the zone to the pool: its new size, and how many came in."""
    v, s, y = room.seen, room.scales, room.y
    if pool > _POOL // 2:
        pool = 0
    p = y[1] * s[2] / s[0]
    q = y[2] * s[2] / s[1] if free > 2 else 0.0
    level = (y[free] + _TOL) * s[2]
    low = -1e300 if one else y[0] * s[2] - level
    rows = room.rows[pool:]
    count = outside(v, p, q, low, y[0] * s[2] + level, room.lanes, rows)
    for k in range(count):
        for j in range(3):
            room.pool[j, pool + k] = v[j, rows[k]] / s[j]
    return pool + count, count


@kernel()
def _entering(room, free, one, index, sides, pool, first):
    """The point of the pool furthest outside the zone (the first one outside when `first`), else -1, and its side.

    One that is in the basis at that side lies there but for rounding.
    """
    P, y = room.pool, room.y
    best = y[free] + _TOL
    at, side = -1, 1
    for k in range(pool):
        e = P[2, k] - y[0] - y[1] * P[0, k]
        if free > 2:
            e -= y[2] * P[1, k]
        far = e if one else abs(e)
        if far > best:
            way = 1 if far == e else -1
            inside = False
            for j in range(free + 1):
                inside = inside or (index[j] == room.rows[k] and sides[j] == way)
            if not inside:
                best, at, side = far, k, way
                if first:
                    break
    return at, side


@kernel()
def _leaving(room, free, index, a, b, side):
    """Position that leaves by the ratio test for a point at its side, ties to the smallest index; -1 for none."""
    V = room.V
    out = -1
    least = 0.0
    for i in range(free + 1):
        w = V[i, free] + side * (V[i, 0] + V[i, 1] * a)
        if free > 2:
            w += side * V[i, 2] * b
        if w > 1e-10:
            ratio = max(V[i, free], 0.0) / w
            if out < 0 or ratio < least or (ratio == least and index[i] < index[out]):
                least = ratio
                out = i
    return out


@kernel()
def _improve(room, free, one, index, sides, pool):
    """Exchange points of the pool until none is outside the zone; how many, -1 when stuck."""
    for step in range(_STEPS):
        _level(room, free + 1)
        at, side = _entering(room, free, one, index, sides, pool, step > _BLAND)
        if at < 0:
            return step
        a, b, h = room.pool[0, at], room.pool[1, at], room.pool[2, at]
        out = _leaving(room, free, index, a, b, side)
        if out < 0:
            return -1
        _column(room, free, a, b, h, side, out)
        index[out], sides[out] = room.rows[at], side
        if not _inverse(room, free + 1):
            return -1
    return -1


@kernel()
def longest(room, free, one, index, sides):
    """Length of the chord and the slopes p, q that prove it: no zone of heights is narrower, whatever its slopes.

    `free` is 3 (planes) or 2 (lines: the second coordinate does not count). `index` and `sides` (4) hold the ends: a
    start on entry unless index[0] is FREE.
    """
    s, y = room.scales, room.y
    if not _begin(room, free, one, index, sides):
        index[0] = FREE
        return 0.0, 0.0, 0.0
    _level(room, free + 1)
    pool = 0
    for _ in range(_SCANS):
        pool, count = _gather(room, free, one, pool)
        if count == 0 or _improve(room, free, one, index, sides, pool) <= 0:
            break
    return 2.0 * y[free] * s[2], y[1] * s[2] / s[0], y[2] * s[2] / s[1] if free > 2 else 0.0
