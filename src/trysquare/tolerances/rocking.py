"""Seats of a plane that rocks: all planes on which a convex datum feature can stand.

A part stands on that facet of the outer hull of its datum feature over which the force on it acts. Where it acts is not
on the drawing; here anywhere over the outline of the points drawn in to a third about its middle (declared reading;
ASME Y14.5.1M-1994 bars contacts that all lie within one outer third, from memory).
"""

import numpy as np
import numpy.typing as npt

from ..core.arrays import Array
from .nominal import Nominal

#: Hull facets whose normals agree to this are one.
_SAME = 1e-9


def stable_seats(points_mm: Array, nominal: Nominal) -> Array:
    """The points (k, n, 3) laid flat on each plane on which the feature can stand; points (n, 3) mm, in the part frame.

    Facets of the hull on the outer side, within 60 degrees of the nominal normal, whose shadow along it meets the
    outline of the points drawn in to a third. k = 0 for points on one line.
    """
    from scipy.spatial import ConvexHull, QhullError

    u, v, w = nominal.frame()
    middle = points_mm.mean(0)
    try:
        hull = ConvexHull(np.vstack([points_mm, _far_below(points_mm, w)]))
    except QhullError:
        return np.zeros((0, *points_mm.shape))
    outer = (hull.equations[:, :3] @ w > 0.5) & (hull.simplices < len(points_mm)).all(1)
    across = np.stack([u, v], -1)
    triangles, inner = (
        (points_mm[hull.simplices[outer]] - middle) @ across,
        _middle_third((points_mm - middle) @ across),
    )
    planes = hull.equations[outer][_meets(triangles, inner)]
    kept = _different(planes)
    gaps = points_mm @ kept[:, :3].T + kept[:, 3]
    return points_mm - gaps.T[..., None] * kept[:, None, :3]


def _far_below(points: Array, w: Array) -> Array:
    """One point deep in the material, so that flat features have a hull."""
    depth = 10.0 * float(np.ptp(points, axis=0).max())
    return points.mean(0) - depth * w


def _middle_third(flat: Array) -> Array:
    """Corners (m, 2) of the outline of points (n, 2), drawn in to a third about the middle of its area."""
    from scipy.spatial import ConvexHull

    outline = flat[ConvexHull(flat).vertices]
    after = np.roll(outline, -1, axis=0)
    twice = outline[:, 0] * after[:, 1] - outline[:, 1] * after[:, 0]
    middle = ((outline + after) * twice[:, None]).sum(0) / (3.0 * twice.sum())
    return np.asarray(middle + (outline - middle) / 3.0)


def _meets(triangles: Array, inner: Array) -> npt.NDArray[np.bool_]:
    """Which triangles (m, 3, 2) have an inner point in common with a convex outline (k, 2): no axis separates them."""
    own, fixed = _across(triangles), _across(inner)
    axes = np.concatenate([own, np.broadcast_to(fixed, (len(triangles), *fixed.shape))], axis=1)
    t, b = np.einsum("mij,maj->mai", triangles, axes), np.einsum("ij,maj->mai", inner, axes)
    apart = (t.max(-1) <= b.min(-1)) | (b.max(-1) <= t.min(-1))
    return np.asarray(~apart.any(1))


def _across(corners: Array) -> Array:
    """Directions (..., k, 2) square to the edges of outlines (..., k, 2)."""
    edges = np.roll(corners, -1, axis=-2) - corners
    return np.stack([-edges[..., 1], edges[..., 0]], -1)


def _different(planes: Array) -> Array:
    """The planes (k, 4), each once, however many triangles its facet was cut into."""
    kept: list[Array] = []
    for plane in planes:
        if all(np.abs(plane[:3] - other[:3]).max() > _SAME for other in kept):
            kept.append(plane)
    return np.array(kept).reshape(-1, 4)
