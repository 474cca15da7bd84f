"""Proof that no other direction of the axis gives a smaller circumscribed cylinder: bounds over boxes of directions.

In the planes across a direction the distances from an axis are convex in its place and its tilt, and at the tilt T they
exceed the distances across the axis by 1 / cos T at most. The linear problem at the best place for the direction in the
middle of a box, times cos T, is therefore a bound for all axes within it, wherever they pass.
"""

import math

import numpy as np

from ...core.compiled import kernel
from .least_max import least_max
from .round_bound import BETTER, OPEN, PROVEN
from .round_minimax import press_one
from .round_state import DISC, OUTER, TUBE, distances, slopes
from .small import frame

_STACK = 1024
_PER = 8  # boxes along one side of each face at first
_SMALL = 1e-6
_KEEP = 0.999


@kernel()
def _seen_along(P, s, flat):
    """flat (n, 3): the points P (n, 3) in the frame of the state s, heights left out."""
    for i in range(P.shape[0]):
        for k in range(2):
            t = 0.0
            for j in range(3):
                t += P[i, j] * s[3 + 3 * k + j]
            flat[i, k] = t
        flat[i, 2] = 0.0


@kernel()
def _growth(P, s, half, level, slack, contacts, box, x, index, sign, weight):
    """Least growth of the linear problem of the contacts per unit of the larger tilt, wherever the axis moves to.

    None where they do not all touch the cylinder.
    """
    q = 0
    few = np.empty((6, 3))
    for i in range(contacts.size):
        if contacts[i] >= 0:
            for j in range(3):
                few[q, j] = P[contacts[i], j]
            q += 1
    if q < 3:
        return 0.0
    G = np.empty((4, q))
    b = np.empty(q)
    low, _ = distances(TUBE, few[:q], s, b)
    if low < level - slack:
        return 0.0
    slopes(TUBE, few[:q], s, half, G)
    room = np.empty(q)
    least = 1e300
    for face in range(4):
        k = 2 + face // 2
        for i in range(q):
            b[i] = G[k, i] * (1.0 if face % 2 else -1.0)
        for j in range(4):
            box[j] = 1e4 if j < 2 else (0.0 if j == k else 1.0)
        least = min(least, least_max(G, b, False, box, x, index, sign, weight, room))
    return least * half if least > 1e-9 else 0.0


@kernel()
def _direct(boxes, row, s):
    """The frame of s (13) along the middle of a box of directions."""
    face, _, p, q = boxes[row]
    if face == 0.0:
        frame(1.0, p, q, s)
    elif face == 1.0:
        frame(q, 1.0, p, s)
    else:
        frame(p, q, 1.0, s)


@kernel()
def _radius(P, s, near, flat, plane, A, b, rho, e, index, sign, weight, info):
    """Radius of the smallest cylinder along the axis of s; s[:3] is moved onto its axis, flat (n, 3) and plane (12)
    hold the points seen along it and the circle. The search starts at the point `near` (3).
    """
    _seen_along(P, s, flat)
    for j in range(12):
        plane[j] = 1.0 if j == 3 or j == 7 or j == 11 else 0.0
    for j in range(2):
        plane[j] = near[0] * s[3 + 3 * j] + near[1] * s[4 + 3 * j] + near[2] * s[5 + 3 * j]
    radius = press_one(DISC, OUTER, flat, plane, A, b, rho, e, index, sign, weight, info)
    for j in range(3):
        s[j] = plane[0] * s[3 + j] + plane[1] * s[6 + j]
    return radius


@kernel()
def _fill(boxes):
    """The first boxes. Rows: face, half-width, middle."""
    count = 0
    for face in range(3):
        for i in range(_PER):
            for j in range(_PER):
                boxes[count, 0] = face
                boxes[count, 1] = 1.0 / _PER
                boxes[count, 2] = (2 * i + 1.0) / _PER - 1.0
                boxes[count, 3] = (2 * j + 1.0) / _PER - 1.0
                count += 1
    return count


