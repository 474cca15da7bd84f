"""The smallest zone near a frame, and how fast any zone grows as it tilts away from it.

The zone of heights is exact but for the square of the tilt; the frame is turned to its normal and the zone solved
again until the width no longer falls.
"""

import math

from ...core.compiled import kernel
from .chart import ends, lean, see, sizes
from .chord import FREE, longest
from .small import copy

_TURNS = 20
_DIGITS = 1e-14  # of the width: a gap to the bound of less is none
_TIES = 24  # points at one level that are looked at


@kernel()
def settle(F, free, one, index, sides, room):
    """Width, bound, ends of the heights and turns; F ends at the zone, `index` and `sides` at what holds it.

    The points are in `room.xyz`.
    """
    trial, scales = room.trial, room.scales
    width, bound, high, low = math.inf, 0.0, 0.0, 0.0
    turns = 0
    copy(F, trial)
    for turn in range(_TURNS):
        see(room.xyz, trial, room.seen)
        top, bottom = ends(room.seen[2])
        if one:
            bottom = 0.0
        if not top - bottom < width:
            break
        width, high, low, turns = top - bottom, top, bottom, turn
        copy(trial, F)
        if turn == 0:
            scales[0], scales[1] = sizes(room.seen)
        scales[2] = max(top, -bottom, 1e-300)
        bound, p, q = longest(room, free, one, index, sides)
        if width - bound <= _DIGITS * width:
            break
        lean(F, p, q, trial)
    return width, bound, high, low, turns


@kernel()
def growth(F, free, index, sides, room):
    """Least growth of the zone of heights per unit of slope, from what holds it, and the least height it holds."""
    xyz, spots = room.xyz, room.spots
    up = down = 0
    top, bottom = math.inf, -math.inf
    for j in range(free + 1):
        i = index[j]
        if i == FREE:
            continue
        k, place = (0, up) if sides[j] > 0 else (1, down)
        h = 0.0
        spots[k, place, 0] = spots[k, place, 1] = 0.0
        if i < xyz.shape[1]:
            for d in range(2):
                spots[k, place, d] = F[d, 0] * xyz[0, i] + F[d, 1] * xyz[1, i] + F[d, 2] * xyz[2, i]
            h = F[2, 0] * xyz[0, i] + F[2, 1] * xyz[1, i] + F[2, 2] * xyz[2, i]
        if k == 0:
            up += 1
            top = min(top, h)
        else:
            down += 1
            bottom = max(bottom, h)
    return _least(spots, up, down, free), top - bottom if up > 0 and down > 0 else -math.inf


@kernel()
def growth_of_ties(free, one, high, low, slack, room):
    """As `growth`, from all points within `slack` of the ends, as they are seen."""
    A, B, H, spots = room.seen[0], room.seen[1], room.seen[2], room.spots
    up = down = 0
    for i in range(A.size):
        if H[i] >= high - slack and up < _TIES:
            spots[0, up, 0], spots[0, up, 1] = A[i], B[i]
            up += 1
        if not one and H[i] <= low + slack and down < _TIES:
            spots[1, down, 0], spots[1, down, 1] = A[i], B[i]
            down += 1
    if one:
        spots[1, 0, 0] = spots[1, 0, 1] = 0.0
        down = 1
    return _least(spots, up, down, free)


@kernel()
def _least(spots, up, down, free):
    """Least over directions t of max t.(upper) - min t.(lower)."""
    if free == 2:
        return max(0.0, min(_reach(spots, up, down, 1.0, 0.0), _reach(spots, up, down, -1.0, 0.0)))
    least = math.inf
    for i in range(up + down):
        k, a = (0, i) if i < up else (1, i - up)
        for j in range(i):
            m, b = (0, j) if j < up else (1, j - up)
            x = spots[k, a, 1] - spots[m, b, 1]
            y = spots[m, b, 0] - spots[k, a, 0]
            s = math.sqrt(x * x + y * y)
            if s > 0.0:
                x /= s
                y /= s
                least = min(least, _reach(spots, up, down, x, y), _reach(spots, up, down, -x, -y))
    return max(0.0, least) if least < math.inf else 0.0


@kernel()
def _reach(spots, up, down, x, y):
    high, low = -math.inf, math.inf
    for i in range(up):
        high = max(high, x * spots[0, i, 0] + y * spots[0, i, 1])
    for i in range(down):
        low = min(low, x * spots[1, i, 0] + y * spots[1, i, 1])
    return high - low


@kernel()
def slack_of(width, room):
    """Difference of widths that counts as none: rounding of the coordinates."""
    return 1e-15 * max(room.scales[0], room.scales[1], 10.0 * width)


@kernel()
def reach(width, grows, goal):
    """Angle about a smallest zone within which none is narrower than `goal`."""
    if width < goal:
        return 0.0
    if goal <= 0.0:
        return math.pi
    s = math.sqrt(width * width + grows * grows)
    return math.atan2(grows, width) + math.acos(min(goal / s, 1.0))


@kernel()
def angle(a, b, both):
    """Angle between unit vectors, or between the lines along them."""
    s = a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
    x = a[1] * b[2] - a[2] * b[1]
    y = a[2] * b[0] - a[0] * b[2]
    z = a[0] * b[1] - a[1] * b[0]
    return math.atan2(math.sqrt(x * x + y * y + z * z), abs(s) if both else s)


@kernel()
def grows_at(F, free, one, index, sides, room, width, high, low, slack):
    """Width that a cap may count on and its growth: from the contacts, or from all ties where those do not do."""
    g, held = growth(F, free, index, sides, room)
    if g >= width:
        return held, g
    see(room.xyz, F, room.seen)
    ties = growth_of_ties(free, one, high, low, slack, room)
    return (width - 2.0 * slack, ties) if ties > g else (held, g)
