"""Passes over all points of a round shape: which lie beyond the zone found so far, and how far each lies.

Points P (m, n, d), d = 2 or 3, are taken as they are given; `base` (m, 3) is subtracted on the way.
"""

import math

from ...core.compiled import kernel
from .round_state import BALL, TUBE

ANGLES, HEIGHTS, FACE = 32, 6, 5
CELLS = {2: ANGLES, 3: 6 * FACE * FACE, 4: ANGLES * HEIGHTS}


@kernel()
def _cell(kind, a, b, t, half):
    """The part of the circle, sphere or cylinder that a point belongs to."""
    if kind == BALL:
        x, y, z = abs(a), abs(b), abs(t)
        top = max(x, max(y, z))
        if not top > 0.0:
            return 0
        if x == top:
            face, p, q = (0 if a > 0.0 else 1), b, t
        elif y == top:
            face, p, q = (2 if b > 0.0 else 3), a, t
        else:
            face, p, q = (4 if t > 0.0 else 5), a, b
        i = min(int((p / top + 1.0) * 0.5 * FACE), FACE - 1)
        j = min(int((q / top + 1.0) * 0.5 * FACE), FACE - 1)
        return (face * FACE + i) * FACE + j
    turn = min(int((math.atan2(b, a) / (2.0 * math.pi) + 0.5) * ANGLES), ANGLES - 1)
    if kind != TUBE:
        return turn
    height = int((t / half + 1.0) * 0.5 * HEIGHTS)
    return turn * HEIGHTS + min(max(height, 0), HEIGHTS - 1)


@kernel()
def beyond(kind, P, base, states, halves, lows, highs, least, largest):
    """The points of each member beyond its zone, lows to highs (m), that lie farthest out in each cell: indices least
    and largest (m, 2, cells) with the values beside them as [:, 0] index, [:, 1] distance; index -1 where none does.
    """
    flat = P.shape[2] == 2
    for m in range(P.shape[0]):
        s = states[m]
        low = lows[m] * lows[m] if lows[m] > 0.0 else lows[m]
        high = highs[m] * highs[m] if highs[m] > 0.0 else highs[m]
        for c in range(least.shape[2]):
            least[m, 0, c] = largest[m, 0, c] = -1.0
            least[m, 1, c] = math.inf
            largest[m, 1, c] = -1.0
        for i in range(P.shape[1]):
            x = P[m, i, 0] - base[m, 0] - s[0]
            y = P[m, i, 1] - base[m, 1] - s[1]
            z = 0.0 if flat else P[m, i, 2] - base[m, 2] - s[2]
            if kind != TUBE:
                a, b, t = x, y, z
                d = x * x + y * y + z * z
            else:
                a = s[3] * x + s[4] * y + s[5] * z
                b = s[6] * x + s[7] * y + s[8] * z
                t = 0.0
                d = a * a + b * b
            if d > high or d < low:
                if kind == TUBE:
                    t = s[9] * x + s[10] * y + s[11] * z
                c = _cell(kind, a, b, t, halves[m])
                if d > high and d > largest[m, 1, c]:
                    largest[m, 0, c] = i
                    largest[m, 1, c] = d
                if d < low and d < least[m, 1, c]:
                    least[m, 0, c] = i
                    least[m, 1, c] = d


@kernel()
def residuals(kind, P, base, states, radii, out):
    """out (m, n): distances from the centre or axis less the radii (m)."""
    flat = P.shape[2] == 2
    for m in range(P.shape[0]):
        s = states[m]
        for i in range(P.shape[1]):
            x = P[m, i, 0] - base[m, 0] - s[0]
            y = P[m, i, 1] - base[m, 1] - s[1]
            z = 0.0 if flat else P[m, i, 2] - base[m, 2] - s[2]
            if kind != TUBE:
                d = x * x + y * y + z * z
            else:
                a = s[3] * x + s[4] * y + s[5] * z
                b = s[6] * x + s[7] * y + s[8] * z
                d = a * a + b * b
            out[m, i] = math.sqrt(d) - radii[m]


@kernel()
def gather(P, base, picks, counts, out):
    """out (m, c, 3): the points picks (m, c) about the base; places beyond counts (m) repeat the first."""
    flat = P.shape[2] == 2
    for m in range(P.shape[0]):
        for j in range(picks.shape[1]):
            i = picks[m, j] if j < counts[m] else picks[m, 0]
            out[m, j, 0] = P[m, i, 0] - base[m, 0]
            out[m, j, 1] = P[m, i, 1] - base[m, 1]
            out[m, j, 2] = 0.0 if flat else P[m, i, 2] - base[m, 2]
