"""Proof that no other axis gives a narrower zone between coaxial cylinders: lower bounds over boxes of axes.

The points stand in the frame of the axis found, which is the third. An axis is a point in the coordinate plane across
its largest coordinate and a slope: p + t (s, 1). In the planes across the middle axis of a box distances are convex in
place and tilt; across a tilted axis they are less by cos T at most, and more than linear by the curvature: that bounds
the linear problem of the box from both sides.
"""

import math

import numpy as np

from ...core.compiled import kernel
from .least_max import least_max
from .round_bound import BETTER, OPEN, PROVEN, growth, off_level
from .round_state import TUBE, ZONE, distances, slopes
from .small import frame

_STACK = 512
_KEEP = 0.999
_SMALL = 1e-6


@kernel()
def _place(face, x, y, p, q, s):
    """State s (13) of the axis through (x, y) of the plane of the face, with the slope (p, q); length of (p, q, 1)."""
    if face == 0:
        frame(1.0, p, q, s)
        s[0], s[1], s[2] = 0.0, x, y
    elif face == 1:
        frame(q, 1.0, p, s)
        s[0], s[1], s[2] = y, 0.0, x
    else:
        frame(p, q, 1.0, s)
        s[0], s[1], s[2] = x, y, 0.0
    return math.sqrt(1.0 + p * p + q * q)


@kernel()
def _proven(P, s, contacts, sides, rho, A, low, high, half):
    """Half-width of the cube about the axis of s, in lengths, in which growth outweighs curvature."""
    index, sign, weight = np.empty(6, np.int64), np.empty(6), np.empty(6)
    box, x = np.empty(5), np.empty(5)
    slopes(TUBE, P, s, half, A)
    grow = growth(ZONE, 4, A, contacts, sides, box, x, index, sign, weight)
    h = 0.0
    if grow > 0.0 and low > 0.0:
        h = half
        for _ in range(3):
            h = min(half, 2.0 * grow / (4.0 / low + (high + 3.0 * h) / (half * half)))
    return _KEEP * h


@kernel()
def _within(box, centre, half, h):
    """Whether all axes of the box (face 2) lie in the cube of half-width h about that along the third axis."""
    shift = max(abs(box[1] - centre[0]) + box[5], abs(box[2] - centre[1]) + box[6])
    slope = math.sqrt(2.0) * max(abs(box[3]) + box[7], abs(box[4]) + box[8])
    if slope >= 0.5:
        return False
    tilt = slope / (1.0 - slope)
    return math.sqrt(2.0) * shift * (1.0 + tilt) <= h and half * tilt <= h


@kernel()
def _bound(P, s, length, box, low, high, rho, A, b, e, room, x, index, sign, weight):
    """Least width that the axes of the box can give, at least; box[5:9] are its half-widths, s its middle."""
    n = P.shape[0]
    slope = math.sqrt(box[7] ** 2 + box[8] ** 2)
    if slope >= 0.7 * length:
        return 0.0
    tilt = slope / (length - slope)
    reach = 0.0
    for i in range(n):
        t = abs(s[9] * (P[i, 0] - s[0]) + s[10] * (P[i, 1] - s[1]) + s[11] * (P[i, 2] - s[2]))
        reach = max(reach, t)
    face = int(box[0])
    j, k = (1, 2) if face == 0 else ((2, 0) if face == 1 else (0, 1))
    more = math.sqrt(box[5] ** 2 + box[6] ** 2) * tilt
    wide = box[5] * abs(s[3 + j]) + box[6] * abs(s[3 + k]) + more
    tall = box[5] * abs(s[6 + j]) + box[6] * abs(s[6 + k]) + more
    lean = (box[7] * abs(s[3 + j]) + box[8] * abs(s[3 + k])) / (length - slope)
    nod = (box[7] * abs(s[6 + j]) + box[8] * abs(s[6 + k])) / (length - slope)
    cosine = 1.0 / math.sqrt(1.0 + tilt * tilt)
    move = math.sqrt(wide * wide + tall * tall) + reach * tilt
    bound = cosine * (high - move) - low - move
    scale = 0.5 * (high - low)
    if not low > 0.0 or not scale > 0.0:
        return bound
    slopes(TUBE, P, s, reach, A)
    for i in range(n):
        b[i] = (rho[i] - 0.5 * (low + high)) / scale
        A[4, i] = -1.0
    room[0], room[1], room[2], room[3] = wide / scale, tall / scale, reach * lean / scale, reach * nod / scale
    room[4] = 2.0 + 2.0 * move / scale  # no radius beyond that makes the most less
    level = least_max(A, b, True, room, x, index, sign, weight, e)
    return max(bound, 2.0 * scale * level - (1.0 - cosine) * (high + move) - move * move / (2.0 * low))


