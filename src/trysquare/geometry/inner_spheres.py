"""Spherical sizes: the largest sphere between the sides of a feature, station by station (ISO 14405-1, LS)."""

from typing import Any

import numpy as np
import numpy.typing as npt

from ..core.arrays import Array, finite, points
from ..core.errors import InputError
from ..core.frames import dot
from .exchange import least_largest
from .sections import in_axis_frame
from .sizes import MODIFIERS, Size

_REACH = 1.5  # radii: points further along the axis cannot touch a sphere of any size of the feature
_PASSES = 40
_DIGITS = 1e-15  # of the radius: a smaller growth is none
_BOX = 4.0


def spherical_sizes(points_mm: npt.ArrayLike, fit: Any, heights_mm: npt.ArrayLike) -> Size:
    """Diameters (..., s) of the largest spheres inside a cylinder that hold no point, centred at heights of its axis.

    Parameters
    ----------
    points_mm : (..., n, 3) float, mm. Leading axes are trials.
    fit : CylinderFit of these points: the centre of a sphere is free in the plane across its axis.
    heights_mm : (s,) along the axis, from the reference point of `fit`

    Returns
    -------
    Size, local, with `heights_mm`. A place beyond the points, or where they leave half a turn free so that the sphere
    slips out, has none; `reasons` says which.

    Raises
    ------
    InputError : bad points or heights.

    Notes
    -----
    Between points the sphere bulges: the figure is that of the surface only where points lie closer than the square
    root of 8 radii times the error allowed. Method: the square of the distance is a linear programme about the centre
    found so far; each pass enlarges the sphere, and three contacts around it are the proof.
    """
    P = points(points_mm, where="spherical_sizes")
    H = finite(np.atleast_1d(np.asarray(heights_mm, dtype=np.float64)), where="spherical_sizes: heights")
    if H.ndim != 1:
        raise InputError("spherical_sizes", "the heights", "be (s,)", f"shape {H.shape}", "Give one row of heights.")
    across, along = in_axis_frame(P, fit)
    lead, n = P.shape[:-2], P.shape[-2]
    flat, height = across.reshape(-1, n, 2), along.reshape(-1, n)
    radius = np.asarray(fit.radius_mm, dtype=np.float64).reshape(-1)
    found = [_at(flat, height - z, radius) for z in H]
    return Size(
        modifier="LS", size_mm=np.stack([2 * r for r, _ in found], -1).reshape((*lead, len(H))), local=True,
        definition=MODIFIERS["LS"][1] + ", free across the least-squares axis",
        reasons=tuple(why for _, why in found), heights_mm=H,
        reason=found[0][1] if all(why for _, why in found) else "",
    )  # fmt: skip


def _at(across: Array, height: Array, radius: Array) -> tuple[Array, str]:
    """Radii (m,) at height 0, and why there is none."""
    good = np.flatnonzero(np.isfinite(height).all(-1))
    if not len(good):
        return np.full(len(height), np.nan), "not defined here: no cylinder was fitted"
    h = height[good[0]]
    if not h.min() <= 1e-9 * radius[good[0]] or not h.max() >= -1e-9 * radius[good[0]]:
        return np.full(len(height), np.nan), "not defined here: no points on one side of this height"
    near = np.abs(h) <= _REACH * radius[good[0]]
    sizes = np.full(len(height), np.nan)
    sizes[good], held = _largest(across[good][:, near], height[good][:, near], radius[good])
    if not held[0]:
        return np.full(len(height), np.nan), "not defined here: nothing on the other side holds the sphere"
    return sizes, ""


def _largest(across: Array, height: Array, radius: Array) -> tuple[Array, npt.NDArray[np.bool_]]:
    """Radii (m,) of the largest spheres about centres free across, and whether points hold them; NaN where not."""
    centre = np.zeros((len(across), 2))
    best = _touch(across, height, centre)
    held = np.zeros(len(across), bool)
    for _ in range(_PASSES):
        d = across - centre[:, None]
        square = (d * d).sum(-1) + height * height
        least = square.min(-1)
        scale = 2 * np.sqrt(least)
        rows = np.moveaxis(d / scale[:, None, None], -1, -2)
        found = least_largest(rows, (least[:, None] - square) / (scale * scale)[:, None], box=_BOX)
        trial = centre + 0.5 * scale[:, None] * found.x
        reached = _touch(across, height, trial)
        held = ~found.open & (np.hypot(*(trial.T)) < 0.5 * radius)
        better = reached > best * (1 + _DIGITS)
        centre, best = np.where(better[:, None], trial, centre), np.maximum(best, reached)
        if not (better & held).any():
            break
    return np.where(held, best, np.nan), held


def _touch(across: Array, height: Array, centre: Array) -> Array:
    """Radii (m,) of the spheres about centres that touch the nearest point."""
    d = across - centre[:, None]
    return np.sqrt((dot(d, d) + height * height).min(-1))
