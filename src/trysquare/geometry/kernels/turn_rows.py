"""Distances from surfaces of revolution, in the one form that cylinder, cone, torus, sphere and circle share.

A state s (15) stands on the surface: a point of it (0:3), its normal N (3:6), v along the parallel (6:9), G along the
meridian (9:12), v = G x N, and three curvatures at that point, all of which may pass through zero:

    k = cos(a) / r, g = sin(a) / r   r the distance from the axis, a the angle between N and the parallel's plane
    c                                of the meridian: 0 for a cylinder or cone, 1 / minor radius for a torus

With h, y, l the place of a point along N, v, G, its place in its own meridian plane is h + k Y, l + g Y, and the
distance from there to an arc of curvature c is E. No term cancels, so a small patch of a large radius keeps its digits,
and a plane (k = 0) is a point like any other. The form is derived here; the parameters follow A. B. Forbes, NPL report
DITC 140/89 (1989), moved from the axis to the surface.

Parameters, in order: shift along N; turn about G; k; turn about v; turn about N; g (circle in space: shift along G); c.
"""

import math

from ...core.compiled import kernel

RING, BALL, TUBE, HOOP, CONE, TORUS = 0, 1, 2, 3, 4, 5
STATE = 15
WIDE = 7
TINY = 1e-300
BEHIND = -0.5  # cosine of the normal's turn below which the plain form of a difference cancels less


@kernel()
def meridian(h, y, l, s):  # noqa: E741 - along the meridian
    """(q, Y) of a point: its distance from the axis over that of the state's point, and the rise of its parallel."""
    k, g = s[12], s[13]
    D = 1.0 + h * k + l * g
    K = k * k + g * g
    q = math.sqrt(D * D + K * y * y + TINY)
    Y = y * y / (q + D) if D > 0.0 else (q - D) / K
    return q, Y


@kernel()
def arc(h, l, c):  # noqa: E741
    """Distance from an arc of curvature c through the origin, its gradient and its derivative for c."""
    a, b = 1.0 + c * h, c * l
    S = math.sqrt(a * a + b * b + TINY)
    e = (2.0 * h + c * (h * h + l * l)) / (1.0 + S)
    mh = a / S
    bend = (l / S) ** 2 / (1.0 + mh) if mh > BEHIND else (1.0 - mh) / (c * c)
    return e, mh, b / S, bend


@kernel()
def sums(kind, X, W, s, J, A, g):
    """Normal equations A (7, 7), upper triangle, and g = -J'We, of points X (3, n), weights W (n). Returns e'We.

    J (7) is work space.
    """
    A[:, :] = 0.0
    g[:] = 0.0
    wide = 3 if kind == RING else (5 if kind == TUBE else (6 if kind in (HOOP, CONE) else WIDE))
    k, m = s[12], s[13]
    ss = 0.0
    for i in range(X.shape[1]):
        x0 = X[0, i] - s[0]
        x1 = X[1, i] - s[1]
        x2 = X[2, i] - s[2]
        h = s[3] * x0 + s[4] * x1 + s[5] * x2
        y = s[6] * x0 + s[7] * x1 + s[8] * x2
        l = s[9] * x0 + s[10] * x1 + s[11] * x2  # noqa: E741
        q, Y = meridian(h, y, l, s)
        Yq, yq = Y / q, y / q
        hh, ll = h + k * Y, l + m * Y
        e, mh, ml, J[6] = arc(hh, ll, s[14])
        nh = mh * (1.0 - k * k * Yq) - ml * k * m * Yq
        nv = (mh * k + ml * m) * yq
        nl = -mh * k * m * Yq + ml * (1.0 - m * m * Yq)
        J[0] = -nh
        J[1] = nh * y - nv * h
        J[2] = mh * (Y - k * hh * Yq) - ml * m * hh * Yq
        J[3] = nl * h - nh * l
        J[4] = nl * y - nv * l
        J[5] = -mh * k * ll * Yq + ml * (Y - m * ll * Yq)
        w = W[i]
        if kind == HOOP:
            J[5] = 0.0
            ss += w * l * l
            A[3, 3] += w * h * h
            A[3, 4] += w * h * y
            A[3, 5] -= w * h
            A[4, 4] += w * y * y
            A[4, 5] -= w * y
            A[5, 5] += w
            g[3] -= w * h * l
            g[4] -= w * y * l
            g[5] += w * l
        ss += w * e * e
        for a in range(wide):
            wa = w * J[a]
            g[a] -= wa * e
            for b in range(a, wide):
                A[a, b] += wa * J[b]
    return ss


@kernel()
def away(kind, X, s, out):
    """Distances out[0], positive along the state's normal; circle in space: radial out[0] and axial out[1] parts."""
    for i in range(X.shape[1]):
        x0 = X[0, i] - s[0]
        x1 = X[1, i] - s[1]
        x2 = X[2, i] - s[2]
        h = s[3] * x0 + s[4] * x1 + s[5] * x2
        y = s[6] * x0 + s[7] * x1 + s[8] * x2
        l = s[9] * x0 + s[10] * x1 + s[11] * x2  # noqa: E741
        _, Y = meridian(h, y, l, s)
        out[0, i], _, _, _ = arc(h + s[12] * Y, l + s[13] * Y, s[14])
        if kind == HOOP:
            out[1, i] = l
