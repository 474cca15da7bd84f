"""States of surfaces of revolution from what fixes one: an axis and a meridian, or the curvatures of a patch."""

import math

import numpy as np

from ...core.compiled import kernel
from .small import factor, frame, solve
from .starts import circle_across
from .turn_rows import BALL, CONE, HOOP, TORUS

_FAR = 0.3  # of the largest distance from the axis: a state stands on a parallel no smaller than this


@kernel()
def _foot(kind, rho, t, r, more):
    """(distance from the axis, height, sine of the normal's lean) where a point's foot is on the meridian."""
    if kind == CONE:
        e = math.cos(more) * (rho - r) - math.sin(more) * t
        return rho - e * math.cos(more), t + e * math.sin(more), math.sin(more)
    if kind == TORUS:
        a = max(math.hypot(rho - r, t), 1e-300)
        return r + more * (rho - r) / a, more * t / a, -t / a
    return r, 0.0 if kind == HOOP else t, 0.0


@kernel()
def anchored(kind, X, at, w, r, more, s):
    """Put the state s on the surface, near the middle of the points X (3, n). False when it has no place there.

    `at` (3) on the axis (centre), `w` (3) its direction, `r` the radius (of a cone at `at`; of a torus the major one),
    `more` the half angle of a cone, the minor radius of a torus.
    """
    widest, best, least = 0.0, -1, math.inf
    for turn in range(2):
        for i in range(X.shape[1]):
            x0, x1, x2 = X[0, i] - at[0], X[1, i] - at[1], X[2, i] - at[2]
            t = x0 * w[0] + x1 * w[1] + x2 * w[2]
            rho = math.sqrt(max(x0 * x0 + x1 * x1 + x2 * x2 - t * t, 0.0))
            r0 = _foot(kind, rho, t, r, more)[0] if kind != BALL else r
            if turn == 0:
                widest = max(widest, r0)
            elif r0 >= _FAR * widest and rho > 0.0:
                d = X[0, i] ** 2 + X[1, i] ** 2 + X[2, i] ** 2
                if d < least:
                    least, best = d, i
    if best < 0 or not widest > 0.0 or not math.isfinite(widest):
        return False
    x0, x1, x2 = X[0, best] - at[0], X[1, best] - at[1], X[2, best] - at[2]
    if kind == BALL:
        frame(x0, x1, x2, s)
        for a in range(3):
            n = s[9 + a]
            s[9 + a] = s[6 + a]
            s[6 + a] = s[3 + a]
            s[3 + a] = n
            s[a] = at[a] + r * n
        s[12] = s[14] = 1.0 / r
        s[13] = 0.0
        return True
    t = x0 * w[0] + x1 * w[1] + x2 * w[2]
    u0, u1, u2 = x0 - t * w[0], x1 - t * w[1], x2 - t * w[2]
    rho = math.sqrt(u0 * u0 + u1 * u1 + u2 * u2)
    u0, u1, u2 = u0 / rho, u1 / rho, u2 / rho
    r0, z, sine = _foot(kind, rho, t, r, more)
    cosine = math.cos(more) if kind == CONE else math.sqrt(max(1.0 - sine * sine, 0.0))
    if kind == TORUS and rho < r:
        cosine = -cosine
    s[0], s[1], s[2] = at[0] + r0 * u0 + z * w[0], at[1] + r0 * u1 + z * w[1], at[2] + r0 * u2 + z * w[2]
    s[3], s[4], s[5] = cosine * u0 - sine * w[0], cosine * u1 - sine * w[1], cosine * u2 - sine * w[2]
    s[6], s[7], s[8] = w[1] * u2 - w[2] * u1, w[2] * u0 - w[0] * u2, w[0] * u1 - w[1] * u0
    s[9], s[10], s[11] = sine * u0 + cosine * w[0], sine * u1 + cosine * w[1], sine * u2 + cosine * w[2]
    s[12], s[13], s[14] = cosine / r0, sine / r0, 1.0 / more if kind == TORUS else 0.0
    return True


