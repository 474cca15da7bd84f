"""Smallest zone between two parallel planes, one member at a time.

The linear zone over the least-squares plane is exact but for the square of the tilt; the frame is turned to its normal
and the zone solved again until the width no longer falls.
"""

import math

import numpy as np

from ...core.compiled import kernel
from .small import copy
from .zone import exchange

_TURNS = 20
_DIGITS = 1e-13  # of the width: a smaller decrease is none


@kernel()
def _see(P, c, F, Q, h):
    """Coordinates along the frame F about c: Q[:, 1:] across, scaled to mean square 1, and heights h. Their scales."""
    n = P.shape[0]
    aa = bb = 0.0
    for i in range(n):
        x = P[i, 0] - c[0]
        y = P[i, 1] - c[1]
        z = P[i, 2] - c[2]
        a = F[0, 0] * x + F[0, 1] * y + F[0, 2] * z
        b = F[1, 0] * x + F[1, 1] * y + F[1, 2] * z
        h[i] = F[2, 0] * x + F[2, 1] * y + F[2, 2] * z
        Q[i, 1] = a
        Q[i, 2] = b
        aa += a * a
        bb += b * b
    sa = math.sqrt(aa / n)
    sb = math.sqrt(bb / n)
    for i in range(n):
        Q[i, 1] /= sa
        Q[i, 2] /= sb
    return sa, sb


@kernel()
def _ends(h):
    """Least and largest."""
    low = high = h[0]
    for i in range(1, h.size):
        low = min(low, h[i])
        high = max(high, h[i])
    return low, high


@kernel()
def _turn(F, p, q, out):
    """out = the frame F whose normal is leant by -p to u and -q to v."""
    for k in range(3):
        out[2, k] = F[2, k] - p * F[0, k] - q * F[1, k]
        out[0, k] = F[0, k] + p * F[2, k]
    n = math.sqrt(out[2, 0] ** 2 + out[2, 1] ** 2 + out[2, 2] ** 2)
    for k in range(3):
        out[2, k] /= n
    along = out[0, 0] * out[2, 0] + out[0, 1] * out[2, 1] + out[0, 2] * out[2, 2]
    for k in range(3):
        out[0, k] -= along * out[2, k]
    n = math.sqrt(out[0, 0] ** 2 + out[0, 1] ** 2 + out[0, 2] ** 2)
    for k in range(3):
        out[0, k] /= n
    out[1, 0] = out[2, 1] * out[0, 2] - out[2, 2] * out[0, 1]
    out[1, 1] = out[2, 2] * out[0, 0] - out[2, 0] * out[0, 2]
    out[1, 2] = out[2, 0] * out[0, 1] - out[2, 1] * out[0, 0]


@kernel()
def flat_zone(P, centroids, frames, widths, middles, gaps, contacts, turns):
    """Smallest zones of P (m, n, 3). `frames` (m, 3, 3), rows (u, v, normal), start at the least-squares planes and
    end at the zones'; fills widths (m), heights of the middle over the centroid (m), gaps to the lower bound (m),
    the points that hold the zone (m, 4) and the number of turns (m).
    """
    n = P.shape[1]
    Q = np.ones((n, 3))
    h = np.empty(n)
    y = np.empty(4)
    index = np.empty(4, np.int64)
    trial = np.empty((3, 3))
    for m in range(P.shape[0]):
        F = frames[m]
        copy(F, trial)
        for k in range(4):
            contacts[m, k] = -1
        widths[m] = math.inf
        lower = 0.0
        for turn in range(_TURNS):
            sa, sb = _see(P[m], centroids[m], trial, Q, h)
            low, high = _ends(h)
            gain = widths[m] - (high - low)
            if turn > 0 and not gain > 0.0:
                break
            widths[m] = high - low
            middles[m] = 0.5 * (high + low)
            copy(trial, F)
            turns[m] = turn
            scale = max(high, -low)
            if scale <= 0.0 or (turn > 0 and gain < _DIGITS * widths[m]):
                break
            for i in range(n):
                h[i] /= scale
            exchange(Q, h, y, index)
            copy(index, contacts[m])
            p, q = scale * y[1] / sa, scale * y[2] / sb
            lower = 2.0 * scale * y[3] / math.sqrt(1.0 + p * p + q * q)
            _turn(F, p, q, trial)
        gaps[m] = max(widths[m] - lower, 0.0)
