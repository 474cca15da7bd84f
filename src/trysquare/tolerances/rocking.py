"""Seats of a plane that rocks: all planes on which a convex datum feature can stand.

A part stands on that facet of the outer hull of its datum feature over which the force on it acts. Where it acts is not
on the drawing; here anywhere over the outline of the points drawn in to a third about its middle (declared reading;
ASME Y14.5.1M-1994 bars contacts that all lie within one outer third, from memory).
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..core.arrays import Array
from .nominal import Nominal

#: Hull facets whose normals agree to this are one.
_SAME = 1e-9


#: A crown counts from this many of its standard uncertainties (common practice, no source).
CLEARLY = 3.0


@dataclass(frozen=True)
class Crown:
    """How far the middle of a plane stands out over its edges in the direction where that is most; `u_mm` of it."""

    height_mm: float
    u_mm: float

    @property
    def clear(self) -> bool:
        """Whether it stands out beyond doubt."""
        return self.height_mm > CLEARLY * self.u_mm


def crown(points_mm: Array, errors_mm: Array, nominal: Nominal) -> Crown | None:
    """The crown of a plane from points (n, 3) mm near the part frame and errors (M, n) of their heights.

    A surface of second order is laid through the heights by least squares; its crown is read at the edge of the points'
    extent. Its uncertainty is the larger of what the errors and what the rest of the residuals make of it. None where
    the points do not carry such a surface with something left over.
    """
    u, v, w = nominal.frame()
    d = points_mm - points_mm.mean(0)
    xy = d @ np.stack([u, v], -1)
    xy = xy / np.maximum(np.abs(xy).max(0), 1e-300)
    x, y = xy.T
    M = np.column_stack([np.ones(len(x)), x, y, x * x, x * y, y * y])
    if len(M) <= 6 or np.linalg.cond(M) > 1e6:
        return None
    lay, heights = np.linalg.pinv(M), d @ w
    bend = lay[3:] @ heights
    values, vectors = np.linalg.eigh(np.array([[bend[0], bend[1] / 2], [bend[1] / 2, bend[2]]]))
    a, b = vectors[:, 0]
    along = np.array([a * a, a * b, b * b]) @ lay[3:]  # the crown as a sum over the heights
    left = heights - M @ (lay @ heights)
    by_rest = np.sqrt(left @ left / (len(M) - 6)) * np.linalg.norm(along)
    return Crown(float(-values[0]), float(max(by_rest, (errors_mm @ along).std())))


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
