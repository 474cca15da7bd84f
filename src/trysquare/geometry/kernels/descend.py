"""Damped Gauss-Newton descent of one member, its start, and the loop over a slice of a batch."""

import math

import numpy as np

from ...core.compiled import kernel
from .shapes import FAST, SIZE, TUBE, count, evaluate
from .small import copy, factor, factor_damped, solve
from .starts import MOST, candidates, extent
from .steps import curve, move, residual

SMALL_STEP, NO_DECREASE, OPEN, LIMIT = 1, 2, 3, 4  # codes of results.STOPS
_PASSES = np.int64(300)
_PASSES_START = np.int64(40)
_PASSES_SHARED = np.int64(25)
_DIGITS = 4e-14  # of the size: a change of the residuals below it ends the descent, one ten times less may be left
_NEWTON = 8  # passes after which a descent that is still on its way counts the curvature of the distances too
_UNSEEN = 1e-9  # of the sum of squares: a decrease below it drowns in rounding, so a shrinking step is taken on trust
_SUSPECT_RATIO = 9.0  # of the first member's sum of squares
_SUSPECT_RMS = 1e-4  # of the extent
_HINT = 0.7  # cosine to the hint above which an axis counts as near it
_CLEAR = 100.0  # ratio of sums of squares by which another minimum must be better to be taken instead
_OTHER = 0.9999  # cosine below which two minima are two
_SAME = 1e-12  # of the extent: residuals below are rounding
_SAMPLE = 256  # points that a start looks at when there are more than twice as many
_GOLDEN = 0.6180339887498949


@kernel()
def _work():
    """Normal equations and states that a descent uses: A, B, L, (g, h, d, scale), (trial)."""
    return np.empty((6, 6)), np.empty((6, 6)), np.zeros((6, 6)), np.empty((4, 6)), np.empty(SIZE)


@kernel()
def descend(kind, X, s, size, passes, A, B, L, v, trial):
    """Bring the state s to the least sum of squares; A is left with the normal equations there.

    Returns (code, passes used, sum of squares, least pivot ratio).
    """
    g, h, d, scale = v[0], v[1], v[2], v[3]
    k = count(kind)
    n = X.shape[1]
    ss = evaluate(kind, X, s, A, g)
    damping, last, ratio = 0.0, 0.0, 0.0
    code, step = LIMIT, 0
    ready = swapped = False
    while step < passes - 1:
        step += 1
        if not ready:
            for i in range(k):
                scale[i] = A[i, i]
            if step > _NEWTON:
                curve(kind, X, s, A)
            ready = True
        ratio = factor_damped(A, k, damping, scale, L)
        if ratio <= 0.0:
            if damping > 1e6 or not math.isfinite(ss):
                code = OPEN
                break
            damping = max(10.0 * damping, 1e-10)
            continue
        solve(L, k, g, d)
        change = 0.0
        for i in range(k):
            change += d[i] * g[i]
        change = math.sqrt(max(change, 0.0) / n)
        digits = _DIGITS * (size + abs(s[12]))
        move(kind, s, d, trial)
        if damping == 0.0 and (change <= digits or (change < 0.1 * last and change * change <= 0.1 * digits * last)):
            for i in range(SIZE):
                s[i] = trial[i]
            code = SMALL_STEP
            break
        after = evaluate(kind, X, trial, B, h)
        unseen = n * change * change < _UNSEEN * ss and (last == 0.0 or change < last)
        if after < ss or (unseen and damping == 0.0):
            for i in range(SIZE):
                s[i] = trial[i]
            ss = after
            A, B = B, A
            g, h = h, g
            last = change
            swapped = not swapped
            ready = False
            damping = 0.0 if damping < 1e-9 else 0.1 * damping
        elif change < 1e-9 * (size + abs(s[12])):
            if damping == 0.0:
                code = NO_DECREASE
                break
            damping, last = 0.0, 0.0
        else:
            damping = max(10.0 * damping, 1e-4)
    if step > _NEWTON:
        evaluate(kind, X, s, A, h)
        ratio = factor(A, k, L)
    if swapped:
        copy(A, B)
    return code, step, ss, ratio


@kernel()
def _sample(X):
    """The points, or `_SAMPLE` of them in an order that no pattern of measurement repeats."""
    n = X.shape[1]
    if n <= 2 * _SAMPLE:
        return X
    Y = np.empty((3, _SAMPLE))
    for i in range(_SAMPLE):
        j = int(n * ((0.5 + i) * _GOLDEN % 1.0))
        for k in range(3):
            Y[k, i] = X[k, j]
    return Y


