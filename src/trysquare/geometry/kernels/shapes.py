"""The shapes as sums over points: normal equations of the distances in one pass.

A state s (13) holds the centre or axis point (0:3), the frame u, v, w (3:12), the radius (12). Points X (3, n) are
centred. Parameters, in order, along the frame: circle in a plane (u, v, r); sphere (u, v, w, r); cylinder (u, v, tilt
to u, tilt to v, r); circle in space (u, v, w, tilt to u, tilt to v, r).
"""

import math

from ...core.compiled import kernel

RING, BALL, TUBE, HOOP = 0, 1, 2, 3
SIZE = 13
FAST = {"contract", "reassoc", "nsz"}
TINY = 1e-300


@kernel()
def count(kind):
    """Number of parameters."""
    return kind + 3


@kernel(fastmath=FAST)
def _ring(X, s, A, g):
    c0, c1, r = s[0], s[1], s[12]
    s00 = s01 = s02 = s11 = s12 = g0 = g1 = g2 = ss = 0.0
    for i in range(X.shape[1]):
        a = X[0, i] - c0
        b = X[1, i] - c1
        rho = math.sqrt(a * a + b * b + TINY)
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


@kernel(fastmath=FAST)
def _ball(X, s, A, g):
    c0, c1, c2, r = s[0], s[1], s[2], s[12]
    s00 = s01 = s02 = s03 = s11 = s12 = s13 = s22 = s23 = g0 = g1 = g2 = g3 = ss = 0.0
    for i in range(X.shape[1]):
        x = X[0, i] - c0
        y = X[1, i] - c1
        z = X[2, i] - c2
        rho = math.sqrt(x * x + y * y + z * z + TINY)
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


@kernel(fastmath=FAST)
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
        rho = math.sqrt(a * a + b * b + TINY)
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


@kernel(fastmath=FAST)
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
        rho = math.sqrt(a * a + b * b + TINY)
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
