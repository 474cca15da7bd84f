"""Two-point (local) sizes from diametrically opposite points.

ISO 14405-1:2016: the distance of two opposite points through the middle of the section; here the sum of their two radii
about the least squares axis or centre.
"""

import numpy as np
import numpy.typing as npt

from ..core.arrays import Array
from ..core.frames import dot
from .features import Associated

#: Points count as opposite within this angle (3.4 degrees), and at one height within this part of the radius.
OPPOSITE_RAD = 0.06
SAME_HEIGHT = 0.1

Pairs = npt.NDArray[np.int64]


def two_point_sizes(points_mm: Array, feature: Associated, pairs: Pairs) -> Array:
    """Local sizes (..., m) mm of the `pairs` (m, 2) of points (..., n, 3)."""
    d = points_mm - feature.point_mm[..., None, :]
    if feature.direction is not None:
        w = feature.direction[..., None, :]
        d = d - dot(d, np.broadcast_to(w, d.shape))[..., None] * w
    rho = np.linalg.norm(d, axis=-1)
    return rho[..., pairs[:, 0]] + rho[..., pairs[:, 1]]


def opposite_points(points_mm: Array, feature: Associated) -> Pairs:
    """Index pairs (m, 2) of opposite points among (n, 3), the closest to opposite first, each point used once."""
    u, v, w = feature.nominal.frame()
    d = points_mm - feature.point_mm
    theta, height = np.arctan2(d @ v, d @ u), d @ w
    radius = float(np.hypot(d @ u, d @ v).mean())
    off = np.abs(np.angle(np.exp(1j * (theta[:, None] - theta - np.pi))))
    off[np.abs(height[:, None] - height) > SAME_HEIGHT * radius] = np.inf
    found: list[tuple[int, int]] = []
    used: set[int] = set()
    for flat in np.argsort(off, axis=None, kind="stable"):
        i, j = divmod(int(flat), len(off))
        if off[i, j] > OPPOSITE_RAD:
            break
        if i < j and not {i, j} & used:
            found.append((i, j))
            used |= {i, j}
    return np.array(sorted(found), dtype=np.int64).reshape(-1, 2)
