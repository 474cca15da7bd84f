"""Planes (lines across v) with all points on one side and the least sum of squares; a batch in turn.

The programme in one frame counts the tilt where that leaves it convex (the ratio of W. Dinkelbach, Management Science
13 (1967) 492): its least value then bounds the sum over half of all directions. Elsewhere every turn still lowers the
sum.
"""

import math

import numpy as np

from ...core.compiled import kernel
from .chart import centre, ends, face, lean, scatter, see, unpack
from .chord import room_for
from .nearest import factor_two, nearest
from .settle import angle
from .small import copy, principal

_TURNS = 200
_OPEN, _UNREAD, _GLOBAL, _LOCAL = -1, -2, 0, 1
_STARTS = 4
_RATIO = 1e-6


@kernel()
def turned(T0, F0, F, G, T):
    """T = the scatter in the frame F, from T0 in the frame F0; G is work. Near F0 small parts stay exact."""
    for i in range(3):
        for j in range(3):
            G[i, j] = F[i, 0] * F0[j, 0] + F[i, 1] * F0[j, 1] + F[i, 2] * F0[j, 2]
    for i in range(3):
        for j in range(3):
            T[i, j] = 0.0
            for k in range(3):
                for n in range(3):
                    T[i, j] += G[i, k] * T0[k, n] * G[j, n]


@kernel()
def _bounded(T, value, free, tilt):
    """Whether no plane beyond `tilt` (tangent) from the normal does better: by the scatter T alone."""
    across = T[0, 0]
    mixed = abs(T[0, 2])
    if free > 2:
        half = 0.5 * (T[0, 0] - T[1, 1])
        across = 0.5 * (T[0, 0] + T[1, 1]) - math.sqrt(half * half + T[0, 1] ** 2)
        mixed = math.sqrt(T[0, 2] ** 2 + T[1, 2] ** 2)
    a = across - value
    return a * tilt >= mixed and a * tilt * tilt - 2.0 * mixed * tilt + T[2, 2] - value >= 0.0


@kernel()
def descend(F, T0, F0, outward, free, index, room, work):
    """Turn F to a least sum of squares: mean square, level, its lower bound, whether that holds over the outward side,
    turns and the number of contacts.
    """
    T, L, G, trial, spare = work[5], work[6], work[2], room.trial, work[7, 0]
    best, level, bound, wide, turns, held = math.inf, 0.0, 0.0, False, 0, 0
    copy(F, trial)
    for turn in range(_TURNS):
        see(room.xyz, trial, room.seen)
        top, bottom = ends(room.seen[2])
        turned(T0, F0, trial, G, T)
        value = top * top + T[2, 2]
        if not value < best:
            break
        best, level, turns = value, top, turn
        copy(trial, F)
        room.scales[2] = max(top, -bottom, 1e-300)
        convex = factor_two(T[0, 0] - value, T[0, 1], T[1, 1] - value, free, L)
        if not convex and not factor_two(T[0, 0], T[0, 1], T[1, 1], free, L):
            break
        less = value if convex else 0.0
        unheld(T, less, free, spare)
        c, p, q, held = nearest(room, L, free, spare, index, work)
        num = mean_square(T, c, p, q)
        bound = max(0.0, min(value, num - value * (p * p + q * q)))
        lies = angle(F[2], outward, False)
        wide = convex and lies < 0.5 * math.pi and _bounded(T, value, free, 1.0 / max(math.tan(lies), 1e-300))
        if value - bound <= 1e-15 * value:
            break
        lean(F, p, q, trial)
    return best, level, bound, wide, turns, held


@kernel()
def mean_square(T, c, p, q):
    """Mean square of c + p a + q b - h, of the scatter T."""
    across = p * p * T[0, 0] + 2.0 * p * q * T[0, 1] + q * q * T[1, 1]
    return c * c + T[2, 2] - 2.0 * (p * T[0, 2] + q * T[1, 2]) + across


@kernel()
def unheld(T, less, free, out):
    """Slopes of the least sum of squares without constraints."""
    a, b, m = T[0, 0] - less, T[1, 1] - less, T[0, 1]
    if free > 2:
        d = a * b - m * m
        out[0] = (T[0, 2] * b - T[1, 2] * m) / d
        out[1] = (T[1, 2] * a - T[0, 2] * m) / d
    else:
        out[0], out[1] = T[0, 2] / a, 0.0