@kernel()
def _apart(s, state):
    """Angle between two axes, without their sense."""
    dot = abs(s[9] * state[9] + s[10] * state[10] + s[11] * state[11])
    x = s[10] * state[11] - s[11] * state[10]
    y = s[11] * state[9] - s[9] * state[11]
    z = s[9] * state[10] - s[10] * state[9]
    return math.atan2(math.sqrt(x * x + y * y + z * z), dot)


@kernel()
def _prove(P, half, state, level, slack, grow, budget, better):
    """Look through all directions. Returns the outcome, the least bound and the number of boxes seen."""
    n = P.shape[0]
    A, flatA = np.empty((4, n)), np.empty((2, n))
    b, rho, e, flat = np.empty(n), np.empty(n), np.empty(n), np.empty((n, 3))
    box, x = np.empty(4), np.empty(4)
    index, sign, weight, info = np.empty(6, np.int64), np.empty(6), np.empty(6), np.empty(2, np.int64)
    s, plane = np.empty(13), np.empty(12)
    boxes = np.empty((_STACK, 4))
    angle = _KEEP * 2.0 * math.atan(grow / (math.sqrt(2.0) * level)) if level > 0.0 else 0.0
    count = _fill(boxes)
    best = level - slack
    for row in range(count):
        _direct(boxes, row, s)
        radius = _radius(P, s, state, flat, plane, flatA, b, rho, e, index, sign, weight, info)
        if radius < best:
            best = radius
            for j in range(12):
                better[j] = s[j]
    if best < level - slack:
        return BETTER, level, count
    least = level
    for seen in range(count, budget):
        if count == 0:
            return PROVEN, least, seen
        count -= 1
        face, h, p, q = boxes[count]
        T = math.sqrt(2.0) * h
        _direct(boxes, count, s)
        if _apart(s, state) + T < angle:
            continue
        radius = _radius(P, s, state, flat, plane, flatA, b, rho, e, index, sign, weight, info)
        if radius < level - slack:
            for j in range(12):
                better[j] = s[j]
            return BETTER, least, seen
        slopes(TUBE, P, s, half, A)
        low = radius
        for i in range(n):
            rho[i] = math.hypot(flat[i, 0] - plane[0], flat[i, 1] - plane[1])
            low = min(low, rho[i])
        scale = radius - low if radius > low else 1.0
        for i in range(n):
            b[i] = (rho[i] - radius) / scale
        for j in range(4):
            box[j] = (3.0 * (radius + math.tan(T) * half) if j < 2 else math.tan(T) * half) / scale  # farther is worse
        bound = math.cos(T) * (radius + scale * least_max(A, b, False, box, x, index, sign, weight, e))
        if bound >= level - slack or h < _SMALL:
            least = min(least, bound)
            continue
        if count + 4 > _STACK:
            return OPEN, -math.inf, seen
        for corner in range(4):
            boxes[count, 0] = face
            boxes[count, 1] = 0.5 * h
            boxes[count, 2] = p + (0.5 if corner & 1 else -0.5) * h
            boxes[count, 3] = q + (0.5 if corner & 2 else -0.5) * h
            count += 1
    return OPEN, -math.inf, budget


@kernel()
def prove_axes(P, halves, states, levels, contacts, budget, outcome, bounds, better):
    """For each member: P (m, n, 3) about its base, half-lengths (m), states (m, 12) and radii (m) of the circumscribed
    cylinders, contacts (m, 6) in P. Fills outcome (m, 2): PROVEN, BETTER or OPEN and boxes seen; bounds (m); better
    (m, 12), a state that does better.
    """
    box, x = np.empty(4), np.empty(4)
    index, sign, weight = np.empty(6, np.int64), np.empty(6), np.empty(6)
    for m in range(P.shape[0]):
        slack = 1e-14 * (levels[m] + halves[m])
        grow = _growth(P[m], states[m], halves[m], levels[m], slack, contacts[m], box, x, index, sign, weight)
        outcome[m, 0], bounds[m], outcome[m, 1] = _prove(
            P[m], halves[m], states[m], levels[m], slack, grow, budget, better[m]
        )
