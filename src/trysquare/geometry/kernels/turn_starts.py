"""Where a descent on a surface of revolution may begin, without a guess of the user's."""

import math

import numpy as np

from ...core.compiled import kernel
from .small import copy, frame
from .starts import MOST, axes, candidates, circle_across
from .turn_bent import KEEP, TURNS, bent, count, insert, ringed, tube
from .turn_normals import axes_of, met, normals, squared
from .turn_place import about, anchored, dished
from .turn_rows import BALL, CONE, HOOP, RING, STATE, TORUS, sums
from .turn_steps import ANGLE, AXIS, RADIUS, impose

_EVEN = 48  # directions over the half sphere
_LEANS = np.array([0.0, 0.3, -0.3, 1.0, -1.0, 2.5, -2.5])  # guesses of g times the extent of the points
_FIRST = 4  # the best of the tori about the fitted cylinder that are tried where no axis is given
_FEW = 40  # with fewer points a torus has more minima, and rings are tried too
ROOM = 2 * (MOST + 4 * KEEP + 2 * _LEANS.size + 2)


@kernel()
def _direction(i, w, V, A, hint, out):
    """Direction i of those that a cone or torus tries; False when there is no such one."""
    if i == 0:
        copy(hint, out)
    elif i <= 3:
        copy(V[i - 1], out)
    elif i <= 9:
        copy(A[i - 4], out)
    else:
        z = (i - 9.5) / _EVEN
        h, turn = math.sqrt(1.0 - z * z), i * 2.399963229728653  # the golden angle
        out[0], out[1], out[2] = h * math.cos(turn), h * math.sin(turn), z
    n = math.sqrt(out[0] ** 2 + out[1] ** 2 + out[2] ** 2)
    out[0], out[1], out[2] = out[0] / n, out[1] / n, out[2] / n
    return math.isfinite(n)


@kernel()
def _about_axes(kind, held, fixed, X, V, hint, out):
    """Fill `out` with the best states about directions that the points, their normals and an even grid give."""
    n = X.shape[1]
    N, Q, A, at, w = np.empty((3, n)), np.empty((3, n)), np.empty((6, 3)), np.empty(3), np.empty(3)
    c, s, J, M, g = np.empty(13), np.empty(STATE), np.empty(7), np.empty((7, 7)), np.empty(7)
    ones = np.ones(n)
    normals(X, N)
    axes_of(X, N, A)
    score = np.full(KEEP, math.inf)
    given = held & AXIS
    for i in range(1 if given else 10 + _EVEN):
        if given:
            w[0], w[1], w[2] = fixed[3], fixed[4], fixed[5]
        elif not _direction(i, w, V, A, hint, w):
            continue
        for way in range(3):
            if way == 0:
                good = met(X, N, w, at)
            elif way == 1:
                good = squared(X, w, at)
            else:
                frame(w[0], w[1], w[2], c)
                good = math.isfinite(circle_across(X, c))
                copy(c[:3], at)
            if not good or not about(kind, X, at, w, Q, c, s):
                continue
            insert(sums(kind, X, ones, s, J, M, g), s, score, out)
    found = count(score)
    if kind == TORUS:
        D = np.empty((TURNS, 3))
        found += bent(X, D[: _tubes(V, A, given > 0, fixed, D)], given > 0, fixed, out[found:])
        if tube(X, given > 0, fixed, D[0]):
            found += min(KEEP if given > 0 else _FIRST, bent(X, D[:1], given > 0, fixed, out[found:]))
        if n < _FEW:
            found += ringed(X, fixed[3:6] if given else V[0], out[found:])
    return found


@kernel()
def _tubes(V, A, given, fixed, D):
    """Fill D (TURNS, 3) with directions that a tube may run in, all round across the axis if `given`; how many."""
    if given:
        c = np.empty(13)
        frame(fixed[3], fixed[4], fixed[5], c)
        for i in range(TURNS):
            turn = math.pi * i / TURNS
            for a in range(3):
                D[i, a] = math.cos(turn) * c[3 + a] + math.sin(turn) * c[6 + a]
        return TURNS
    copy(V, D[:3])
    copy(A, D[3:9])
    return 9


