"""A slice of a batch of surfaces of revolution: its starts, its descents, what they leave."""

import math

import numpy as np

from ...core.compiled import kernel
from .small import copy
from .turn_descend import NO_DECREASE, OPEN, settle, told, workspace
from .turn_rows import STATE, away
from .turn_starts import ROOM, states
from .turn_steps import hold

_PASSES = np.int64(200)
_PASSES_START = np.int64(40)
_SUSPECT_RATIO = 9.0  # of the first member's sum of squares
_SUSPECT_RMS = 1e-4  # of the extent
_HINT = 0.7  # cosine to the hint above which an axis counts as near it
_CLEAR = 100.0  # ratio of sums of squares by which another minimum must be better to be taken instead
_OTHER = 0.9999  # cosine below which two minima are two
_TIE = 1e-6  # of a sum of squares: ends closer are one, and that which came to rest is taken
_SAME = 1e-12  # of the extent: residuals below are rounding
_SAMPLE = 256  # points that a start looks at when there are more than twice as many
_GOLDEN = 0.6180339887498949


@kernel()
def _sample(X, W):
    """Points of weight above 0, or `_SAMPLE` of them in an order that no pattern of measurement repeats."""
    used = np.flatnonzero(W)
    n = used.size
    m = n if n <= 2 * _SAMPLE else _SAMPLE
    Y, V = np.empty((3, m)), np.empty(m)
    for i in range(m):
        j = used[i if m == n else int(n * ((0.5 + i) * _GOLDEN % 1.0))]
        V[i] = W[j]
        for k in range(3):
            Y[k, i] = X[k, j]
    return Y, V


@kernel()
def _axis(s, out):
    """Direction of the axis of a state."""
    K = math.sqrt(s[12] ** 2 + s[13] ** 2)
    p, q = (s[12] / K, s[13] / K) if K > 0.0 else (1.0, 0.0)
    for a in range(3):
        out[a] = p * s[9 + a] - q * s[3 + a]


@kernel()
def _cosine(a, b):
    return abs(a[0] * b[0] + a[1] * b[1] + a[2] * b[2]) / math.sqrt(b[0] ** 2 + b[1] ** 2 + b[2] ** 2)


@kernel()
def _own_start(kind, held, fixed, X, W, s, size, hint, M, v):
    """Set s to the best end of short descents from every start, or to the best one near `hint` if it comes close.

    Returns the sum of squares there, the ratio to it of that at the best end elsewhere (infinite for none), and passes.
    """
    Y, V = _sample(X, W)
    starts, axis = np.empty((ROOM, STATE)), np.empty((ROOM, 3))
    found = states(kind, held, fixed, Y, hint, starts)
    ends, codes = np.full(ROOM, math.inf), np.empty(ROOM, np.int64)
    near, best, passes = -1, 0, np.zeros(ROOM, np.int64)
    rounding = V.sum() * (_SAME * size) ** 2
    for i in range(found):
        codes[i], passes[i], ss = settle(kind, held, fixed, Y, V, starts[i], size, _PASSES_START, M, v)
        if codes[i] == OPEN or not math.isfinite(ss):
            continue
        ends[i] = ss
        _axis(starts[i], axis[i])
        if _cosine(axis[i], hint) > _HINT and (near < 0 or ss < ends[near]):
            near = i
        same = abs(ss - ends[best]) <= _TIE * ss + rounding
        if codes[i] < codes[best] if same else ss < ends[best]:
            best = i
    if near >= 0 and ends[near] <= _CLEAR * ends[best] + rounding:
        best = near
    rival = math.inf
    for i in range(found):
        if ends[i] < rival and codes[i] <= NO_DECREASE and _cosine(axis[i], axis[best]) < _OTHER:
            rival = ends[i]
    copy(starts[best], s)
    return ends[best], (rival + rounding) / (ends[best] + rounding), passes[best]


@kernel()
def _extent(X, w, total):
    """Weighted root-mean-square distance from the centroid."""
    t = 0.0
    for i in range(X.shape[1]):
        t += w[i] * (X[0, i] ** 2 + X[1, i] ** 2 + X[2, i] ** 2)
    return math.sqrt(t / total)


@kernel()
def _shift(start, c, s):
    copy(start, s)
    for a in range(3):
        s[a] -= c[a]


@kernel()
def settle_slice(kind, held, fixed, P, W, starts, usual, most, hints, out, middles, residuals, spread, info):
    """Fit the members of P (m, n, 3), weights W (m or 1, n), what is held fixed (m or 1, 6).

    `starts` (m or 1, 15) states to begin from (points in their own frame), NaN for none; `usual` the mean square that
    goes with them; `most` the passes from there (0: only look what the data tell there); `hints` (m or 1, 3)
    directions, NaN for none. Fills states out (m, 15) about the centroids middles (m, 3), residuals (m, 1 or 2, n),
    cofactors spread (m, 7, 7) of all parameters, and info (m, 7): code, passes, least sine of a column, extent, the sum
    of squares at another minimum over that here, free parameters, rank.
    """
    n = P.shape[1]
    X = np.empty((3, n))
    other = np.empty(STATE)
    M, v = workspace()
    for m in range(P.shape[0]):
        w, f, s, c = W[m % W.shape[0]], fixed[m % fixed.shape[0]], out[m], middles[m]
        total = w.sum()
        for a in range(3):
            c[a] = 0.0
            for i in range(n):
                c[a] += w[i] * (P[m, i, a] - P[m, 0, a])
            c[a] = P[m, 0, a] + c[a] / total
            for i in range(n):
                X[a, i] = P[m, i, a] - c[a]
        size = _extent(X, w, total)
        code, passes, ss, rival = OPEN, 0, math.inf, math.inf
        start = starts[m % starts.shape[0]]
        if math.isfinite(start[0]):
            _shift(start, c, s)
            hold(kind, held, f, s)
            code, passes, ss = settle(kind, held, f, X, w, s, size, most, M, v)
        suspect = ss > _SUSPECT_RATIO * usual * total and ss > total * (_SUSPECT_RMS * size) ** 2
        if most > 0 and (code > NO_DECREASE or suspect):
            near, far, more = _own_start(kind, held, f, X, w, other, size, hints[m % hints.shape[0]], M, v)
            passes += more
            if near < math.inf:
                again, last, less = settle(kind, held, f, X, w, other, size, _PASSES, M, v)
                passes += last
                if code > NO_DECREASE or (again <= NO_DECREASE and less < ss * (1.0 - 1e-9)):
                    code, ss, rival = again, less, far
                    copy(other, s)
            elif code == OPEN:
                s[:] = np.nan
        settle(kind, held, f, X, w, s, size, 0, M, v)
        count, rank, sine = told(kind, held, s, size, total, M, spread[m])
        away(kind, X, s, residuals[m])
        info[m, 0], info[m, 1], info[m, 2], info[m, 3], info[m, 4] = code, passes, sine, size, rival
        info[m, 5], info[m, 6] = count, rank
