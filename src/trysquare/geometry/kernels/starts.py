"""Where a descent may begin, without a guess of the user's: directions tried, and a circle fit across each.

The circle of a projection is G. Taubin's algebraic fit (IEEE Transactions PAMI 13, 1991) with the Newton root after
N. Chernov (Circular and Linear Regression, 2010): it keeps its head on short arcs. A sphere starts from the linear
algebraic fit (I. Kasa, 1976) and from the curvature of a cap.
"""

import math

import numpy as np

from ...core.compiled import kernel
from .shapes import BALL, FAST, HOOP, RING, SIZE
from .small import copy, factor, frame, principal, solve

_GRID = 64  # directions over a half sphere, 0.3 rad apart; as many again over it stretched as the points are
_KEEP = 6  # the best of them
_FEW, _KEEP_FEW = 8, 48  # with fewer points there are many minima: more directions are kept, neighbours too
_NEAR = 0.25  # of the angle to another that is kept, in the sphere each comes from: too close to be kept too
MOST = _KEEP_FEW + 4


@kernel(fastmath=FAST)
def extent(X):
    """Root-mean-square distance of centred points from the origin."""
    s = 0.0
    for i in range(X.shape[1]):
        s += X[0, i] ** 2 + X[1, i] ** 2 + X[2, i] ** 2
    return math.sqrt(s / X.shape[1])


@kernel()
def axes(X, V):
    """Principal axes of centred points: rows of V, least first. Returns the root of the scatter along each."""
    S = np.zeros((3, 3))
    for i in range(X.shape[1]):
        for j in range(3):
            for k in range(3):
                S[j, k] += X[j, i] * X[k, i]
    principal(S, V)
    return math.sqrt(max(S[0, 0], 0.0)), math.sqrt(max(S[1, 1], 0.0)), math.sqrt(max(S[2, 2], 0.0))


@kernel()
def circle_across(X, s):
    """Set centre and radius of s to the algebraic circle of the points seen along s[9:12]; returns the rms residual."""
    n = X.shape[1]
    xx = xy = yy = xz = yz = zz = 0.0
    for i in range(n):
        a = s[3] * X[0, i] + s[4] * X[1, i] + s[5] * X[2, i]
        b = s[6] * X[0, i] + s[7] * X[1, i] + s[8] * X[2, i]
        z = a * a + b * b
        xx += a * a
        xy += a * b
        yy += b * b
        xz += a * z
        yz += b * z
        zz += z * z
    xx, xy, yy, xz, yz, zz = xx / n, xy / n, yy / n, xz / n, yz / n, zz / n
    m = xx + yy
    cov = xx * yy - xy * xy
    var = zz - m * m
    a2 = -3.0 * m * m - zz
    a1 = var * m + 4.0 * cov * m - xz * xz - yz * yz
    a0 = xz * (xz * yy - yz * xy) + yz * (yz * xx - xz * xy) - var * cov
    x = 0.0
    y = a0
    for _ in range(30):
        slope = a1 + x * (2.0 * a2 + 12.0 * m * x)
        after = x - y / slope
        value = a0 + after * (a1 + after * (a2 + 4.0 * m * after))
        if not abs(value) < abs(y) or after == x:
            break
        x = after
        y = value
    det = 2.0 * (x * x - x * m + cov)
    p = (xz * (yy - x) - yz * xy) / det
    q = (yz * (xx - x) - xz * xy) / det
    s[12] = math.sqrt(p * p + q * q + m)
    for k in range(3):
        s[k] = p * s[3 + k] + q * s[6 + k]
    ss = 0.0
    for i in range(n):
        a = s[3] * X[0, i] + s[4] * X[1, i] + s[5] * X[2, i] - p
        b = s[6] * X[0, i] + s[7] * X[1, i] + s[8] * X[2, i] - q
        e = math.sqrt(a * a + b * b) - s[12]
        ss += e * e
    return math.sqrt(ss / n) if math.isfinite(ss) else math.inf


@kernel()
def _ball_algebraic(X, s):
    """Centre and radius from |x|^2 = 2 c x + k by linear least squares (points centred); False when they lie flat."""
    n = X.shape[1]
    A = np.zeros((3, 3))
    L = np.zeros((3, 3))
    g = np.zeros(3)
    c = np.zeros(3)
    m = 0.0
    for i in range(n):
        z = X[0, i] ** 2 + X[1, i] ** 2 + X[2, i] ** 2
        m += z
        for j in range(3):
            g[j] += 0.5 * z * X[j, i]
            for k in range(3):
                A[j, k] += X[j, i] * X[k, i]
    if factor(A, g.size, L) <= 0.0:
        return False
    solve(L, g.size, g, c)
    s[0], s[1], s[2] = c[0], c[1], c[2]
    s[12] = math.sqrt(c[0] ** 2 + c[1] ** 2 + c[2] ** 2 + m / n)
    return True


