"""Smallest zones between two parallel planes (or lines), and planes on the facet over the centroid; a batch in turn."""

import math

import numpy as np

from ...core.compiled import kernel
from .chart import centre, face, scatter, unpack
from .chord import FREE, room_for
from .cover import angle, cover, grows_at, reach, slack_of
from .settle import growth, settle
from .small import copy, principal

_OPEN, _UNREAD = -1, -2  # codes: directions left open; a coordinate that is not finite
_GLOBAL, _LOCAL = 0, 1
_RATIO = 1e-6  # least extent across, of the largest extent
_SPREAD = 1e-3  # least growth, of the extent across, that shows that the points spread both ways
_NEAR = 1e-14  # gap to the bound, of the extent across, that is rounding
_CELLS = 4e7  # points looked at in the search of all directions, at most
_FEWEST, _MOST = 200, 20_000  # starts of that search


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
def _unpacked(P, c, room):
    """Points about c into the room; whether all are finite."""
    unpack(P, c, room.xyz, room.mean)
    return math.isfinite(room.mean[0] + room.mean[1] + room.mean[2])


@kernel()
def _alone(P, c, own, outward, v, free, one, best, F, index, sides, room):
    """One member from a start of its own, over all directions where its contacts do not prove the zone.

    About the centroid, unless `own` says that c is to stay.
    """
    if not own:
        centre(P, c)
    if not _unpacked(P, c, room):
        return _UNREAD, 0
    far = max(abs(c[0]), abs(c[1]), abs(c[2]))
    if not start(far, outward, v, free, room, F):
        return _OPEN, 0
    index[0] = FREE
    best[0], best[1], best[2], best[3], _ = settle(F, free, one, index, sides, room)
    slack = slack_of(best[0], room.seen)
    kept, grows = grows_at(F, free, one, index, sides, room, best[0], best[2], best[3], slack)
    if _all_round(kept, grows, min(kept, best[1]), F[2], outward, one) and best[0] - min(kept, best[1]) <= 4.0 * slack:
        best[1] = min(best[1], kept)
        return _GLOBAL, 1
    limit = int(min(max(_CELLS / P.shape[0], _FEWEST), _MOST))
    starts, proven = cover(outward, v, free, one, best, F, index, sides, room, limit)
    return _GLOBAL if proven else _LOCAL, starts


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
    and starts, held (m, 2, 4): contacts and sides, residuals (m, n) from the middle (with `one`: from the plane).
    """
    room = room_for(P.shape[1])
    F, c, best = np.empty((3, 3)), c0.copy(), np.empty(4)
    index, sides = np.empty(4, np.int64), np.zeros(4, np.int64)
    for m in range(P.shape[0]):
        side, across = outward[m if outward.shape[0] > 1 else 0], v[m if v.shape[0] > 1 else 0]
        own = centres.shape[0] > 0
        code, starts, turns = _OPEN, 1, 0
        copy(centres[m] if own else c0, c)
        if one and not own:
            centre(P[m], c)
        if math.isfinite(F0[0, 0]) and _unpacked(P[m], c, room):
            copy(F0, F)
            copy(index0, index)
            copy(sides0, sides)
            best[0], best[1], best[2], best[3], turns = settle(F, free, one, index, sides, room)
            grows, kept = growth(F, free, index, sides, room)
            best[1] = min(best[1], kept)
            near = best[0] - best[1] <= _NEAR * room.scales[0] and grows > _SPREAD * room.scales[0]
            if near and _all_round(kept, grows, best[1], F[2], side, one):
                code = _GLOBAL
        if code != _GLOBAL:
            code, starts = _alone(P[m], c, own, side, across, free, one, best, F, index, sides, room)
        notes[m, 0], notes[m, 1], notes[m, 2] = code, turns, starts
        if code >= _GLOBAL:
            _write(c, F[2], free, one, best, index, sides, room, normals[m], points[m], values[m], held[m],
                   residuals[m])  # fmt: skip


@kernel()
def _write(c, normal, free, one, best, index, sides, room, out, point, values, held, residuals):
    level = best[2] if one else 0.5 * (best[2] + best[3])
    w0, w1, w2 = normal[0], normal[1], normal[2]
    X, Y, Z, mean = room.xyz[0], room.xyz[1], room.xyz[2], room.mean
    for i in range(X.size):
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
