"""Proof that no other centre of a circle or sphere does better: lower bounds over boxes that cover all centres.

Near the optimum the first-order growth of what is made small outweighs the curvature of the distances: a cube about it
is proven at once. All else is cut into boxes; in each the linear problem at its middle (`least_max`), less what
curvature can take away, is a bound. Far centres are written as (1, s) / k, k down to 0: a straight strip.
"""

import math

import numpy as np

from ...core.compiled import kernel
from .least_max import least_max
from .round_boxes import NEAR, cannot_hold, fill, inside, outside
from .round_charts import far, near
from .round_state import INNER, ZONE

PROVEN, BETTER, OPEN = range(3)
_CURVE = 4.0 * math.sqrt(2.0) / 3.0  # bound of the second derivatives of a far distance, in reaches, at k = 0
_STACK = 1024
_SMALL = 1e-6  # least half-width of a box
_ABOUT = 30.0  # half-widths about the optimum in which boxes that small are its own
_SURE = 0.02  # half-width, in reaches, of a box whose middle is worth following for an inscribed shape
_KEEP = 0.999  # part of the proven cube that is used


@kernel()
def _bound(mode, k, half, low, high, rho, A, b, box, x, index, sign, weight, e):
    """Least of the linear problem over the box: of the width, or of minus the radius."""
    p = A.shape[0]
    n = rho.size
    middle = 0.5 * (low + high)
    scale = 0.5 * (high - low)
    if not scale > 0.0:
        return 0.0 if mode == ZONE else -low
    steepest = 0.0
    for i in range(n):
        b[i] = (rho[i] - middle) / scale if mode == ZONE else (middle - rho[i]) / scale
        for j in range(k):
            steepest = max(steepest, abs(A[j, i]))
            if mode == INNER:
                A[j, i] = -A[j, i]
        if mode == ZONE:
            A[k, i] = -1.0
    for j in range(p):  # no radius beyond that of the last makes the most less
        box[j] = half / scale if j < k else 2.0 + k * steepest * half / scale
    level = least_max(A, b, mode == ZONE, box, x, index, sign, weight, e)
    return 2.0 * scale * level if mode == ZONE else scale * level - middle


