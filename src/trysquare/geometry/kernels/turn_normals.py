"""Axes of surfaces of revolution from the normals of their points.

The normals of such a surface all meet its axis: they lie in a linear complex (H. Pottmann, T. Randrup, Computing 60
(1998) 307). Those of a cone lean to it alike. Both are small eigenproblems.
"""

import math

import numpy as np

from ...core.compiled import kernel
from .small import factor, frame, principal, solve

_NEAR = 8  # neighbours that give a normal
_SOFT = 1e-9  # of the trace: what keeps the normals of a cylinder solvable


@kernel()
def normals(X, N):
    """Fill N (3, n): the normal at each point of X (3, n), from the plane of its nearest neighbours; either sense."""
    n = X.shape[1]
    most = min(_NEAR, n - 1)
    near, distance = np.empty(_NEAR, np.int64), np.empty(_NEAR)
    S, V = np.empty((3, 3)), np.empty((3, 3))
    for i in range(n):
        found = 0
        for j in range(n):
            d = (X[0, j] - X[0, i]) ** 2 + (X[1, j] - X[1, i]) ** 2 + (X[2, j] - X[2, i]) ** 2
            if j == i or (found == most and d >= distance[most - 1]):
                continue
            at = min(found, most - 1)
            while at > 0 and distance[at - 1] > d:
                distance[at], near[at] = distance[at - 1], near[at - 1]
                at -= 1
            distance[at], near[at] = d, j
            found = min(found + 1, most)
        m0, m1, m2 = X[0, i], X[1, i], X[2, i]
        for j in range(found):
            m0 += X[0, near[j]]
            m1 += X[1, near[j]]
            m2 += X[2, near[j]]
        m0, m1, m2 = m0 / (found + 1), m1 / (found + 1), m2 / (found + 1)
        S[:, :] = 0.0
        for j in range(found + 1):
            p = near[j] if j < found else i
            d = (X[0, p] - m0, X[1, p] - m1, X[2, p] - m2)
            for a in range(3):
                for b in range(3):
                    S[a, b] += d[a] * d[b]
        principal(S, V)
        for a in range(3):
            N[a, i] = V[0, a]


@kernel()
def axes_of(X, N, out):
    """Fill the rows of out (6, 3) with directions: three of the complex of the normals, three of the normals' lean."""
    B, C, P = np.zeros((3, 3)), np.zeros((3, 3)), np.zeros((3, 3))
    L, V, S = np.zeros((3, 3)), np.empty((3, 3)), np.zeros((3, 3))
    m = np.zeros(3)
    n = X.shape[1]
    for i in range(n):
        flip = -1.0 if i > 0 and N[0, i] * N[0, 0] + N[1, i] * N[1, 0] + N[2, i] * N[2, 0] < 0.0 else 1.0
        p = (
            X[1, i] * N[2, i] - X[2, i] * N[1, i],
            X[2, i] * N[0, i] - X[0, i] * N[2, i],
            X[0, i] * N[1, i] - X[1, i] * N[0, i],
        )
        for a in range(3):
            m[a] += flip * N[a, i] / n
            for b in range(3):
                B[a, b] += N[a, i] * N[b, i]
                C[a, b] += N[a, i] * p[b]
                P[a, b] += p[a] * p[b]
    soft = _SOFT * (B[0, 0] + B[1, 1] + B[2, 2])
    for a in range(3):
        B[a, a] += soft
    factor(B, 3, L)
    column, x = np.empty(3), np.empty(3)
    for b in range(3):
        for a in range(3):
            column[a] = C[a, b]
        solve(L, 3, column, x)
        for a in range(3):
            for c in range(3):
                P[a, b] -= C[c, a] * x[c]
    principal(P, V)
    for a in range(3):
        for b in range(3):
            out[a, b] = V[a, b]
            S[a, b] = B[a, b] - n * m[a] * m[b]
    principal(S, V)
    for a in range(3):
        for b in range(3):
            out[3 + a, b] = V[a, b]


@kernel()
def met(X, N, w, at):
    """Set `at` (3) to where an axis along w comes nearest to meeting all normals; False where they leave it open."""
    s = np.empty(13)
    frame(w[0], w[1], w[2], s)
    aa = ab = bb = ar = br = 0.0
    for i in range(X.shape[1]):
        n0, n1, n2 = N[0, i], N[1, i], N[2, i]
        a = -(n0 * s[6] + n1 * s[7] + n2 * s[8])
        b = n0 * s[3] + n1 * s[4] + n2 * s[5]
        r = -(
            w[0] * (X[1, i] * n2 - X[2, i] * n1)
            + w[1] * (X[2, i] * n0 - X[0, i] * n2)
            + w[2] * (X[0, i] * n1 - X[1, i] * n0)
        )
        aa += a * a
        ab += a * b
        bb += b * b
        ar += a * r
        br += b * r
    det = aa * bb - ab * ab
    if not det > 1e-14 * aa * bb:
        return False
    p, q = (ar * bb - br * ab) / det, (br * aa - ar * ab) / det
    for k in range(3):
        at[k] = p * s[3 + k] + q * s[6 + k]
    return math.isfinite(p) and math.isfinite(q)


@kernel()
def squared(X, w, at):
    """Set `at` (3) to the axis along w of the quadric of revolution x2 + y2 = 2ax + 2by + Tz2 + Sz + C nearest to the
    points in the algebraic sense; False where they leave it open."""
    s = np.empty(13)
    frame(w[0], w[1], w[2], s)
    A, L = np.zeros((5, 5)), np.zeros((5, 5))
    g, b, row = np.zeros(5), np.zeros(5), np.ones(5)
    for i in range(X.shape[1]):
        row[0] = s[3] * X[0, i] + s[4] * X[1, i] + s[5] * X[2, i]
        row[1] = s[6] * X[0, i] + s[7] * X[1, i] + s[8] * X[2, i]
        row[3] = s[9] * X[0, i] + s[10] * X[1, i] + s[11] * X[2, i]
        row[2] = row[3] * row[3]
        z = row[0] * row[0] + row[1] * row[1]
        for j in range(5):
            g[j] += row[j] * z
            for m in range(5):
                A[j, m] += row[j] * row[m]
    if factor(A, 5, L) <= 0.0:
        return False
    solve(L, 5, g, b)
    for k in range(3):
        at[k] = 0.5 * (b[0] * s[3 + k] + b[1] * s[6 + k])
    return math.isfinite(b[0]) and math.isfinite(b[1])
