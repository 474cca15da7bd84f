"""Tori to start a descent from: a tube, straight at first, bent round every way; a ring with a tube laid about it."""

import math

import numpy as np

from ...core.compiled import kernel
from .small import copy, frame
from .starts import MOST, candidates, circle_across, extent
from .turn_descend import NO_DECREASE, settle, workspace
from .turn_place import anchored
from .turn_rows import STATE, TORUS, TUBE, sums

KEEP = 10  # the best states of a family
TURNS = 12  # ways round which a tube may bend
_BENDS = (1.1, 1.5, 3.0, 8.0, 30.0)  # major radius over the minor one
_PHASES = 8  # ways round the tube where the points of a ring may lie
_THIN = (0.05, 0.1, 0.2, 0.4)  # minor radius over that of the ring
_PASSES = np.int64(40)


@kernel()
def insert(ss, s, score, out):
    """Put the state s among the best by its sum of squares."""
    j = KEEP - 1
    if not ss < score[j]:
        return
    while j > 0 and score[j - 1] > ss:
        score[j] = score[j - 1]
        copy(out[j - 1], out[j])
        j -= 1
    score[j] = ss
    copy(s, out[j])


@kernel()
def count(score):
    """How many states have been kept."""
    n = 0
    while n < KEEP and score[n] < math.inf:
        n += 1
    return n


@kernel()
def tube(X, given, fixed, out):
    """Set `out` (3) to the direction of the cylinder that fits X (3, n) best, its part across the axis if `given`.

    A short piece of a torus with its tube all but closed is a cylinder, hardly bent. False when there is none.
    """
    ones, free = np.ones(X.shape[1]), np.zeros(6)
    flat, s = np.empty((MOST, 13)), np.empty(STATE)
    M, v = workspace()
    size, best = extent(X), math.inf
    for i in range(candidates(TUBE, X, np.full(3, math.nan), flat)):
        if not anchored(TUBE, X, flat[i, 0:3], flat[i, 9:12], flat[i, 12], 0.0, s):
            continue
        code, _, ss = settle(TUBE, 0, free, X, ones, s, size, _PASSES, M, v)
        if code <= NO_DECREASE and ss < best:
            best = ss
            copy(s[9:12], out)
    if given:
        along = out[0] * fixed[3] + out[1] * fixed[4] + out[2] * fixed[5]
        for a in range(3):
            out[a] -= along * fixed[3 + a]
    length = math.sqrt(out[0] ** 2 + out[1] ** 2 + out[2] ** 2)
    for a in range(3):
        out[a] /= length
    return best < math.inf and math.isfinite(out[0] + out[1] + out[2])


@kernel()
def bent(X, D, given, fixed, out):
    """Fill `out` with the best tori about a tube: a circle across each direction of D, bent round every way.

    With the axis `given` the directions lie across it, and the tube bends round it.
    """
    c, at, w, s, J = np.empty(13), np.empty(3), np.empty(3), np.empty(STATE), np.empty(7)
    M, g, ones = np.empty((7, 7)), np.empty(7), np.ones(X.shape[1])
    score = np.full(KEEP, math.inf)
    for i in range(D.shape[0]):
        d = D[i]
        frame(d[0], d[1], d[2], c)
        if not math.isfinite(circle_across(X, c)):
            continue
        u = c[3:9].copy()
        if given:  # v along the axis, so that two ways round are left
            copy(fixed[3:6], w)
            u[0], u[1], u[2] = w[1] * d[2] - w[2] * d[1], w[2] * d[0] - w[0] * d[2], w[0] * d[1] - w[1] * d[0]
        for j in range(2 if given else TURNS):
            p, q = math.cos(2.0 * math.pi * j / TURNS), math.sin(2.0 * math.pi * j / TURNS)
            if given:
                p, q = 1.0 - 2.0 * j, 0.0
            for major in _BENDS:
                for a in range(3):
                    at[a] = c[a] + major * c[12] * (p * u[a] + q * u[3 + a])
                    if not given:
                        w[a] = q * u[a] - p * u[3 + a]
                if anchored(TORUS, X, at, w, major * c[12], c[12], s):
                    insert(sums(TORUS, X, ones, s, J, M, g), s, score, out)
    return count(score)


@kernel()
def ringed(X, w, out):
    """Fill `out` with the best tori about w whose tubes hold the circle across w anywhere on their skin."""
    c, at, s, J = np.empty(13), np.empty(3), np.empty(STATE), np.empty(7)
    M, g, ones = np.empty((7, 7)), np.empty(7), np.ones(X.shape[1])
    score = np.full(KEEP, math.inf)
    frame(w[0], w[1], w[2], c)
    if not math.isfinite(circle_across(X, c)):
        return 0
    for thin in _THIN:
        minor = thin * c[12]
        for j in range(_PHASES):
            turn = 2.0 * math.pi * j / _PHASES
            for a in range(3):
                at[a] = c[a] - minor * math.sin(turn) * w[a]
            if anchored(TORUS, X, at, w, c[12] - minor * math.cos(turn), minor, s):
                insert(sums(TORUS, X, ones, s, J, M, g), s, score, out)
    return count(score)