@kernel()
def _as_held(kind, held, fixed, way, s):
    """Change the state to what is held; `way` 1 is the other of two readings. False when there is no such reading."""
    if held & ANGLE:
        side = -1.0 if (s[13] < 0.0) != (way == 1) else 1.0
        s[13] = side * abs(s[12]) * math.tan(fixed[1])
    elif held & RADIUS and kind in (TORUS, BALL):
        s[14] = math.copysign(1.0 / fixed[0], s[14])
        if kind == BALL:
            s[14] = -s[14] if way == 1 else s[14]
            s[12] = s[14]
        elif way == 1:
            return False
    elif held & RADIUS:
        s[12] = math.copysign(1.0 / fixed[0], s[12]) * (-1.0 if way == 1 else 1.0)
    elif way == 1:
        return False
    if held & AXIS and kind in (CONE, TORUS):
        lean = -(s[3] * fixed[3] + s[4] * fixed[4] + s[5] * fixed[5])
        across = math.sqrt(max(1.0 - lean * lean, 1e-12))
        if held & ANGLE:
            across, lean = math.cos(fixed[1]), math.copysign(math.sin(fixed[1]), lean * s[12])
        s[13] = lean * abs(s[12]) / across if s[12] >= 0.0 else -lean * s[12] / across
    if kind == TORUS and s[14] < 0.0:
        for a in range(3, 9):
            s[a] = -s[a]
        s[12], s[14] = -s[12], -s[14]
    if kind == TORUS and not (s[14] > 0.0 and abs(s[12]) + abs(s[13]) > 0.0):
        return False
    impose(kind, held, fixed, s)
    total = 0.0
    for a in range(STATE):
        total += s[a]
    return math.isfinite(total)


@kernel()
def states(kind, held, fixed, X, hint, out):
    """Fill rows of `out` (ROOM, 15) with states to start from; returns how many. `hint` (3) a direction, NaN for none.

    Circles, spheres and cylinders: the algebraic fits; cones and tori: those about axes from the normals (all meet the
    axis) and over an even grid; surfaces also the curved patch, with its meridian leaning both ways.
    """
    V, raw = np.empty((3, 3)), np.empty((ROOM, STATE))
    spread = axes(X, V)
    size = math.sqrt((spread[0] ** 2 + spread[1] ** 2 + spread[2] ** 2) / X.shape[1])
    found = 0
    if kind in (CONE, TORUS):
        found = _about_axes(kind, held, fixed, X, V, hint, raw)
    else:
        flat = np.empty((MOST, 13))
        wanted = hint
        if held & AXIS:
            wanted = fixed[3:6]
        for i in range(candidates(kind, X, wanted, flat)):
            c = flat[i]
            if held & AXIS and i > 0:
                break
            if anchored(kind, X, c[0:3], c[9:12], c[12], 0.0, raw[found]):
                found += 1
    if kind not in (RING, HOOP) and dished(X, V, raw[found : found + 2]):
        first, more = found, _LEANS.size if kind in (CONE, TORUS) else 1
        patch = raw[first : first + 2].copy()
        for j in range(2):
            for i in range(more):
                copy(patch[j], raw[found])
                raw[found, 13] = _LEANS[i] / size
                if kind == BALL:
                    raw[found, 12] = raw[found, 14] = 0.5 * (patch[j, 12] + patch[j, 14])
                elif kind != TORUS:
                    raw[found, 14] = 0.0
                found += 1
    kept = 0
    for i in range(found):
        for way in range(2):
            copy(raw[i], out[kept])
            if _as_held(kind, held, fixed, way, out[kept]):
                kept += 1
    return kept
