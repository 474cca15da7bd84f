"""Orientation: the tilt of a feature against its datum system, as a signed vector before folding.

ISO 1101:2017, 18.9 to 18.11: the zone may still turn about every rotation that the datums leave open, so only the part
of the tilt that no open rotation can take away counts.
"""

import numpy as np

from ..core.arrays import Array
from ..core.frames import perpendicular
from .features import Associated

#: Open turns that move a direction by less than this part of a radian per radian do not reach it: datum features are
#: square to each other only as well as they were made.
_REACHED = 1e-2


def locked_directions(direction: Array, open_turns: Array) -> Array:
    """Directions (k, 3), k = 0, 1 or 2, normal to `direction` (3,), in which the datums hold it.

    A turn about `a` moves the direction along a x direction; what all open turns (m, 3) can reach is not held. The
    answer hangs on what the turns span, not on how they are written: batches of draws agree on it to the last sign.
    """
    basis = np.stack(perpendicular(direction))
    reach = np.cross(open_turns, direction) @ basis.T
    values, vectors = np.linalg.eigh(reach.T @ reach)
    reached = int((values > _REACHED**2).sum())
    if reached != 1:
        return basis[reached:]
    held = vectors[:, 0]
    return np.sign(held[np.abs(held).argmax()]) * held[None] @ basis


def tilt(feature: Associated, locked: Array) -> Array:
    """Tilt components (..., k), rad, of the feature's direction along the `locked` directions, in the datum frame."""
    nominal = feature.nominal.direction
    if feature.direction is None or nominal is None:
        raise ValueError("a feature without a direction has no orientation")
    w = feature.direction / (feature.direction @ nominal)[..., None]
    return w @ locked.T


def axis_deviation(feature: Associated, locked: Array, length_mm: float) -> Array:
    """How far the two ends of an axis of `length_mm` lie apart across the zone, (..., k) mm; its length is the zone."""
    return length_mm * tilt(feature, locked)
