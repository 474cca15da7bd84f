"""Planes and lines, one member at a time: moments about the centroid, Newton polish, residuals."""

import math

from ...core.compiled import kernel


@kernel()
def moments(P, W, centroids, scatter):
    """Weighted centroid (m, 3) and scatter about it (m, 3, 3) of P (m, n, 3), weights W (m, n) or (1, n)."""
    n = P.shape[1]
    for m in range(P.shape[0]):
        w = W[m % W.shape[0]]
        x0, y0, z0 = P[m, 0, 0], P[m, 0, 1], P[m, 0, 2]
        sw = sx = sy = sz = 0.0
        for i in range(n):
            sw += w[i]
            sx += w[i] * (P[m, i, 0] - x0)
            sy += w[i] * (P[m, i, 1] - y0)
            sz += w[i] * (P[m, i, 2] - z0)
        sx /= sw
        sy /= sw
        sz /= sw
        xx = xy = xz = yy = yz = zz = 0.0
        for i in range(n):
            x = P[m, i, 0] - x0 - sx
            y = P[m, i, 1] - y0 - sy
            z = P[m, i, 2] - z0 - sz
            xx += w[i] * x * x
            xy += w[i] * x * y
            xz += w[i] * x * z
            yy += w[i] * y * y
            yz += w[i] * y * z
            zz += w[i] * z * z
        centroids[m, 0] = x0 + sx
        centroids[m, 1] = y0 + sy
        centroids[m, 2] = z0 + sz
        scatter[m, 0, 0] = xx
        scatter[m, 1, 1] = yy
        scatter[m, 2, 2] = zz
        scatter[m, 0, 1] = scatter[m, 1, 0] = xy
        scatter[m, 0, 2] = scatter[m, 2, 0] = xz
        scatter[m, 1, 2] = scatter[m, 2, 1] = yz


@kernel()
def _normalise(v):
    s = 1.0 / math.sqrt(v[0] * v[0] + v[1] * v[1] + v[2] * v[2])
    for k in range(3):
        v[k] *= s


@kernel()
def polish(P, W, centroids, frames):
    """One Newton step for the axes frames (m, 3, 3), rows (u, v, w), whose w carries the least (plane) or the
    most of the scatter (line). The eigenvectors lose digits on long, narrow sets; this gives them back.
    """
    n = P.shape[1]
    for m in range(P.shape[0]):
        weight = W[m % W.shape[0]]
        F = frames[m]
        aa = ab = bb = at = bt = tt = 0.0
        for i in range(n):
            x = P[m, i, 0] - centroids[m, 0]
            y = P[m, i, 1] - centroids[m, 1]
            z = P[m, i, 2] - centroids[m, 2]
            a = F[0, 0] * x + F[0, 1] * y + F[0, 2] * z
            b = F[1, 0] * x + F[1, 1] * y + F[1, 2] * z
            t = F[2, 0] * x + F[2, 1] * y + F[2, 2] * z
            k = weight[i]
            aa += k * a * a
            ab += k * a * b
            bb += k * b * b
            at += k * a * t
            bt += k * b * t
            tt += k * t * t
        det = (aa - tt) * (bb - tt) - ab * ab
        if det == 0.0:
            continue
        da = (at * (bb - tt) - bt * ab) / det
        db = (bt * (aa - tt) - at * ab) / det
        for k in range(3):
            F[2, k] -= da * F[0, k] + db * F[1, k]
        _normalise(F[2])


@kernel()
def heights(P, centroids, normals, residuals):
    """Signed distances (m, n) from planes."""
    for m in range(P.shape[0]):
        for i in range(P.shape[1]):
            s = 0.0
            for k in range(3):
                s += (P[m, i, k] - centroids[m, k]) * normals[m, k]
            residuals[m, i] = s


@kernel()
def distances(P, centroids, directions, residuals):
    """Distances (m, n) from lines."""
    for m in range(P.shape[0]):
        d = directions[m]
        for i in range(P.shape[1]):
            x = P[m, i, 0] - centroids[m, 0]
            y = P[m, i, 1] - centroids[m, 1]
            z = P[m, i, 2] - centroids[m, 2]
            a = y * d[2] - z * d[1]
            b = z * d[0] - x * d[2]
            c = x * d[1] - y * d[0]
            residuals[m, i] = math.sqrt(a * a + b * b + c * c)
