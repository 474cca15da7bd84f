"""Sections of a cylinder: which points lie at one height of its axis, and their profiles in the plane across it."""

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from ...core.arrays import Array, finite, points
from ...core.errors import InputError

_TALL = 5.0
Index = npt.NDArray[np.int64]


@dataclass(frozen=True)
class Sections:
    """`heights_mm` (s,) along the axis from its reference point, and the points of each as indices.

    Found once, on the value; draws use the same.
    """

    heights_mm: Array
    members: tuple[Index, ...]


def find_sections(
    points_mm: npt.ArrayLike, fit: Any, *, within_mm: float, heights_mm: npt.ArrayLike | None = None, least: int = 3
) -> Sections:
    """Find sections perpendicular to the axis of an associated cylinder (ISO 14405-1, any or a specific cross section).

    Parameters
    ----------
    points_mm : (..., n, 3) float, mm
        The first member with a fit sets the sections.
    fit : CylinderFit, or any feature with `point_mm` and `direction`
    within_mm : float > 0
        With `heights_mm` the half thickness of a slice. Without, rings: a new section begins where the next point up
        the axis is further than this.
    heights_mm : (s,), optional
        Heights along the axis, from the reference point of `fit`.
    least : sections with fewer points are dropped.

    Raises
    ------
    InputError : bad numbers, or no heights for points that do not lie in rings.
    """
    P = points(points_mm, where="find_sections")
    if not within_mm > 0:
        raise InputError("find_sections", "within", "be above 0 mm", f"{within_mm} mm", "Give the reach of a section.")
    h = _heights(P, fit)
    if heights_mm is None:
        order = np.argsort(h, kind="stable")
        groups = np.split(order, np.flatnonzero(np.diff(h[order]) > within_mm) + 1)
        _rings(h, groups, within_mm)
        wanted = [float(h[group].mean()) for group in groups]
    else:
        stations = finite(np.atleast_1d(np.asarray(heights_mm, dtype=np.float64)), where="find_sections: heights")
        wanted = [float(z) for z in stations]
        groups = [np.flatnonzero(np.abs(h - z) <= within_mm) for z in wanted]
    kept = [(z, np.asarray(group, dtype=np.int64)) for z, group in zip(wanted, groups) if len(group) >= least]
    return Sections(np.array([z for z, _ in kept]), tuple(group for _, group in kept))


def _rings(h: Array, groups: list[Index], within: float) -> None:
    """Raise where points climb the axis without a gap: a scan, which has no rings."""
    tallest = max(float(np.ptp(h[group])) for group in groups)
    if tallest > _TALL * within:
        raise InputError(
            "find_sections", "the points", f"lie in rings, each less than {_TALL:g} times {within:g} mm high",
            f"{tallest:.3g} mm without a gap", "Give the heights of the sections.",
        )  # fmt: skip


def _heights(P: Array, fit: Any) -> Array:
    """Heights (n,) along the axis, of the first member that has a fit."""
    height = in_axis_frame(P, fit)[1].reshape(-1, P.shape[-2])
    good = np.flatnonzero(np.isfinite(height).all(-1))
    return height[good[0] if len(good) else 0]


def in_axis_frame(P: Array, fit: Any) -> tuple[Array, Array]:
    """Coordinates across the axis (..., n, 2) and heights along it (..., n).

    The frame turns with the axis by the shortest way, so that nearby draws have nearby coordinates.
    """
    w = np.asarray(fit.direction, dtype=np.float64)
    frame = _steady(w)
    d = P - np.asarray(fit.point_mm)[..., None, :]
    local = d @ np.swapaxes(frame, -1, -2)
    return local[..., :2], local[..., 2]


def _steady(w: Array) -> Array:
    """Frames (..., 3, 3), rows u, v, w, that change smoothly with w near its first member."""
    first = w.reshape(-1, 3)
    good = first[np.isfinite(first).all(-1)]
    axis = np.argmin(np.abs(good[0])) if len(good) else 0
    u = np.eye(3)[axis] - w[..., axis, None] * w
    u = u / np.linalg.norm(u, axis=-1, keepdims=True)
    return np.stack([u, np.cross(w, u), w], -2)
