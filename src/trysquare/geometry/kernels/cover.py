"""Proof that no direction at all gives a smaller zone: the directions are covered with caps and cells.

About a smallest zone near itself, of width w and growth g, every zone leant by theta is at least w cos(theta) +
g sin(theta): a cap. In a cell of directions within rho of c every zone is at least L cos(rho), L the longest chord
along c, because a zone that is leant by rho from c holds that chord. Cells that prove nothing are cut, and start a
search.
"""

import math

import numpy as np

from ...core.compiled import kernel
from .chart import centre, ends, face, see, sizes
from .chord import FREE, longest, room_for
from .flat import unpacked, write
from .settle import angle, grows_at, reach, settle, slack_of
from .small import copy

_CAPS = 32
DEEP = 256
CELLS = 4e7  # points looked at, at most
FEWEST, MOST = 200, 20_000  # starts


@kernel()
def first_cells(axis, v, free, cells, F):
    """The half of all directions about `axis`: four octants, or two quarters of a circle across v. Their number."""
    face(axis, free, v, F)
    for k in range(3):
        u, w, n = F[0, k], F[1, k], F[2, k]
        cells[0, 0, k], cells[0, 1, k], cells[0, 2, k] = u, n, w
        cells[1, 0, k], cells[1, 1, k], cells[1, 2, k] = n, -u, w
        if free > 2:
            cells[2, 0, k], cells[2, 1, k], cells[2, 2, k] = u, n, -w
            cells[3, 0, k], cells[3, 1, k], cells[3, 2, k] = n, -u, -w
    return 4 if free > 2 else 2


@kernel()
def middle(cell, free, out):
    """Unit vector in the middle of a cell; the angle to its furthest corner."""
    for k in range(3):
        out[k] = cell[0, k] + cell[1, k] + (cell[2, k] if free > 2 else 0.0)
    s = 1.0 / math.sqrt(out[0] ** 2 + out[1] ** 2 + out[2] ** 2)
    far = 0.0
    for k in range(3):
        out[k] *= s
    for i in range(free):
        far = max(far, angle(out, cell[i], False))
    return far


@kernel()
def cut(cells, top, free):
    """Replace the cell at `top` by its parts; the new number of cells."""
    cell = cells[top]
    for i in range(free):
        j = (i + 1) % free
        s = 0.0
        for k in range(3):
            x = cell[i, k] + cell[j, k]
            cells[top + 3, i, k] = x
            s += x * x
        for k in range(3):
            cells[top + 3, i, k] /= math.sqrt(s)
    if free == 2:
        for k in range(3):
            cells[top + 1, 0, k], cells[top + 1, 1, k] = cells[top + 3, 0, k], cell[1, k]
            cell[1, k] = cells[top + 3, 0, k]
        return top + 2
    for k in range(3):
        a, b, c = cells[top + 3, 0, k], cells[top + 3, 1, k], cells[top + 3, 2, k]
        cells[top + 1, 0, k], cells[top + 1, 1, k], cells[top + 1, 2, k] = a, cell[1, k], b
        cells[top + 2, 0, k], cells[top + 2, 1, k], cells[top + 2, 2, k] = c, b, cell[2, k]
        cell[1, k], cell[2, k] = a, c
    return top + 4


@kernel()
def _held(normal, far, caps, kept, count, goal, both):
    """Whether one of the caps holds all directions within `far` of the normal."""
    held = False
    for k in range(count):
        held = held or angle(normal, caps[k], both) + far <= reach(kept[k, 0], kept[k, 1], goal)
    return held


@kernel()
def cover(axis, v, free, one, best, F, index, sides, room, limit):
    """Search and prove over the half of all directions about `axis`.

    `best` (4): width, bound, high and low of the best zone so far, at F, held by `index` and `sides`; all are replaced
    where a better one turns up. Returns the number of starts and whether nothing is left uncovered.
    """
    cells, caps, kept = np.empty((DEEP, 3, 3)), np.empty((_CAPS, 3)), np.empty((_CAPS, 2))
    seen, G, normal = room.seen, F.copy(), F[2].copy()
    held, at = index.copy(), sides.copy()
    see(room.xyz, F, seen)
    slack = slack_of(best[0], room)
    count = 1
    copy(F[2], caps[0])
    kept[0, 0], kept[0, 1] = grows_at(F, free, one, index, sides, room, best[0], best[2], best[3], slack)
    if one and angle(F[2], axis, False) > 0.5 * math.pi:
        best[0] = math.inf
    left = first_cells(axis, v, free, cells, G)
    starts = 1
    while left > 0:
        goal = best[0] - 4.0 * slack
        far = middle(cells[left - 1], free, normal)
        if _held(normal, far, caps, kept, count, goal, not one):
            left -= 1
            continue
        face(normal, free, v, G)
        see(room.xyz, G, seen)
        top, bottom = ends(seen[2])
        room.scales[0], room.scales[1] = sizes(seen)
        room.scales[2] = max(top, -bottom, 1e-300)
        held[0] = FREE
        chord, _, _ = longest(room, free, one, held, at)
        starts += 1
        if chord * math.cos(far) >= goal:
            left -= 1
            continue
        held[0] = FREE
        width, bound, high, low, _ = settle(G, free, one, held, at, room)
        if width < best[0] and not (one and angle(G[2], axis, False) > 0.5 * math.pi):
            best[0], best[1], best[2], best[3] = width, bound, high, low
            copy(G, F)
            copy(held, index)
            copy(at, sides)
            slack = slack_of(width, room)
            goal = width - 4.0 * slack
        place = min(count, _CAPS - 1)
        copy(G[2], caps[place])
        kept[place, 0], kept[place, 1] = grows_at(G, free, one, held, at, room, width, high, low, slack)
        count = place + 1
        if _held(normal, far, caps, kept, count, goal, not one):
            left -= 1
            continue
        if starts >= limit or left + 8 >= DEEP:
            return starts, False
        left = cut(cells, left - 1, free)
    if best[0] < math.inf:
        best[1] = min(best[1], best[0] - 4.0 * slack)
    return starts, best[0] < math.inf


@kernel()
def search(P, centres, outward, v, free, one, normals, points, values, notes, held, residuals):
    """As `flat.flat_zone` for members whose smallest zone near `normals` proves nothing over all directions."""
    room = room_for(P.shape[1])
    F, c, best = np.empty((3, 3)), np.empty(3), np.empty(4)
    index, sides = np.empty(4, np.int64), np.zeros(4, np.int64)
    limit = int(min(max(CELLS / P.shape[1], FEWEST), MOST))
    for m in range(P.shape[0]):
        side, across = outward[m if outward.shape[0] > 1 else 0], v[m if v.shape[0] > 1 else 0]
        if centres.shape[0] > 0:
            copy(centres[m], c)
        else:
            centre(P[m], c)
        unpacked(P[m], c, room)
        face(normals[m].copy(), free, across, F)
        index[0] = FREE
        best[0], best[1], best[2], best[3], turns = settle(F, free, one, index, sides, room)
        starts, proven = cover(side, across, free, one, best, F, index, sides, room, limit)
        notes[m, 0], notes[m, 1], notes[m, 2] = 0 if proven else 1, turns, starts
        write(c, F[2], free, one, best, index, sides, room, normals[m], points[m], values[m], held[m], residuals[m])