@kernel()
def _split(boxes, count, reach):
    """Cut the box behind the last in two across its longest side; the number of boxes then."""
    longest = 5
    size = 0.0
    for k in range(5, 9):
        side = boxes[count, k] * (1.0 if k < 7 else reach)
        if side > size:
            size = side
            longest = k
    for k in range(9):
        boxes[count + 1, k] = boxes[count, k]
    h = 0.5 * boxes[count, longest]
    for i in range(2):
        boxes[count + i, longest] = h
        boxes[count + i, longest - 4] += h if i else -h
    return count + 2


@kernel()
def prove_tube(P, centre, target, contacts, sides, wide, budget, better):
    """P (n, 3) in the frame of the axis found, which passes through centre (2); target its width; contacts, sides (6).
    Axes that pass within `wide` of the origin are looked at. Returns the outcome, the least bound and the boxes seen;
    better (12) is set to the state of an axis that does better.
    """
    n = P.shape[0]
    A, b, rho, e = np.empty((5, n)), np.empty(n), np.empty(n), np.empty(n)
    room, x, index, sign, weight = np.empty(5), np.empty(5), np.empty(6, np.int64), np.empty(6), np.empty(6)
    s = np.empty(13)
    boxes = np.empty((_STACK, 9))
    reach = half = 0.0
    for i in range(n):
        half = max(half, abs(P[i, 2]))
        reach = max(reach, math.sqrt(P[i, 0] ** 2 + P[i, 1] ** 2 + P[i, 2] ** 2))
    _place(2, centre[0], centre[1], 0.0, 0.0, s)
    low, high = distances(TUBE, P, s, rho)
    cube = _proven(P, s, contacts, sides, rho, A, low, high, half)
    slack = 1e-10 * target + 1e-14 * reach
    off = off_level(ZONE, rho, low, high, target, contacts, sides)
    if off > slack:  # the contacts prove nothing
        cube = off = 0.0
    for face in range(3):
        boxes[face, 0] = face
        for k in range(4):
            boxes[face, 1 + k] = 0.0
            boxes[face, 5 + k] = math.sqrt(3.0) * wide if k < 2 else 1.0
    count = 3
    least = target - off
    for seen in range(budget):
        if count == 0:
            return PROVEN, least, seen
        count -= 1
        box = boxes[count]
        if box[0] == 2.0 and _within(box, centre, half, cube):
            continue
        length = _place(int(box[0]), box[1], box[2], box[3], box[4], s)
        low, high = distances(TUBE, P, s, rho)
        if high - low < target - slack:
            for k in range(12):
                better[k] = s[k]
            return BETTER, least, seen
        bound = _bound(P, s, length, box, low, high, rho, A, b, e, room, x, index, sign, weight)
        if bound >= target - slack or max(box[5], box[6]) + reach * max(box[7], box[8]) < _SMALL * reach:
            least = min(least, bound)
            continue
        if count + 2 > _STACK:
            return OPEN, -math.inf, seen
        count = _split(boxes, count, reach)
    return OPEN, -math.inf, budget
