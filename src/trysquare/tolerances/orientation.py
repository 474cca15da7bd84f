"""Orientation: the tilt of a feature against its datum system, as a signed vector before folding.

ISO 1101:2017, 18.9 to 18.11: the zone may still turn about every rotation that the datums leave open, so only the part
of the tilt that no open rotation can take away counts.
"""

import numpy as np

from ..core.arrays import Array
from ..core.frames import perpendicular
from .features import Associated


def locked_directions(direction: Array, open_turns: Array) -> Array:
    """Directions (k, 3), k = 0, 1 or 2, normal to `direction` (3,), in which the datums hold it.

    A turn about `a` moves the direction along a x direction; what all open turns (m, 3) can reach is not held.
    """
    u, v = perpendicular(direction)
    basis = np.stack([u, v])
    reach = np.cross(open_turns, direction) @ basis.T
    if len(reach) == 0:
        return basis
    _, s, Vt = np.linalg.svd(reach, full_matrices=True)
    return Vt[int((s > 1e-3).sum()) :] @ basis


def tilt(feature: Associated, locked: Array, *, where: Array | None = None) -> Array:
    """Tilt components (..., k), rad, of the feature's direction along the `locked` directions, in the datum frame."""
    nominal = feature.nominal.direction if where is None else where
    if feature.direction is None or nominal is None:
        raise ValueError("a feature without a direction has no orientation")
    w = feature.direction / (feature.direction @ nominal)[..., None]
    return w @ locked.T


def axis_deviation(feature: Associated, locked: Array, length_mm: float) -> Array:
    """How far the two ends of an axis of `length_mm` lie apart across the zone, (..., k) mm; its length is the zone."""
    return length_mm * tilt(feature, locked)
