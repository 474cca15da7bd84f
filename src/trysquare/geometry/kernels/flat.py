"""Smallest zones between two parallel planes (or lines), and planes on the facet over the centroid; a batch in turn."""

import math

import numpy as np

from ...core.compiled import kernel
from .chart import centre, face, scatter, unpack
from .chord import FREE, room_for
from .settle import angle, grows_at, reach, settle, slack_of
from .small import copy, principal

_OPEN, _UNREAD = -1, -2  # codes: directions left open; a coordinate that is not finite
_GLOBAL, _LOCAL = 0, 1
_RATIO = 1e-6  # least extent across, of the largest extent
_SPREAD = 1e-3  # least growth, of the extent across, that shows that the points spread both ways


@kernel()
def _line_start(S, v, axis, F):
    """Frame across v whose normal is the least axis of the scatter S there; whether the points lie apart there."""
    face(axis, 2, v, F)
    uu = un = nn = 0.0
    for i in range(3):
        for j in range(3):
            uu += F[0, i] * S[i, j] * F[0, j]
            un += F[0, i] * S[i, j] * F[2, j]
            nn += F[2, i] * S[i, j] * F[2, j]
    turn = 0.5 * math.atan2(2.0 * un, uu - nn)  # of the longest axis, from u towards the normal
    for k in range(3):
        axis[k] = math.cos(turn) * F[2, k] - math.sin(turn) * F[0, k]
    face(axis, 2, v, F)
    return uu + nn


@kernel()
def start(far, outward, v, free, room, F):
    """F = frame of the least-squares plane (line), its normal on the side of `outward`; False where none is fixed.

    The points are in `room.xyz` about their centroid, which lies `far` from the origin of their coordinates.
    """
    S = room.trial
    scatter(room.xyz, S)
    size = S[0, 0] + S[1, 1] + S[2, 2]
    if not size > 1e-28 * far * far:
        return False
    normal = outward.copy()
    if free == 2:
        if not _line_start(S, v, normal, F) > 1e-28 * far * far:
            return False
    else:
        principal(S, F)
        if not S[1, 1] > _RATIO * _RATIO * S[2, 2]:
            return False
        copy(F[0], normal)
    s = normal[0] * outward[0] + normal[1] * outward[1] + normal[2] * outward[2]
    for k in range(3):
        normal[k] = -normal[k] if s < 0.0 else normal[k]
    face(normal, free, v, F)
    return True


@kernel()
def unpacked(P, c, room):
    """Points about c into the room; whether all are finite."""
    unpack(P, c, room.xyz, room.mean)
    return math.isfinite(room.mean[0] + room.mean[1] + room.mean[2])


@kernel()
def _all_round(width, grows, goal, normal, outward, one):
    """Whether the growth alone proves the zone over all directions (with `one`: over those of the outward side)."""
    need = 0.5 * math.pi
    if one:
        need += angle(normal, outward, False)
        if need > math.pi:
            return False
    return reach(width, grows, goal) >= need


@kernel()
def flat_zone(
    P, c0, F0, index0, sides0, centres, outward, v, free, one, normals, points, values, notes, held, residuals
):
    """Zones of the members P (m, n, 3); `free` 3 for planes, 2 for lines across v (m or 1, 3); `outward` (m or 1, 3);
    `centres` (m or 0, 3) are the middles for a ray where they are not the centroids.

    Each member is tried from the frame F0 about c0 with the basis of contacts index0, sides0; where that proves nothing
    it gets its own start. Fills normals and points (m, 3), values (m, 2): width and bound, notes (m, 3): code, turns
    and starts, held (m, 2, 4): contacts and sides, residuals (m, n or 0) from the middle (`one`: from the plane). The
    code is 0 for a zone proven over all directions by what holds it, 1 for one that is the smallest near itself.
    """
    room = room_for(P.shape[1])
    F, c, best = np.empty((3, 3)), c0.copy(), np.empty(4)
    index, sides = np.empty(4, np.int64), np.zeros(4, np.int64)
    for m in range(P.shape[0]):
        side, across = outward[m if outward.shape[0] > 1 else 0], v[m if v.shape[0] > 1 else 0]
        own, code, turns = centres.shape[0] > 0, _OPEN, 0
        for alone in range(0 if math.isfinite(F0[0, 0]) else 1, 2):
            copy(centres[m] if own else c0, c)
            if not own and (one or alone == 1):
                centre(P[m], c)
            code = _OPEN if unpacked(P[m], c, room) else _UNREAD
            if code == _UNREAD:
                break
            copy(F0, F)
            copy(index0, index)
            copy(sides0, sides)
            if alone == 1:
                index[0] = FREE
                if not start(max(abs(c[0]), abs(c[1]), abs(c[2])), side, across, free, room, F):
                    break
            best[0], best[1], best[2], best[3], turns = settle(F, free, one, index, sides, room)
            slack = slack_of(best[0], room)
            kept, grows = grows_at(F, free, one, index, sides, room, best[0], best[2], best[3], slack)
            best[1] = min(best[1], kept)
            wide = alone == 1 or grows > _SPREAD * room.scales[0]
            code = _LOCAL
            if wide and best[0] - best[1] <= 4.0 * slack and _all_round(kept, grows, best[1], F[2], side, one):
                code = _GLOBAL
                break
        notes[m, 0], notes[m, 1], notes[m, 2] = code, turns, 1
        if code >= _GLOBAL:
            write(c, F[2], free, one, best, index, sides, room, normals[m], points[m], values[m], held[m], residuals[m])


@kernel()
def write(c, normal, free, one, best, index, sides, room, out, point, values, held, residuals):
    level = best[2] if one else 0.5 * (best[2] + best[3])
    w0, w1, w2 = normal[0], normal[1], normal[2]
    X, Y, Z, mean = room.xyz[0], room.xyz[1], room.xyz[2], room.mean
    for i in range(residuals.size):
        residuals[i] = w0 * X[i] + w1 * Y[i] + w2 * Z[i] - level
    up = level - (w0 * mean[0] + w1 * mean[1] + w2 * mean[2])
    for k in range(3):
        out[k] = normal[k]
        point[k] = c[k] + mean[k] + up * normal[k]
    values[0], values[1] = best[0], best[1]
    for k in range(4):
        own = k <= free and index[k] >= 0 and index[k] < X.size
        held[0, k] = index[k] if own else FREE
        held[1, k] = sides[k] if own else 0
