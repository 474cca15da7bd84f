"""The shapes as sums over points: normal equations of the distances in one pass, and the step along a shape.

A state s (13) holds the centre or axis point (0:3), the frame u, v, w (3:12), the radius (12). Points X (3, n) are
centred. Parameters, in order, along the frame: circle in a plane (u, v, r); sphere (u, v, w, r); cylinder (u, v, tilt
to u, tilt to v, r); circle in space (u, v, w, tilt to u, tilt to v, r).
"""

import math

from ...core.compiled import kernel

RING, BALL, TUBE, HOOP = 0, 1, 2, 3
SIZE = 13
_FAST = {"contract", "reassoc", "nsz"}
_TINY = 1e-300


@kernel()
def count(kind):
    """Number of parameters."""
    return kind + 3


@kernel(fastmath=_FAST)
def _ring(X, s, A, g):
    c0, c1, r = s[0], s[1], s[12]
    s00 = s01 = s02 = s11 = s12 = g0 = g1 = g2 = ss = 0.0
    for i in range(X.shape[1]):
        a = X[0, i] - c0
        b = X[1, i] - c1
        rho = math.sqrt(a * a + b * b + _TINY)
        p = a / rho
        q = b / rho
        e = rho - r
        s00 += p * p
        s01 += p * q
        s02 += p
        s11 += q * q
        s12 += q
        g0 += p * e
        g1 += q * e
        g2 += e
        ss += e * e
    A[0, 0], A[0, 1], A[0, 2], A[1, 1], A[1, 2], A[2, 2] = s00, s01, s02, s11, s12, X.shape[1]
    g[0], g[1], g[2] = g0, g1, g2
    return ss


@kernel(fastmath=_FAST)
def _ball(X, s, A, g):
    c0, c1, c2, r = s[0], s[1], s[2], s[12]
    s00 = s01 = s02 = s03 = s11 = s12 = s13 = s22 = s23 = g0 = g1 = g2 = g3 = ss = 0.0
    for i in range(X.shape[1]):
        x = X[0, i] - c0
        y = X[1, i] - c1
        z = X[2, i] - c2
        rho = math.sqrt(x * x + y * y + z * z + _TINY)
        inverse = 1.0 / rho
        p = x * inverse
        q = y * inverse
        t = z * inverse
        e = rho - r
        s00 += p * p
        s01 += p * q
        s02 += p * t
        s03 += p
        s11 += q * q
        s12 += q * t
        s13 += q
        s22 += t * t
        s23 += t
        g0 += p * e
        g1 += q * e
        g2 += t * e
        g3 += e
        ss += e * e
    A[0, 0], A[0, 1], A[0, 2], A[0, 3] = s00, s01, s02, s03
    A[1, 1], A[1, 2], A[1, 3], A[2, 2], A[2, 3], A[3, 3] = s11, s12, s13, s22, s23, X.shape[1]
    g[0], g[1], g[2], g[3] = g0, g1, g2, g3
    return ss


@kernel(fastmath=_FAST)
def _tube(X, s, A, g):
    c0, c1, c2, u0, u1, u2, v0, v1, v2, w0, w1, w2, r = s
    s00 = s01 = s02 = s03 = s04 = s11 = s13 = s14 = s22 = s23 = s24 = s33 = s34 = 0.0
    g0 = g1 = g2 = g3 = g4 = ss = 0.0
    for i in range(X.shape[1]):
        x = X[0, i] - c0
        y = X[1, i] - c1
        z = X[2, i] - c2
        a = u0 * x + u1 * y + u2 * z
        b = v0 * x + v1 * y + v2 * z
        t = w0 * x + w1 * y + w2 * z
        rho = math.sqrt(a * a + b * b + _TINY)
        inverse = 1.0 / rho
        p = a * inverse
        q = b * inverse
        e = rho - r
        pt = p * t
        qt = q * t
        s00 += p * p
        s01 += p * q
        s02 += p * pt
        s03 += p * qt
        s04 += p
        s11 += q * q
        s13 += q * qt
        s14 += q
        s22 += pt * pt
        s23 += pt * qt
        s24 += pt
        s33 += qt * qt
        s34 += qt
        g0 += p * e
        g1 += q * e
        g2 += pt * e
        g3 += qt * e
        g4 += e
        ss += e * e
    A[0, 0], A[0, 1], A[0, 2], A[0, 3], A[0, 4] = s00, s01, s02, s03, s04
    A[1, 1], A[1, 2], A[1, 3], A[1, 4], A[2, 2] = s11, s03, s13, s14, s22
    A[2, 3], A[2, 4], A[3, 3], A[3, 4], A[4, 4] = s23, s24, s33, s34, X.shape[1]
    g[0], g[1], g[2], g[3], g[4] = g0, g1, g2, g3, g4
    return ss


