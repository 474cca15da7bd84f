"""Proof that no plane on the outward side has a smaller sum of squares, for points too thick for the convex programme.

The root of the mean square grows in proportion with the normal and is convex: in a cell of directions within rho of c
it is at least L cos(rho), L the root of the least value of the programme of heights along c, whatever the slopes.
"""

import math

import numpy as np

from ...core.compiled import kernel
from .chart import centre, ends, face, lean, see, unpack
from .chord import room_for
from .cover import CELLS, DEEP, FEWEST, MOST, cut, first_cells, middle
from .nearest import factor_two, nearest
from .settle import angle
from .small import copy
from .squares import descend, mean_square, principal_frame, turned, unheld, write_touch

_NEAR = 1e-12  # of the root of the mean square: what is left open


@kernel()
def _least_along(F, T0, F0, free, index, room, work):
    """Root of the least mean square of heights along the last row of F; slopes p and q that have it."""
    T, L, spare = work[5], work[6], work[7, 0]
    see(room.xyz, F, room.seen)
    top, bottom = ends(room.seen[2])
    room.scales[2] = max(top, -bottom, 1e-300)
    turned(T0, F0, F, work[2], T)
    if not factor_two(T[0, 0], T[0, 1], T[1, 1], free, L):
        return 0.0, 0.0, 0.0
    unheld(T, 0.0, free, spare)
    c, p, q, _ = nearest(room, L, free, spare, index, work)
    return math.sqrt(max(mean_square(T, c, p, q), 0.0)), p, q


@kernel()
def _cover(outward, v, free, T0, F0, F, best, index, room, work, limit):
    """Search and prove over the outward side from the best so far at F: mean square, level, bound. Starts and proof."""
    cells, normal = np.empty((DEEP, 3, 3)), np.empty(3)
    G, N, own = np.empty((3, 3)), np.empty((3, 3)), np.empty(4, np.int64)
    left, starts = first_cells(outward, v, free, cells, G), 1
    while left > 0:
        goal = math.sqrt(best[0]) * (1.0 - _NEAR)
        far = middle(cells[left - 1], free, normal)
        face(normal, free, v, G)
        least, p, q = _least_along(G, T0, F0, free, own, room, work)
        starts += 1
        if least * math.cos(far) >= goal:
            left -= 1
            continue
        lean(G, p, q, N)
        see(room.xyz, N, room.seen)
        top, _ = ends(room.seen[2])
        turned(T0, F0, N, work[2], work[5])
        if top * top + work[5][2, 2] < best[0]:
            value, level, _, _, _, count = descend(N, T0, F0, outward, free, own, room, work)
            if value < best[0] and angle(N[2], outward, False) <= 0.5 * math.pi:
                best[0], best[1] = value, level
                copy(N, F)
                for j in range(4):
                    index[j] = own[j] if j < count else -1
        if starts >= limit or left + 8 >= DEEP:
            return starts, False
        left = cut(cells, left - 1, free)
    best[2] = best[0] * (1.0 - _NEAR) ** 2
    return starts, True


@kernel()
def search_squares(P, centres, frames, scatters, outward, v, free, normals, points, values, notes, held, residuals):
    """As `squares.squares_plane` for members that are proven near `normals` only."""
    room, work, given = room_for(P.shape[1]), np.zeros((8, 4, 4)), centres.shape[0] > 0
    F, F0, T0, c, best = np.empty((3, 3)), np.empty((3, 3)), np.empty((3, 3)), np.empty(3), np.empty(3)
    limit = int(min(max(CELLS / P.shape[1], FEWEST), MOST))
    for m in range(P.shape[0]):
        side, across = outward[m if outward.shape[0] > 1 else 0], v[m if v.shape[0] > 1 else 0]
        if given:
            copy(centres[m], c)
        else:
            centre(P[m], c)
        unpack(P[m], c, room.xyz, room.mean)
        if given:
            copy(frames[m], F0)
            copy(scatters[m], T0)
        else:
            principal_frame(room, T0, F0)
        face(normals[m].copy(), free, across, F)
        best[0], best[1], best[2], _, _, _ = descend(F, T0, F0, side, free, held[m, 0], room, work)
        starts, proven = _cover(side, across, free, T0, F0, F, best, held[m, 0], room, work, limit)
        notes[m, 0], notes[m, 2] = 0 if proven else 1, notes[m, 2] + starts
        values[m, 0], values[m, 1] = math.sqrt(best[0]), math.sqrt(best[2])
        write_touch(c, F[2], best[1], room.xyz, normals[m], points[m], held[m], residuals[m])