@kernel()
def own_start(kind, X, s, size, hint, A, B, L, v, trial):
    """Set s to the best end of short descents from every candidate, or to the best one near `hint` if it comes close.

    Returns the sum of squares there, the ratio to it of that at the best end elsewhere (infinite for none), and passes.
    """
    Y = _sample(X)
    starts = np.empty((MOST, SIZE))
    ends = np.full(MOST, math.inf)
    passes = np.zeros(MOST, np.int64)
    codes = np.empty(MOST, np.int64)
    found = candidates(kind, Y, hint, starts)
    near = -1
    for i in range(found):
        codes[i], passes[i], ss, _ = descend(kind, Y, starts[i], size, _PASSES_START, A, B, L, v, trial)
        if codes[i] != OPEN:
            ends[i] = ss
            if abs(_cosine(starts[i, 9:12], hint)) > _HINT and (near < 0 or ss < ends[near]):
                near = i
    best = 0
    for i in range(1, found):
        if ends[i] < ends[best]:
            best = i
    rounding = Y.shape[1] * (_SAME * size) ** 2
    if near >= 0 and ends[near] <= _CLEAR * ends[best] + rounding:
        best = near
    rival = math.inf
    for i in range(found):
        if codes[i] <= NO_DECREASE and abs(_cosine(starts[i, 9:12], starts[best, 9:12])) < _OTHER:
            rival = min(rival, ends[i])
    copy(starts[best], s)
    return ends[best], (rival + rounding) / (ends[best] + rounding), passes[best]


@kernel()
def _cosine(a, b):
    return (a[0] * b[0] + a[1] * b[1] + a[2] * b[2]) / math.sqrt(b[0] ** 2 + b[1] ** 2 + b[2] ** 2)


@kernel(fastmath=FAST)
def _centred(P, X):
    """Copy P (n, 3) to X (3, n) about its centroid, which is returned."""
    n = P.shape[0]
    x, y, z = P[0, 0], P[0, 1], P[0, 2]
    mx = my = mz = 0.0
    for i in range(n):
        X[0, i] = P[i, 0] - x
        X[1, i] = P[i, 1] - y
        X[2, i] = P[i, 2] - z
    for i in range(n):  # a row at a time: the processor takes several at once
        mx += X[0, i]
    for i in range(n):
        my += X[1, i]
    for i in range(n):
        mz += X[2, i]
    mx /= n
    my /= n
    mz /= n
    for i in range(n):
        X[0, i] -= mx
    for i in range(n):
        X[1, i] -= my
    for i in range(n):
        X[2, i] -= mz
    return x + mx, y + my, z + mz


@kernel()
def _shared(kind, start, c, s):
    """s = the start (absolute) seen from the centroid c; an axis point nearest to it."""
    copy(start, s)
    for k in range(3):
        s[k] -= c[k]
    if kind == TUBE:
        along = s[0] * s[9] + s[1] * s[10] + s[2] * s[11]
        for k in range(3):
            s[k] -= along * s[9 + k]


@kernel()
def fit_slice(kind, P, start, usual, hints, states, residuals, normal, info):
    """Fit the members of P (m, n, 3).

    `start` (13,) is a state to begin from, NaN for none; `usual` the mean square that goes with it; `hints` (m or 1,
    3) directions, NaN for none. Fills states (m, 13), residuals (m, 1 or 2, n), normal equations (m, k, k) and info
    (m, 5): code, passes, pivot ratio, extent, and the sum of squares at another minimum over that here.
    """
    n = P.shape[1]
    X = np.empty((3, n))
    other = np.empty(SIZE)
    A, B, L, v, trial = _work()
    k = count(kind)
    for m in range(P.shape[0]):
        s = states[m]
        c = _centred(P[m], X)
        size = extent(X)
        code, passes, ss, ratio, rival = OPEN, 0, math.inf, 0.0, math.inf
        if math.isfinite(start[12]):
            _shared(kind, start, c, s)
            code, passes, ss, ratio = descend(kind, X, s, size, _PASSES_SHARED, A, B, L, v, trial)
        suspect = ss > _SUSPECT_RATIO * usual * n and ss > n * (_SUSPECT_RMS * size) ** 2
        if code > NO_DECREASE or suspect:
            near, far, more = own_start(kind, X, other, size, hints[m % hints.shape[0]], A, B, L, v, trial)
            if near < math.inf:
                again, last, less, fresh = descend(kind, X, other, size, _PASSES, A, B, L, v, trial)
                passes += more + last
                if code > NO_DECREASE or (again <= NO_DECREASE and _CLEAR * less < ss):
                    code, ss, ratio, rival = again, less, fresh, far
                    copy(other, s)
            evaluate(kind, X, s, A, v[0])
        residual(kind, X, s, residuals[m])
        for i in range(k):
            for j in range(k):
                normal[m, i, j] = A[i, j] if i <= j else A[j, i]
        for i in range(3):
            s[i] += c[i]
        info[m, 0], info[m, 1], info[m, 2], info[m, 3], info[m, 4] = code, passes, ratio, size, rival