@kernel()
def growth(mode, k, A, contacts, sides, box, x, index, sign, weight):
    """Least growth of the linear problem, with the contacts alone, per unit of the largest coordinate of a step."""
    p = A.shape[0]
    q = 0
    G = np.zeros((p, 6))
    for i in range(contacts.size):
        if contacts[i] >= 0:
            for j in range(k):
                G[j, q] = sides[i] * A[j, contacts[i]]
            if mode == ZONE:
                G[k, q] = -sides[i]
            q += 1
    if q < 2:
        return 0.0
    R = np.empty((p, q))
    b, room = np.empty(q), np.empty(q)
    size = 0.0
    for i in range(q):
        for j in range(p):
            R[j, i] = G[j, i]
            if j < k:
                size = max(size, abs(G[j, i]))
    if not size > 0.0:
        return 0.0
    least = 1e300
    for i in range(q):
        for j in range(k):
            R[j, i] /= size
    for face in range(2 * k):
        for i in range(q):
            b[i] = R[face // 2, i] * (1.0 if face % 2 else -1.0)
        for j in range(p):
            box[j] = 0.0 if j == face // 2 else (1.0 if j < k else 8.0)
        least = min(least, least_max(R, b, False, box, x, index, sign, weight, room))
    return least * size if least > 1e-9 else 0.0


@kernel()
def off_level(mode, rho, low, high, target, contacts, sides):
    """How far the worst contact is from touching the shape that makes `target` small, in terms of that."""
    worst = 0.0
    for i in range(contacts.size):
        if contacts[i] >= 0:
            d = rho[contacts[i]]
            if mode == ZONE:
                worst = max(worst, target - 2.0 * sides[i] * (d - 0.5 * (low + high)))
            else:
                worst = max(worst, target + d if mode == INNER else target - d)
    return worst


@kernel()
def _proven(mode, k, reach, grow, centre, level, is_far):
    """Half-width of the cube about the optimum in which growth outweighs curvature."""
    if not is_far:
        return _KEEP * (4.0 if mode == ZONE else 2.0) * grow * level / k
    half = 0.0
    for _ in range(4):
        top = min(0.5, centre[0] + 2.0 * half) if half > 0.0 else 0.5
        curve = _CURVE * reach / (1.0 - top) ** 2
        allowed = 2.0 * grow / (curve * k)
        half = min(allowed, 2.0 * half) if half > 0.0 else allowed
    return _KEEP * half


@kernel()
def _state(k, reach, face, y, better):
    """The centre better (3) in the middle of a box."""
    for j in range(k):
        better[j] = y[j]
    if face >= 0:
        better[face // 2] = (-1.0 if face % 2 else 1.0) * reach / y[0]
        for j in range(1, k):
            better[(face // 2 + j) % k] = y[j] * reach / y[0]


@kernel()
def _search(mode, k, P, reach, centre, is_far, target, slack, half, directions, supports, complete, budget, better):
    """Look through all boxes. Returns the outcome, the least bound found and the number of boxes seen.

    `centre` is that of the proven cube, in near or far coordinates, and `half` its half-width; `better` (3) is set to a
    centre that does better than `target`, when there is one.
    """
    n = P.shape[0]
    p = k + 1 if mode == ZONE else k
    A = np.empty((p, n))
    rho, b, e = np.empty(n), np.empty(n), np.empty(n)
    box, x = np.empty(p), np.empty(p)
    index, sign, weight = np.empty(6, np.int64), np.empty(6), np.empty(6)
    boxes = np.empty((_STACK, 5))
    y = np.empty(3)
    count = fill(mode, k, reach, boxes)
    least = target
    for seen in range(budget):
        if count == 0:
            return PROVEN, least, seen
        count -= 1
        face = int(boxes[count, 0])
        h = boxes[count, 1]
        for j in range(3):
            y[j] = boxes[count, 2 + j]
        here = is_far == (face == 0) and (face <= 0)
        if here and inside(k, y, h, centre, half):
            continue
        if face < 0:
            if mode == INNER and outside(k, y, h, directions, supports):
                continue
            low, high = near(P, k, y, rho, A)
            value = high - low if mode == ZONE else -low
            rough = value - (2.0 if mode == ZONE else 1.0) * h * math.sqrt(k)
            loss = k * h * h / (2.0 * low) if low > 0.0 else math.inf
        else:
            low, high = far(P, k, reach, face, y, rho, A)
            value = high - low
            rough = -math.inf
            loss = _CURVE * reach / (1.0 - min(0.5, y[0] + h)) ** 2 * k * h * h
        sure = True
        if mode == INNER:
            if complete and cannot_hold(P, k, y, h, low, rho):
                continue
            sure = not outside(k, y, 0.0, directions, supports) and (h < _SURE * reach or not complete)
        if value < target - slack and sure:
            _state(k, reach, face, y, better)
            return BETTER, least, seen
        if rough >= target - slack:
            least = min(least, rough)
            continue
        bound = rough
        if loss < math.inf:
            bound = max(rough, _bound(mode, k, h, low, high, rho, A, b, box, x, index, sign, weight, e) - loss)
        if bound >= target - slack:
            least = min(least, bound)
            continue
        if h < _SMALL * (reach if face < 0 else 1.0):
            if half > 0.0 or not here or not inside(k, y, h, centre, _ABOUT * h):  # perhaps another, as good one
                _state(k, reach, face, y, better)
                return BETTER, least, seen
            least = min(least, bound)
            continue
        if count + 8 > _STACK:
            return OPEN, -math.inf, seen
        for corner in range(2**k):
            boxes[count, 0] = face
            boxes[count, 1] = 0.5 * h
            for j in range(k):
                boxes[count, 2 + j] = y[j] + (0.5 if corner >> j & 1 else -0.5) * h
            count += 1
    return OPEN, -math.inf, budget


@kernel()
def prove(
    mode,
    k,
    P,
    reach,
    centres,
    targets,
    contacts,
    sides,
    directions,
    supports,
    complete,
    budget,
    outcome,
    bounds,
    better,
):
    """For each member: P (m, n, 3) about a point within `reach` (m) of all, centre (m, 3) and what it makes small,
    targets (m); contacts and sides (m, 6) index P; `complete` when P are all points. A centre beyond twice the reach
    must lie on the first axis.

    Fills outcome (m, 2): PROVEN, BETTER or OPEN and the boxes seen; bounds (m); better (m, 3).
    """
    n = P.shape[1]
    p = k + 1 if mode == ZONE else k
    A = np.empty((p, n))
    rho, box, x = np.empty(n), np.empty(p), np.empty(p)
    index, sign, weight = np.empty(6, np.int64), np.empty(6), np.empty(6)
    y = np.empty(3)
    for m in range(P.shape[0]):
        is_far = abs(centres[m, 0]) > NEAR * reach[m] and mode == ZONE
        low, high = near(P[m], k, centres[m], rho, A)
        near_low = low
        for j in range(3):
            y[j] = centres[m, j]
        if is_far:
            y[0] = reach[m] / centres[m, 0]
            y[1] = y[2] = 0.0
            low, high = far(P[m], k, reach[m], 0, y, rho, A)
        grow = growth(mode, k, A, contacts[m], sides[m], box, x, index, sign, weight)
        half = _proven(mode, k, reach[m], grow, y, near_low, is_far)
        slack = (1e-10 * targets[m] if mode == ZONE else 0.0) + 1e-14 * near_low
        off = off_level(mode, rho, low, high, targets[m], contacts[m], sides[m])
        if off > slack:  # the contacts prove nothing
            half = off = 0.0
        outcome[m, 0], least, outcome[m, 1] = _search(
            mode,
            k,
            P[m],
            reach[m],
            y,
            is_far,
            targets[m],
            slack,
            half,
            directions,
            supports[m],
            complete,
            budget,
            better[m],
        )
        bounds[m] = min(least, targets[m] - off)
