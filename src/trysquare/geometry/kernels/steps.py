"""Along a shape: the curvature of its distances, the step to another state, the residuals at one."""

import math

from ...core.compiled import kernel
from .shapes import BALL, HOOP, RING, TINY, TUBE, count


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
            rho = math.sqrt(x * x + y * y + z * z + TINY)
            f = (rho - s[12]) / rho
            n = (a / rho, b / rho, t / rho)
            for j in range(r):
                A[j, j] += f
                for m in range(j, r):
                    A[j, m] -= f * n[j] * n[m]
            continue
        rho = math.sqrt(a * a + b * b + TINY)
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
    for k in range(3, 12):
        out[k] = s[k]
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
