"""Distance of the convex hulls of two sets of points, batched: the widest gap that two parallel planes find there.

Of all pairs of parallel planes with one set on either side, the furthest apart are as far as the hulls are (duality);
the nearest points of the hulls prove it.
"""

from itertools import combinations

import numpy as np
import numpy.typing as npt

from ...core.arrays import Array
from ...core.frames import dot

_PASSES = 200
_DIGITS = 1e-15  # of the size of the sets: a smaller gap to the bound, or gain, is none
_FLAT = 1e-24  # relative determinant below which points of a corner set lie in one line or plane
_FACES = [list(face) for k in (1, 2, 3, 4) for face in combinations(range(4), k)]


def hull_gap(A: Array, B: Array, start: Array) -> tuple[Array, Array]:
    """Unit normals (m, 3) from the hull of A (m, n, 3) to that of B (m, k, 3), and their distances (m,).

    `start` (m, 3) are the directions looked along first. Where the hulls meet the distance falls to about 0.

    Notes
    -----
    Method: E. G. Gilbert, D. W. Johnson, S. S. Keerthi, IEEE J. Robotics and Automation 4 (1988) 193, with every face
    of the corner set tried. Checked: tests/unit/test_sizes_width.py against SciPy's SLSQP.
    """
    size = np.abs(A).max((1, 2)) + np.abs(B).max((1, 2))
    v = _support(A, B, start)
    corners, used = np.repeat(v[:, None], 4, 1), np.zeros((len(A), 4), bool)
    used[:, 0] = True
    moving = np.ones(len(A), bool)
    for _ in range(_PASSES):
        i = np.flatnonzero(moving)
        far = _support(A[i], B[i], v[i])
        length = np.linalg.norm(v[i], axis=-1)
        slot = np.argmin(used[i], axis=-1)
        corners[i, slot], used[i, slot] = far, True
        nearest, kept = _nearest(corners[i], used[i])
        gain = length - np.linalg.norm(nearest, axis=-1)
        open_by = length - dot(v[i], far) / np.where(length > 0, length, 1.0)
        helps = gain > 0
        v[i] = np.where(helps[:, None], nearest, v[i])
        used[i] = np.where(helps[:, None], kept, used[i])
        moving[i] = (open_by > _DIGITS * size[i]) & (gain > 0.01 * _DIGITS * size[i])
        if not moving.any():
            break
    distance = np.linalg.norm(v, axis=-1)
    return v / np.where(distance > 0, distance, 1.0)[:, None], distance


def _support(A: Array, B: Array, direction: Array) -> Array:
    """The difference b - a (m, 3) that lies least far along the direction."""
    a = np.argmax(A @ direction[..., None], axis=1)
    b = np.argmin(B @ direction[..., None], axis=1)
    first, second = (np.take_along_axis(X, i[..., None], 1)[:, 0] for X, i in ((A, a), (B, b)))
    return second - first


def _nearest(corners: Array, used: npt.NDArray[np.bool_]) -> tuple[Array, npt.NDArray[np.bool_]]:
    """The point (m, 3) of the hull of up to four corners nearest 0, and the corners (m, 4) of the face it lies in."""
    m = len(corners)
    best, at, kept = np.full(m, np.inf), np.zeros((m, 3)), np.zeros((m, 4), bool)
    for face in _FACES:
        weights = _weights(corners[:, face])
        point = np.einsum("mk,mki->mi", weights, corners[:, face])
        length = np.where(used[:, face].all(-1) & (weights >= 0).all(-1), dot(point, point), np.inf)
        better = length < best
        best, at = np.where(better, length, best), np.where(better[:, None], point, at)
        mask = np.zeros(4, bool)
        mask[face] = True
        kept = np.where(better[:, None], mask, kept)
    return at, kept


def _weights(corners: Array) -> Array:
    """Weights (m, k), adding up to 1, of the point nearest 0 of the flat through corners (m, k, 3); -1 where flat."""
    k = corners.shape[1]
    if k == 1:
        return np.ones((len(corners), 1))
    E = corners[:, 1:] - corners[:, :1]
    G = E @ np.swapaxes(E, -1, -2)
    scale = np.trace(G, axis1=-2, axis2=-1)
    flat = ~(np.linalg.det(G) > _FLAT * scale ** (k - 1))
    G = np.where(flat[:, None, None], np.eye(k - 1), G)
    t = -np.linalg.solve(G, E @ corners[:, 0, :, None])[..., 0]
    weights = np.concatenate([1.0 - t.sum(-1, keepdims=True), t], -1)
    return np.where(flat[:, None], -1.0, weights)
