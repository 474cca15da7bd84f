"""Boxes of centres: which to begin with, and which need no bound."""

import math

import numpy as np

from ...core.compiled import kernel
from .round_state import ZONE

NEAR = 2.0  # half-width of the cube of near centres, in reaches of the points
_SLOT = 0.25  # half-width of the first far boxes


@kernel()
def inside(k, y, h, centre, half):
    """Whether the box lies within the cube."""
    for j in range(k):  # noqa: SIM110 - compiled
        if abs(y[j] - centre[j]) + h > half:
            return False
    return True


@kernel()
def outside(k, y, h, directions, supports):
    """Whether the box lies outside the hull of the points."""
    for i in range(supports.size):
        t = 0.0
        for j in range(k):
            t += y[j] * directions[i, j] - h * abs(directions[i, j])
        if t > supports[i]:
            return True
    return False


@kernel()
def cannot_hold(P, k, y, h, low, rho):
    """Whether no centre in the box can be the middle of an inscribed shape that cannot grow: the points that may touch
    it there are too few, or lie on one side. All points must be in P.
    """
    wide = h * math.sqrt(k)
    mean = np.zeros(3)
    count = 0
    for i in range(rho.size):
        if rho[i] <= low + 2.0 * wide:
            count += 1
            for j in range(k):
                mean[j] += P[i, j] - y[j]
    if count <= k:
        return True
    size = math.sqrt(mean[0] ** 2 + mean[1] ** 2 + mean[2] ** 2)
    for i in range(rho.size):
        if rho[i] <= low + 2.0 * wide:
            t = 0.0
            for j in range(k):
                t += (P[i, j] - y[j]) * mean[j]
            if t <= wide * size:
                return False
    return True


@kernel()
def fill(mode, k, reach, boxes):
    """The first boxes: the near cube (face -1) and, for a zone, the far ones. Rows: face, half-width, middle."""
    boxes[0, 0] = -1.0
    boxes[0, 1] = NEAR * reach
    for j in range(k):
        boxes[0, 2 + j] = 0.0
    count = 1
    if mode != ZONE:
        return count
    per = int(1.0 / _SLOT)
    for face in range(2 * k):
        for cell in range(per ** (k - 1)):
            boxes[count, 0] = face
            boxes[count, 1] = _SLOT
            boxes[count, 2] = _SLOT
            boxes[count, 3] = -1.0 + _SLOT * (2 * (cell % per) + 1)
            boxes[count, 4] = -1.0 + _SLOT * (2 * (cell // per) + 1)
            count += 1
    return count
