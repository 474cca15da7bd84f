"""Distances of points from a centre, a point in a plane or an axis, and their change with it.

A state s (12) holds the centre or a point on the axis (0:3) and the frame u, v, w (3:12), w along the axis. Unknowns,
in order, along the frame: circle in a plane (u, v); sphere (u, v, w); cylinder (u, v, tilt to u, tilt to v), the tilts
times `half`, half the length of the points along the axis, so that all are lengths.
"""

import math

from ...core.compiled import kernel

DISC, BALL, TUBE = 2, 3, 4
OUTER, ZONE, INNER = 1, 0, -1


@kernel()
def distances(kind, P, s, rho):
    """rho (n) of the points P (n, 3). Returns the least and the largest."""
    low = 1e300
    high = 0.0
    for i in range(P.shape[0]):
        x = P[i, 0] - s[0]
        y = P[i, 1] - s[1]
        z = P[i, 2] - s[2]
        if kind != TUBE:
            d = x * x + y * y + z * z
        else:
            a = s[3] * x + s[4] * y + s[5] * z
            b = s[6] * x + s[7] * y + s[8] * z
            d = a * a + b * b
        d = math.sqrt(d)
        rho[i] = d
        low = min(low, d)
        high = max(high, d)
    return low, high


@kernel()
def reach(P, s):
    """Half the length of the points along the axis; moves the point of the state to the middle height."""
    low = 1e300
    high = -1e300
    for i in range(P.shape[0]):
        t = s[9] * (P[i, 0] - s[0]) + s[10] * (P[i, 1] - s[1]) + s[11] * (P[i, 2] - s[2])
        low = min(low, t)
        high = max(high, t)
    for k in range(3):
        s[k] += 0.5 * (low + high) * s[9 + k]
    return 0.5 * (high - low)


@kernel()
def slopes(kind, P, s, half, A):
    """A[:k] (k, n): change of each distance with each unknown."""
    for i in range(P.shape[0]):
        x = P[i, 0] - s[0]
        y = P[i, 1] - s[1]
        z = P[i, 2] - s[2]
        a = s[3] * x + s[4] * y + s[5] * z
        b = s[6] * x + s[7] * y + s[8] * z
        t = s[9] * x + s[10] * y + s[11] * z
        d = math.sqrt(a * a + b * b + (t * t if kind == BALL else 0.0))
        f = -1.0 / d if d > 0.0 else 0.0
        A[0, i] = a * f
        A[1, i] = b * f
        if kind == BALL:
            A[2, i] = t * f
        elif kind == TUBE:
            A[2, i] = a * f * t / half
            A[3, i] = b * f * t / half


@kernel()
def bend(kind, p, s, half, weight, H):
    """H[:k, :k] += weight times the second derivatives of the distance of the point p (3)."""
    x = p[0] - s[0]
    y = p[1] - s[1]
    z = p[2] - s[2]
    a = s[3] * x + s[4] * y + s[5] * z
    b = s[6] * x + s[7] * y + s[8] * z
    t = s[9] * x + s[10] * y + s[11] * z
    d = math.sqrt(a * a + b * b + (t * t if kind == BALL else 0.0))
    if not d > 0.0:
        return
    a /= d
    b /= d
    f = weight / d
    if kind == BALL:
        n = (a, b, t / d)
        for i in range(3):
            for j in range(3):
                H[i, j] += f * ((1.0 if i == j else 0.0) - n[i] * n[j])
        return
    e = t / half if kind == TUBE else 0.0
    n = (-b, a, -b * e, a * e)
    for i in range(kind):
        for j in range(kind):
            H[i, j] += f * n[i] * n[j]
    if kind == TUBE:
        g = weight * d / (half * half)
        H[2, 2] -= g * a * a
        H[2, 3] -= g * a * b
        H[3, 2] -= g * a * b
        H[3, 3] -= g * b * b


@kernel()
def move(kind, s, x, scale, half, out):
    """out = the state s after the step scale * x along its frame; the axis is leant and the frame follows."""
    for k in range(12):
        out[k] = s[k]
    for k in range(3):
        out[k] += scale * (x[0] * s[3 + k] + x[1] * s[6 + k] + (x[2] * s[9 + k] if kind == BALL else 0.0))
    if kind != TUBE:
        return
    p = scale * x[2] / half
    q = scale * x[3] / half
    n = along = 0.0
    for k in range(3):
        out[9 + k] = s[9 + k] + p * s[3 + k] + q * s[6 + k]
        n += out[9 + k] ** 2
    for k in range(3):
        out[9 + k] /= math.sqrt(n)
        along += out[9 + k] * s[3 + k]
    n = 0.0
    for k in range(3):
        out[3 + k] = s[3 + k] - along * out[9 + k]
        n += out[3 + k] ** 2
    for k in range(3):
        out[3 + k] /= math.sqrt(n)
    out[6] = out[10] * out[5] - out[11] * out[4]
    out[7] = out[11] * out[3] - out[9] * out[5]
    out[8] = out[9] * out[4] - out[10] * out[3]