@kernel()
def _start(k, F0, outward, v, free, F):
    """Frame of start k: the axes of F0 from the last, then `outward`, each on its side and across v."""
    normal = outward.copy()
    if k < 3:
        copy(F0[2 - k], normal)
    if free == 2:
        s = normal[0] * v[0] + normal[1] * v[1] + normal[2] * v[2]
        for j in range(3):
            normal[j] -= s * v[j]
    length = math.sqrt(normal[0] ** 2 + normal[1] ** 2 + normal[2] ** 2)
    if length < 1e-3:
        return False
    s = normal[0] * outward[0] + normal[1] * outward[1] + normal[2] * outward[2]
    for j in range(3):
        normal[j] /= -length if s < 0.0 else length
    face(normal, free, v, F)
    return True


@kernel()
def _member(outward, v, free, T0, F0, F, best, index, room, work):
    """Best of the starts; the first alone where it is proven over the outward side. Code, turns, starts."""
    G, own = np.empty((3, 3)), np.empty(4, np.int64)
    starts = 0
    best[0] = math.inf
    turns = 0
    for k in range(_STARTS):
        if not _start(k, F0, outward, v, free, G):
            continue
        value, level, bound, wide, turn, count = descend(G, T0, F0, outward, free, own, room, work)
        starts += 1
        if value < best[0] and angle(G[2], outward, False) <= 0.5 * math.pi:
            best[0], best[1], best[2], turns = value, level, bound, turn
            copy(G, F)
            for j in range(4):
                index[j] = own[j] if j < count else -1
            if wide:
                return _GLOBAL, turns, starts
    return _LOCAL if best[0] < math.inf else _OPEN, turns, starts


@kernel()
def _spread(T, F, far, free, v):
    """Whether the points fix a plane (a line across v), by their scatter T in their principal frame F."""
    size = T[0, 0] + T[1, 1] + T[2, 2]
    if free > 2:
        return size > 1e-28 * far * far and T[1, 1] > _RATIO**2 * T[0, 0]
    for i in range(3):
        along = F[i, 0] * v[0] + F[i, 1] * v[1] + F[i, 2] * v[2]
        size -= T[i, i] * along * along
    return size > 1e-28 * far * far


@kernel()
def principal_frame(room, S, F):
    """F = frame of the principal axes of the points, the least last; S = their scatter in it, small parts exact."""
    scatter(room.xyz, S)
    principal(S, room.trial)
    normal, across = room.trial[0].copy(), room.trial[1].copy()
    face(normal, 2, across, F)
    see(room.xyz, F, room.seen)
    scatter(room.seen, S)


@kernel()
def squares_plane(P, centres, frames, scatters, outward, v, free, normals, points, values, notes, held, residuals):
    """Members P (m, n, 3); `centres`, `frames` and `scatters` in these frames (m or 0) stand for those of larger sets.

    Arrays as in `flat_zone`: values are the root of the mean square and its bound, residuals those from the plane.
    """
    room, work, given = room_for(P.shape[1]), np.zeros((8, 4, 4)), centres.shape[0] > 0
    F, F0, T0, c, best = np.empty((3, 3)), np.empty((3, 3)), np.empty((3, 3)), np.empty(3), np.empty(3)
    for m in range(P.shape[0]):
        side, across = outward[m if outward.shape[0] > 1 else 0], v[m if v.shape[0] > 1 else 0]
        if given:
            copy(centres[m], c)
        else:
            centre(P[m], c)
        unpack(P[m], c, room.xyz, room.mean)
        notes[m, 0], notes[m, 1], notes[m, 2] = _UNREAD, 0, 0
        if not math.isfinite(room.mean[0] + room.mean[1] + room.mean[2]):
            continue
        if given:
            copy(frames[m], F0)
            copy(scatters[m], T0)
        else:
            principal_frame(room, T0, F0)
        notes[m, 0] = _OPEN
        if not _spread(T0, F0, max(abs(c[0]), abs(c[1]), abs(c[2])), free, across):
            continue
        notes[m, 0], notes[m, 1], notes[m, 2] = _member(side, across, free, T0, F0, F, best, held[m, 0], room, work)
        if notes[m, 0] >= _GLOBAL:
            values[m, 0], values[m, 1] = math.sqrt(best[0]), math.sqrt(best[2])
            write_touch(c, F[2], best[1], room.xyz, normals[m], points[m], held[m], residuals[m])


@kernel()
def write_touch(c, normal, level, xyz, out, point, held, residuals):
    for k in range(3):
        out[k] = normal[k]
        point[k] = c[k] + level * normal[k]
    for k in range(4):
        held[1, k] = 1 if held[0, k] >= 0 else 0
    for i in range(residuals.size):
        residuals[i] = normal[0] * xyz[0, i] + normal[1] * xyz[1, i] + normal[2] * xyz[2, i] - level
