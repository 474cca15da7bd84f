"""Distances from a centre near the points, and from one far away down to a straight strip, with their slopes."""

import math

from ...core.compiled import kernel


@kernel()
def near(P, k, y, rho, A):
    """Distances rho (n) from the centre y (k) and their slopes A[:k]. Returns the least and the largest."""
    low = 1e300
    high = 0.0
    for i in range(rho.size):
        d = 0.0
        for j in range(k):
            A[j, i] = y[j] - P[i, j]
            d += A[j, i] ** 2
        d = math.sqrt(d)
        rho[i] = d
        low = min(low, d)
        high = max(high, d)
        for j in range(k):
            A[j, i] /= max(d, 1e-300)
    return low, high


@kernel()
def far(P, k, reach, face, y, rho, A):
    """As `near` for the centre (1, s) / kappa on the axis face // 2, to its negative side for an odd face:
    y = (kappa * reach, s). rho holds the distances less that of the origin.
    """
    low = 1e300
    high = -1e300
    axis = face // 2
    turn = -1.0 if face % 2 else 1.0
    M = 1.0
    for j in range(1, k):
        M += y[j] ** 2
    M = math.sqrt(M)
    curve = y[0] / (reach * M)
    for i in range(rho.size):
        pp = 0.0
        pe = turn * P[i, axis]
        for j in range(k):
            pp += P[i, j] ** 2
        for j in range(1, k):
            pe += y[j] * P[i, (axis + j) % k]
        pe /= M
        q = math.sqrt(max(1.0 - 2.0 * curve * pe + curve * curve * pp, 1e-300))
        g = (pp * curve - 2.0 * pe) / (1.0 + q)
        A[0, i] = (pp + pe * (pp * curve - 2.0 * pe) / (1.0 + q)) / (M * (1.0 + q) * q * reach)
        for j in range(1, k):
            A[j, i] = -(P[i, (axis + j) % k] + y[j] / M * g) / (q * M)
        rho[i] = g
        low = min(low, g)
        high = max(high, g)
    return low, high
