"""Steps along surfaces of revolution: which are free when something is held, and the state after one."""

import math

from ...core.compiled import kernel
from .small import copy
from .turn_rows import BALL, CONE, HOOP, RING, TORUS, TUBE, WIDE

RADIUS, ANGLE, AXIS, MAJOR = 1, 2, 4, 8  # what is held, added up; RADIUS is the minor one of a torus
# `fixed` (6): radius, half angle, major radius, direction (3)


@kernel()
def free(kind, held, s, Z):
    """Fill Z (7, 7) with the free steps as columns of parameters; returns how many."""
    Z[:, :] = 0.0
    Z[0, 0] = 1.0
    n = 1
    k, g, c = s[12], s[13], s[14]
    K = math.sqrt(k * k + g * g)
    if kind in (CONE, TORUS) and held & AXIS:
        Z[1, n], Z[4, n] = k / K, g / K
        n += 1
    else:
        Z[1, n] = 1.0
        n += 1
        if kind != RING and not held & AXIS:
            Z[3, n] = 1.0
            n += 1
            if kind != BALL:
                Z[4, n] = 1.0
                n += 1
    if kind == HOOP:
        Z[5, n] = 1.0
        n += 1
    if kind in (RING, BALL, TUBE, HOOP):
        if not held & RADIUS:
            Z[2, n] = 1.0
            if kind == BALL:
                Z[6, n] = 1.0
            n += 1
        return n
    if held & ANGLE:
        Z[2, n], Z[5, n] = k / K, g / K
        return n + 1
    if kind == TORUS and held & MAJOR:
        turn = K * g / c  # of K for a turn of the angle
        Z[2, n], Z[5, n] = -g + turn * k / K, k + turn * g / K
        if held & AXIS:
            Z[3, n] = 1.0
        n += 1
        if not held & RADIUS:
            Z[2, n], Z[5, n], Z[6, n] = (k / c) ** 2, k * g / (c * c), 1.0
            n += 1
        return n
    Z[2, n] = Z[5, n + 1] = 1.0
    if held & AXIS:
        Z[3, n], Z[3, n + 1] = -g / (K * K), k / (K * K)
    n += 2
    if kind == TORUS and not held & RADIUS:
        Z[6, n] = 1.0
        n += 1
    return n


@kernel()
def reduced(A, g, Z, n, B, f):
    """B = Z'AZ (upper triangle; A symmetric, upper given) and f = Z'g of the n free steps."""
    for i in range(n):
        f[i] = 0.0
        for a in range(WIDE):
            f[i] += Z[a, i] * g[a]
        for j in range(i, n):
            t = 0.0
            for a in range(WIDE):
                if Z[a, i] != 0.0:
                    for b in range(WIDE):
                        t += Z[a, i] * Z[b, j] * (A[a, b] if a <= b else A[b, a])
            B[i, j] = t


@kernel()
def _unit(s, i):
    n = 1.0 / math.sqrt(s[i] ** 2 + s[i + 1] ** 2 + s[i + 2] ** 2)
    s[i] *= n
    s[i + 1] *= n
    s[i + 2] *= n


@kernel()
def _across(s, i, j):
    """Take the part along the unit vector at j out of that at i; unit length."""
    t = s[i] * s[j] + s[i + 1] * s[j + 1] + s[i + 2] * s[j + 2]
    for a in range(3):
        s[i + a] -= t * s[j + a]
    _unit(s, i)


@kernel()
def _cross(s, i, j, k):
    """Vector at k = that at i times that at j."""
    s[k] = s[i + 1] * s[j + 2] - s[i + 2] * s[j + 1]
    s[k + 1] = s[i + 2] * s[j] - s[i] * s[j + 2]
    s[k + 2] = s[i] * s[j + 1] - s[i + 1] * s[j]


@kernel()
def impose(kind, held, fixed, s):
    """Put the held direction and major radius back to their last digit."""
    if kind == TORUS and held & MAJOR:
        K = math.sqrt(s[12] ** 2 + s[13] ** 2)
        major = fixed[2] if s[12] / s[14] < 1.0 else -fixed[2]
        ratio = 1.0 / (K * major + s[12] / s[14])
        s[12] *= ratio
        s[13] *= ratio
    if not held & AXIS:
        return
    if kind in (CONE, TORUS):
        K = math.sqrt(s[12] ** 2 + s[13] ** 2)
        p, q = s[12] / K, s[13] / K
        w0, w1, w2 = fixed[3], fixed[4], fixed[5]
        t = s[6] * w0 + s[7] * w1 + s[8] * w2
        s[6] -= t * w0
        s[7] -= t * w1
        s[8] -= t * w2
        _unit(s, 6)
        u0, u1, u2 = s[7] * w2 - s[8] * w1, s[8] * w0 - s[6] * w2, s[6] * w1 - s[7] * w0
        s[3], s[4], s[5] = p * u0 - q * w0, p * u1 - q * w1, p * u2 - q * w2
        s[9], s[10], s[11] = q * u0 + p * w0, q * u1 + p * w1, q * u2 + p * w2
        return
    s[9], s[10], s[11] = fixed[3], fixed[4], fixed[5]
    _across(s, 3, 9)
    _cross(s, 9, 3, 6)


@kernel()
def hold(kind, held, fixed, s):
    """Set the state to all that is held, its signs as they are."""
    if held & ANGLE:
        K = math.copysign(math.sqrt(s[12] ** 2 + s[13] ** 2), s[12])
        s[13] = math.copysign(K * math.sin(fixed[1]), s[13])
        s[12] = K * math.cos(fixed[1])
    if held & RADIUS:
        i = 14 if kind == TORUS else 12
        s[i] = math.copysign(1.0 / fixed[0], s[i])
        if kind == BALL:
            s[14] = s[12]
    impose(kind, held, fixed, s)


@kernel()
def stepped(kind, held, fixed, s, Z, n, d, out):
    """out = the state s after the step d (n) along the free columns of Z."""
    t0 = t1 = t2 = t3 = t4 = t5 = t6 = 0.0
    for j in range(n):
        t0 += Z[0, j] * d[j]
        t1 += Z[1, j] * d[j]
        t2 += Z[2, j] * d[j]
        t3 += Z[3, j] * d[j]
        t4 += Z[4, j] * d[j]
        t5 += Z[5, j] * d[j]
        t6 += Z[6, j] * d[j]
    copy(s, out)
    for a in range(3):
        out[a] += t0 * s[3 + a]
        out[3 + a] += t1 * s[6 + a] - t3 * s[9 + a]
        out[9 + a] += t3 * s[3 + a] + t4 * s[6 + a]
        if kind == HOOP:
            out[a] += t5 * s[9 + a]
    _unit(out, 9)
    _across(out, 3, 9)
    _cross(out, 9, 3, 6)
    out[12] += t2
    out[13] += 0.0 if kind == HOOP else t5
    out[14] += t6
    impose(kind, held, fixed, out)