@kernel()
def about(kind, X, at, w, Q, c, s):
    """State of the cone or torus about an axis: its meridian is the line or circle of the points turned into one plane.

    Q (3, n) and c (13) are work space.
    """
    n = X.shape[1]
    mr = mt = 0.0
    for i in range(n):
        x0, x1, x2 = X[0, i] - at[0], X[1, i] - at[1], X[2, i] - at[2]
        t = x0 * w[0] + x1 * w[1] + x2 * w[2]
        Q[0, i] = math.sqrt(max(x0 * x0 + x1 * x1 + x2 * x2 - t * t, 0.0))
        Q[1, i], Q[2, i] = t, 0.0
        mr += Q[0, i] / n
        mt += t / n
    rr = rt = tt = 0.0
    for i in range(n):
        Q[0, i] -= mr
        Q[1, i] -= mt
        rr += Q[0, i] * Q[0, i]
        rt += Q[0, i] * Q[1, i]
        tt += Q[1, i] * Q[1, i]
    point = np.empty(3)
    if kind == CONE:
        angle = 0.5 * math.atan2(2.0 * rt, tt - rr)
        for a in range(3):
            point[a] = at[a] + mt * w[a]
        return math.isfinite(angle) and anchored(kind, X, point, w, mr, angle, s)
    c[:] = 0.0
    c[3] = c[7] = c[11] = 1.0
    if not math.isfinite(circle_across(Q, c)):
        return False
    for a in range(3):
        point[a] = at[a] + (mt + c[1]) * w[a]
    return anchored(kind, X, point, w, mr + c[0], c[12], s)


@kernel()
def dished(X, V, out):
    """Fill out (2, 15) with the two states of a patch: a quadric over its principal plane; False when it has none."""
    A, L = np.zeros((6, 6)), np.zeros((6, 6))
    g, b, row = np.zeros(6), np.zeros(6), np.ones(6)
    size = 0.0
    for i in range(X.shape[1]):
        size += X[0, i] ** 2 + X[1, i] ** 2 + X[2, i] ** 2
    size = math.sqrt(size / X.shape[1])
    for i in range(X.shape[1]):
        h = (V[0, 0] * X[0, i] + V[0, 1] * X[1, i] + V[0, 2] * X[2, i]) / size
        row[1] = (V[1, 0] * X[0, i] + V[1, 1] * X[1, i] + V[1, 2] * X[2, i]) / size
        row[2] = (V[2, 0] * X[0, i] + V[2, 1] * X[1, i] + V[2, 2] * X[2, i]) / size
        row[3], row[4], row[5] = row[1] * row[1], row[1] * row[2], row[2] * row[2]
        for j in range(6):
            g[j] += row[j] * h
            for m in range(6):
                A[j, m] += row[j] * row[m]
    if factor(A, 6, L) <= 0.0:
        return False
    solve(L, 6, g, b)
    turn = 0.5 * math.atan2(b[4], b[3] - b[5])
    for j in range(2):
        s = out[j]
        c, d = math.cos(turn + j * math.pi / 2), math.sin(turn + j * math.pi / 2)
        for a in range(3):
            s[a] = b[0] * size * V[0, a]
            s[3 + a] = V[0, a] - b[1] * V[1, a] - b[2] * V[2, a]
            s[9 + a] = c * V[2, a] - d * V[1, a]
        _square(s)
        s[12] = -2.0 * (b[3] * c * c + b[4] * c * d + b[5] * d * d) / size
        s[14] = -2.0 * (b[3] * d * d - b[4] * c * d + b[5] * c * c) / size
        s[13] = 0.0
    return True


@kernel()
def _square(s):
    """Unit N, G across it, v = G x N."""
    n = math.sqrt(s[3] ** 2 + s[4] ** 2 + s[5] ** 2)
    s[3], s[4], s[5] = s[3] / n, s[4] / n, s[5] / n
    t = s[3] * s[9] + s[4] * s[10] + s[5] * s[11]
    s[9], s[10], s[11] = s[9] - t * s[3], s[10] - t * s[4], s[11] - t * s[5]
    n = math.sqrt(s[9] ** 2 + s[10] ** 2 + s[11] ** 2)
    s[9], s[10], s[11] = s[9] / n, s[10] / n, s[11] / n
    s[6] = s[10] * s[5] - s[11] * s[4]
    s[7] = s[11] * s[3] - s[9] * s[5]
    s[8] = s[9] * s[4] - s[10] * s[3]
