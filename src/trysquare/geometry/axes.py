"""Points as kernels want them, and which way an axis points."""

import numpy as np
import numpy.typing as npt

from ..core.arrays import Array, finite
from ..core.errors import InputError


def read_toward(toward: npt.ArrayLike | None, lead: tuple[int, ...], where: str) -> Array | None:
    """The wanted sense as (1 or m, 3), or None. Raises `InputError` for a wrong shape or a zero direction."""
    if toward is None:
        return None
    T = finite(np.asarray(toward, dtype=np.float64), where=f"{where}: toward")
    if T.shape not in ((3,), (*lead, 3)) or not np.abs(T).max(-1).all():
        raise InputError(
            where, "toward", "be one direction (3,) or one per trial (..., 3), of a length above 0",
            f"shape {T.shape}", "Give the direction that the normal or axis should follow.",
        )  # fmt: skip
    return np.ascontiguousarray(T.reshape(-1, 3))


def turned(axes: Array, toward: Array | None) -> Array:
    """Axes (m, 3) flipped to have no negative product with `toward`; without it the largest coordinate is positive."""
    if toward is None:
        sign = np.take_along_axis(axes, np.abs(axes).argmax(-1)[:, None], -1)[:, 0]
    else:
        sign = (axes * toward).sum(-1)
    return np.where(sign[:, None] < 0, -axes, axes)


def across(axes: Array) -> Array:
    """Frames (m, 3, 3) with rows u, v, w, right-handed, w along the unit axes (m, 3)."""
    least = np.eye(3)[np.abs(axes).argmin(-1)]
    u = np.cross(axes, least)
    u /= np.linalg.norm(u, axis=-1, keepdims=True)
    return np.stack([u, np.cross(axes, u), axes], 1)


def spatial(P: Array) -> Array:
    """Points (..., n, 3 or 2) as one contiguous batch (m, n, 3); those in a plane get z = 0."""
    flat = P.reshape(-1, *P.shape[-2:])
    if flat.shape[-1] == 2:
        flat = np.concatenate([flat, np.zeros((*flat.shape[:2], 1))], -1)
    return np.ascontiguousarray(flat)