@kernel(fastmath=_FAST)
def _hoop(X, s, A, g):
    c0, c1, c2, u0, u1, u2, v0, v1, v2, w0, w1, w2, r = s
    A[:, :] = 0.0
    g[:] = 0.0
    ss = 0.0
    for i in range(X.shape[1]):
        x = X[0, i] - c0
        y = X[1, i] - c1
        z = X[2, i] - c2
        a = u0 * x + u1 * y + u2 * z
        b = v0 * x + v1 * y + v2 * z
        h = w0 * x + w1 * y + w2 * z
        rho = math.sqrt(a * a + b * b + _TINY)
        inverse = 1.0 / rho
        p = a * inverse
        q = b * inverse
        e = rho - r
        A[0, 0] += p * p
        A[0, 1] += p * q
        A[1, 1] += q * q
        A[0, 3] += h * p * p
        A[0, 4] += h * p * q
        A[1, 4] += h * q * q
        A[0, 5] += p
        A[1, 5] += q
        A[2, 3] -= a
        A[2, 4] -= b
        A[3, 3] += h * h * p * p + a * a
        A[3, 4] += h * h * p * q + a * b
        A[4, 4] += h * h * q * q + b * b
        A[3, 5] += h * p
        A[4, 5] += h * q
        g[0] += p * e
        g[1] += q * e
        g[2] += h
        g[3] += h * p * e - a * h
        g[4] += h * q * e - b * h
        g[5] += e
        ss += e * e + h * h
    A[1, 3] = A[0, 4]
    A[2, 2] = A[5, 5] = X.shape[1]
    return ss


@kernel()
def evaluate(kind, X, s, A, g):
    """Normal equations A (upper triangle), g and the sum of squares at the state s."""
    if kind == TUBE:
        return _tube(X, s, A, g)
    if kind == BALL:
        return _ball(X, s, A, g)
    if kind == RING:
        return _ring(X, s, A, g)
    return _hoop(X, s, A, g)


@kernel()
def curve(kind, X, s, A):
    """Add to A what the curvature of the distances brings, which makes the step Newton's."""
    k = count(kind)
    r = k - 1
    for i in range(X.shape[1]):
        x = X[0, i] - s[0]
        y = X[1, i] - s[1]
        z = X[2, i] - s[2]
        a = s[3] * x + s[4] * y + s[5] * z
        b = s[6] * x + s[7] * y + s[8] * z
        t = s[9] * x + s[10] * y + s[11] * z
        if kind == BALL:
            rho = math.sqrt(x * x + y * y + z * z + _TINY)
            f = (rho - s[12]) / rho
            n = (a / rho, b / rho, t / rho)
            for j in range(r):
                A[j, j] += f
                for m in range(j, r):
                    A[j, m] -= f * n[j] * n[m]
            continue
        rho = math.sqrt(a * a + b * b + _TINY)
        p = a / rho
        q = b / rho
        e = rho - s[12]
        f = e / rho
        A[0, 0] += f * q * q
        A[0, 1] -= f * p * q
        A[1, 1] += f * p * p
        if kind == RING:
            continue
        o = r - 2
        A[0, o] += f * t * q * q
        A[0, o + 1] -= f * t * p * q
        A[1, o] -= f * t * p * q
        A[1, o + 1] += f * t * p * p
        A[o, o] += f * t * t * q * q - e * rho * p * p
        A[o, o + 1] -= f * t * t * p * q + e * rho * p * q
        A[o + 1, o + 1] += f * t * t * p * p - e * rho * q * q
        if kind == HOOP:
            A[0, 3] -= t
            A[1, 4] -= t
            A[3, 3] -= t * t
            A[4, 4] -= t * t


@kernel()
def move(kind, s, d, out):
    """out = the state s moved by the step d; an axis point is kept nearest the origin."""
    out[:] = s
    out[12] = s[12] + d[count(kind) - 1]
    for k in range(3):
        out[k] = s[k] + d[0] * s[3 + k] + d[1] * s[6 + k]
        if kind in (BALL, HOOP):
            out[k] += d[2] * s[9 + k]
    if kind == TUBE:
        _tilt(s, d[2], d[3], out)
        along = out[0] * out[9] + out[1] * out[10] + out[2] * out[11]
        for k in range(3):
            out[k] -= along * out[9 + k]
    elif kind == HOOP:
        _tilt(s, d[3], d[4], out)


@kernel()
def _tilt(s, p, q, out):
    """Frame of `out`: that of s with w leant by p to u and q to v; the least turn that does it."""
    w0 = s[9] + p * s[3] + q * s[6]
    w1 = s[10] + p * s[4] + q * s[7]
    w2 = s[11] + p * s[5] + q * s[8]
    n = 1.0 / math.sqrt(w0 * w0 + w1 * w1 + w2 * w2)
    w0 *= n
    w1 *= n
    w2 *= n
    along = s[3] * w0 + s[4] * w1 + s[5] * w2
    u0 = s[3] - along * w0
    u1 = s[4] - along * w1
    u2 = s[5] - along * w2
    n = 1.0 / math.sqrt(u0 * u0 + u1 * u1 + u2 * u2)
    u0 *= n
    u1 *= n
    u2 *= n
    out[3], out[4], out[5] = u0, u1, u2
    out[6], out[7], out[8] = w1 * u2 - w2 * u1, w2 * u0 - w0 * u2, w0 * u1 - w1 * u0
    out[9], out[10], out[11] = w0, w1, w2


@kernel()
def residual(kind, X, s, out):
    """Distances out[0] with their sign (positive outside); a circle in space: radial out[0] and axial out[1] parts."""
    for i in range(X.shape[1]):
        x = X[0, i] - s[0]
        y = X[1, i] - s[1]
        z = X[2, i] - s[2]
        if kind == BALL:
            out[0, i] = math.sqrt(x * x + y * y + z * z) - s[12]
            continue
        a = s[3] * x + s[4] * y + s[5] * z
        b = s[6] * x + s[7] * y + s[8] * z
        out[0, i] = math.sqrt(a * a + b * b) - s[12]
        if kind == HOOP:
            out[1, i] = s[9] * x + s[10] * y + s[11] * z
