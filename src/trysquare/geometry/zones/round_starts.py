"""Where a round minimax search starts: least-squares shapes and principal axes of some of the points."""

import numpy as np

from ...core.arrays import Array
from ...core.frames import perpendicular
from ..kernels.round_scan import residuals
from ..kernels.round_state import BALL, DISC, TUBE
from ..kernels.shapes import BALL as SPHERE
from ..kernels.shapes import RING
from ..kernels.shapes import TUBE as CYLINDER
from ..least_squares.descent import descend_batch

_SHAPE = {DISC: RING, BALL: SPHERE, TUBE: CYLINDER}


def still(centres: Array) -> Array:
    """States (m, 12) at the centres (m, 3) with the frame of the coordinates."""
    return np.concatenate([centres, np.broadcast_to(np.eye(3).ravel(), (len(centres), 9))], 1)


def along(centres: Array, axes: Array) -> Array:
    """States (m, 12) at the points (m, 3) with the unit axes (m, 3)."""
    u, v = perpendicular(axes)
    return np.concatenate([centres, u, v, axes], 1)


def least_squares(kind: int, few: Array, toward: Array | None = None) -> Array:
    """States (m, 12) of the least-squares shapes of the points (m, n, 3); about the centroid where there is none."""
    done = descend_batch(_SHAPE[kind], few, toward)
    states = done.states[:, :12].copy()
    bad = ~np.isfinite(states).all(1)
    if kind != TUBE:
        states[:, 3:] = np.eye(3).ravel()
    states[bad] = principal(few[bad])[0] if kind == TUBE else still(few[bad].mean(1))
    return states


def principal(few: Array) -> list[Array]:
    """States (m, 12) through the centroid along each of the principal axes of the points, longest first."""
    centres = few.mean(1)
    d = few - centres[:, None]
    d = d / np.maximum(np.abs(d).max((1, 2), keepdims=True), 1e-300)
    axes = np.swapaxes(np.linalg.eigh(np.einsum("mni,mnj->mij", d, d))[1], -1, -2)
    return [along(centres, np.ascontiguousarray(axes[:, k])) for k in (2, 1, 0)]


def trimmed(kind: int, few: Array, toward: Array | None = None) -> list[Array]:
    """States of the least-squares shapes of the three quarters of the points that lie best on that of all points, and
    on that of the three quarters nearest their middle: a stray point drags neither.
    """
    middle = np.median(few, axis=1, keepdims=True)
    central = least_squares(kind, _nearest(few, np.linalg.norm(few - middle, axis=-1), kind), toward)
    starts = []
    for states in (least_squares(kind, few, toward), central):
        d, zero = np.empty(few.shape[:2]), np.zeros((len(few), 3))
        for _ in range(2):
            residuals(kind, few, zero, np.ascontiguousarray(states), zero[:, 0], d)
            off = np.abs(d - np.median(d, axis=1, keepdims=True))
            states = least_squares(kind, _nearest(few, off, kind), toward)
        starts.append(np.ascontiguousarray(states))
    return starts


def _nearest(few: Array, off: Array, kind: int) -> Array:
    """The three quarters of the points (m, c, 3) that are least off (m, n), in their order."""
    n = few.shape[1]
    keep = min(n, max(n - n // 4, kind + 1))
    best = np.sort(np.argsort(off, axis=1, kind="stable")[:, :keep], axis=1)
    return np.take_along_axis(few, best[:, :, None], 1)