@kernel()
def _ball_cap(X, V, s):
    """Centre and radius from the height over the principal plane: h = c0 + c1 a + c2 b + c3 (a^2 + b^2)."""
    A = np.zeros((4, 4))
    L = np.zeros((4, 4))
    g = np.zeros(4)
    c = np.zeros(4)
    row = np.ones(4)
    for i in range(X.shape[1]):
        h = V[0, 0] * X[0, i] + V[0, 1] * X[1, i] + V[0, 2] * X[2, i]
        row[1] = V[1, 0] * X[0, i] + V[1, 1] * X[1, i] + V[1, 2] * X[2, i]
        row[2] = V[2, 0] * X[0, i] + V[2, 1] * X[1, i] + V[2, 2] * X[2, i]
        row[3] = row[1] ** 2 + row[2] ** 2
        for j in range(4):
            g[j] += row[j] * h
            for k in range(4):
                A[j, k] += row[j] * row[k]
    if factor(A, g.size, L) <= 0.0:
        return False
    solve(L, g.size, g, c)
    if c[3] == 0.0:
        return False
    r = 0.5 / c[3]
    for k in range(3):
        s[k] = (c[0] + r) * V[0, k] - c[1] * r * V[1, k] - c[2] * r * V[2, k]
    s[12] = abs(r)
    return True


@kernel()
def _directions(V, spread, grid):
    """Fill grid (2 _GRID, 13) with axes: even over the half sphere, then over it stretched by the points' spread."""
    for i in range(_GRID):
        z = (i + 0.5) / _GRID
        turn = i * 2.399963229728653  # the golden angle
        h = math.sqrt(1.0 - z * z)
        x, y = h * math.cos(turn), h * math.sin(turn)
        frame(x, y, z, grid[i])
        a, b, c = x * spread[0], y * spread[1], z * spread[2]
        frame(
            a * V[0, 0] + b * V[1, 0] + c * V[2, 0],
            a * V[0, 1] + b * V[1, 1] + c * V[2, 1],
            a * V[0, 2] + b * V[1, 2] + c * V[2, 2],
            grid[_GRID + i],
        )


@kernel()
def _across(X, x, y, z, s):
    """Start along (x, y, z); True when a circle fits across it."""
    frame(x, y, z, s)
    return math.isfinite(circle_across(X, s))


@kernel()
def _tube_starts(X, V, spread, out):
    """Starts of a cylinder: the best directions of two grids and the principal axes; returns how many."""
    grid = np.empty((2 * _GRID, SIZE))
    score = np.empty(2 * _GRID)
    _directions(V, spread, grid)
    for i in range(2 * _GRID):
        score[i] = circle_across(X, grid[i])
    found = 0
    few = X.shape[1] < _FEW
    for k in range(_KEEP_FEW if few else _KEEP):
        i = k % 2 * _GRID
        for j in range(i, i + _GRID):
            if score[j] < score[i]:
                i = j
        if math.isfinite(score[i]):
            copy(grid[i], out[found])
            found += 1
            score[i] = math.inf
            if not few:
                _blot(grid, score, i)
    for k in range(3):
        if _across(X, V[k, 0], V[k, 1], V[k, 2], out[found]):
            found += 1
    return found


@kernel()
def _blot(grid, score, i):
    """Take the neighbours of direction i out of its grid: those that score hardly differs from by place."""
    first = 0 if i < _GRID else _GRID
    here = i - first
    z = (here + 0.5) / _GRID
    h = math.sqrt(1.0 - z * z)
    for j in range(_GRID):
        zj = (j + 0.5) / _GRID
        cosine = z * zj + h * math.sqrt(1.0 - zj * zj) * math.cos((here - j) * 2.399963229728653)
        if abs(cosine) > 1.0 - _NEAR * _NEAR:
            score[first + j] = math.inf


@kernel()
def candidates(kind, X, hint, out):
    """Fill rows of `out` (MOST, 13) with starts, that along `hint` first (NaN for none); returns how many."""
    V = np.empty((3, 3))
    spread = axes(X, V)
    found = 0
    if kind in (RING, BALL):
        for k in range(2):
            out[k, 3:12] = 0.0
            out[k, 3] = out[k, 7] = out[k, 11] = 1.0
    if kind == RING:
        return 1 if math.isfinite(circle_across(X, out[0])) else 0
    if kind == BALL:
        found = 1 if _ball_algebraic(X, out[0]) else 0
        return found + 1 if _ball_cap(X, V, out[found]) else found
    if math.isfinite(hint[0]) and _across(X, hint[0], hint[1], hint[2], out[0]):
        found = 1
    if kind == HOOP:
        for k in range(2):
            if _across(X, V[k, 0], V[k, 1], V[k, 2], out[found]):
                found += 1
        return found
    return found + _tube_starts(X, V, spread, out[found:])
