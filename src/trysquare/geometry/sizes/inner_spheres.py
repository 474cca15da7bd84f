"""Spherical sizes: the largest sphere between the sides of a feature, station by station (ISO 14405-1, LS).

The square of the distance from a centre to a point is linear about the centre found so far but for the square of the
step, which only helps: each pass solves a small linear programme exactly and enlarges the sphere, until contacts on all
sides of the centre hold it. That is the largest near there; across an axis the best of a few starts is taken. Between
points a sphere bulges: the figure is that of the surface where points lie closer than the square root of 8 radii times
the error allowed.
"""

from typing import Any

import numpy as np
import numpy.typing as npt

from ...core.arrays import Array, finite, points
from ...core.errors import InputError
from ...core.frames import dot, perpendicular
from ..zones.exchange import least_largest
from ..zones.results import local
from .parallel_pair import OppositePlanes, opposite_planes
from .results import MODIFIERS, Size
from .sections import in_axis_frame

_REACH = 1.5  # radii: points further off the plane in which the centre is free cannot touch
_PASSES = 40
_DIGITS = 1e-15  # of the radius: a smaller growth is none
_BOX = 256.0
_AROUND = 3
_LOST = 0.5  # radii: a centre that has moved further has slipped out
Found = tuple[Array, str]


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
    """
    P = points(points_mm, where="spherical_sizes")
    H = finite(np.atleast_1d(np.asarray(heights_mm, dtype=np.float64)), where="spherical_sizes: heights")
    if H.ndim != 1:
        raise InputError("spherical_sizes", "the heights", "be (s,)", f"shape {H.shape}", "Give one row of heights.")
    across, along = in_axis_frame(P, fit)
    lead, n = P.shape[:-2], P.shape[-2]
    free, height = across.reshape(-1, n, 2), along.reshape(-1, n)
    radius = np.broadcast_to(np.asarray(fit.radius_mm, dtype=np.float64), lead).reshape(-1)
    found = [_at_height(free, height - z, radius) for z in H]
    return _local(found, lead, "free across the least-squares axis", H, 1 + _AROUND)


def width_spherical_sizes(
    first_mm: npt.ArrayLike, second_mm: npt.ArrayLike, stations_mm: npt.ArrayLike, *,
    planes: OppositePlanes | None = None,
) -> Size:  # fmt: skip
    """Diameters (..., s) of the largest spheres between two opposite faces that hold no point, at stations.

    Parameters
    ----------
    first_mm, second_mm : (..., n, 3) and (..., k, 3) float, mm; leading axes alike, trials
    stations_mm : (s, 3) mm: the centre of a sphere is free on the line through it across the least-squares mid-plane.
    planes : the GG planes of these points, where they are at hand

    Returns
    -------
    Size, local. A station beside one of the faces has none.

    Raises
    ------
    InputError, RankError : as `opposite_planes`.
    """
    where = "width_spherical_sizes"
    planes = planes or opposite_planes(first_mm, second_mm, "GG")
    P = np.concatenate([points(face, where=where) for face in (first_mm, second_mm)], -2)
    S = points(stations_mm, where=f"{where}: stations")
    lead, n = P.shape[:-2], P.shape[-2]
    normal = np.broadcast_to(planes.normal, (*lead, 3)).reshape(-1, 3)
    u, v = (axis[:, None, :] for axis in perpendicular(normal))
    flat, middle = P.reshape(-1, n, 3), np.broadcast_to(planes.point_mm, (*lead, 3)).reshape(-1, 3)
    free = dot(flat - middle[:, None], normal[:, None])[..., None]
    radius = 0.5 * np.broadcast_to(planes.width_mm, lead).reshape(-1)
    found = [_beside(free, np.stack([dot(flat - s, u), dot(flat - s, v)], -1), radius) for s in S]
    return _local(found, lead, "free across the least-squares mid-plane", None, 1)


def _local(found: list[Found], lead: tuple[int, ...], words: str, heights: Array | None, starts: int) -> Size:
    reasons = tuple(why for _, why in found)
    return Size(
        modifier="LS", size_mm=np.stack([2 * r for r, _ in found], -1).reshape((*lead, len(found))), local=True,
        definition=f"{MODIFIERS['LS'][1]}, {words}", reasons=reasons, heights_mm=heights,
        reason=reasons[0] if all(reasons) else "", proof=local(starts),
    )  # fmt: skip


def _at_height(free: Array, height: Array, radius: Array) -> Found:
    """Radii (m,) at height 0 of a cylinder, and why there is none."""
    good = _first(height)
    if good is None:
        return np.full(len(height), np.nan), "not defined here: no cylinder was fitted"
    h, digits = height[good], 1e-9 * radius[good]
    if h.min() > digits or h.max() < -digits:
        return np.full(len(height), np.nan), "not defined here: no points on one side of this height"
    return _held(free, height * height, radius, good)


def _beside(free: Array, across: Array, radius: Array) -> Found:
    """Radii (m,) on the line at 0 across two faces, and why there is none."""
    good = _first(free[..., 0])
    if good is None:
        return np.full(len(free), np.nan), "not defined here: no planes were fitted"
    for side in (free[good, :, 0] < 0, free[good, :, 0] > 0):
        if not _surrounded(across[good][side]):
            return np.full(len(free), np.nan), "not defined here: beside one of the faces"
    return _held(free, dot(across, across), radius, good)


def _first(values: Array) -> int | None:
    """The first member (of m, n) that is known."""
    good = np.flatnonzero(np.isfinite(values).all(-1))
    return int(good[0]) if len(good) else None


def _surrounded(d: Array) -> bool:
    """Whether points (n, 2) lie on all sides of 0, or on it."""
    scale = np.abs(d).max(initial=0.0)
    if not scale > 0:
        return bool(len(d))
    found = least_largest(d.T[None] / scale, np.zeros((1, len(d))), box=1.0)
    return bool(found.levels[0] > -1e-9)


def _held(free: Array, off: Array, radius: Array, first: int) -> Found:
    """Radii (m,), NaN in members where no sphere is held; a reason where that is so for the first."""
    near = off[first] <= (_REACH * radius[first]) ** 2
    good = np.isfinite(free).all((-1, -2))
    sizes = np.full(len(free), np.nan)
    sizes[good], held = _largest(free[good][:, near], off[good][:, near], radius[good])
    if not held[0]:
        return np.full(len(free), np.nan), "not defined here: nothing on the other side holds the sphere"
    return sizes, ""


def _largest(free: Array, off: Array, radius: Array) -> tuple[Array, npt.NDArray[np.bool_]]:
    """Radii (m,) of the largest spheres, and whether points hold them; NaN where not. The best of a few starts.

    `free` (m, n, d) are the coordinates in which the centre may move, from 0; `off` (m, n) the squares of the rest.
    """
    distance = np.sqrt(dot(free, free) + off)
    form = (np.minimum(distance.max(-1), _REACH * radius) - distance.min(-1))[:, None]
    best, held = np.full(len(free), -np.inf), np.zeros(len(free), bool)
    for start in _starts(free.shape[-1]):
        size, fixed = _climb(free, off, radius, form * start)
        better = fixed & (size > best)
        best, held = np.where(better, size, best), held | fixed
    return np.where(held, best, np.nan), held


def _starts(d: int) -> Array:
    """Centres to start from (k, d), in parts of the form: the middle, and around it where there is a way round."""
    if d == 1:
        return np.zeros((1, 1))
    turn = np.arange(_AROUND) * (2 * np.pi / _AROUND)
    return np.concatenate([np.zeros((1, 2)), 0.5 * np.column_stack([np.cos(turn), np.sin(turn)])])


def _climb(free: Array, off: Array, radius: Array, start: Array) -> tuple[Array, npt.NDArray[np.bool_]]:
    """Radii (m,) and whether points hold them, upward from centres (m, d)."""
    centre = start
    best, held = _touch(free, off, centre), np.zeros(len(free), bool)
    for _ in range(_PASSES):
        d = free - centre[:, None]
        square = dot(d, d) + off
        least = square.min(-1)
        scale = 2 * np.sqrt(least)
        rows = np.moveaxis(d / scale[:, None, None], -1, -2)
        found = least_largest(rows, (least[:, None] - square) / (scale * scale)[:, None], box=_BOX)
        trial = centre + 0.5 * scale[:, None] * found.x
        reached = _touch(free, off, trial)
        held = ~found.open & (np.linalg.norm(trial, axis=-1) < _LOST * radius)
        better = reached > best * (1 + _DIGITS)
        centre, best = np.where(better[:, None], trial, centre), np.maximum(best, reached)
        if not (better & held).any():
            break
    return best, held


def _touch(free: Array, off: Array, centre: Array) -> Array:
    """Radii (m,) of the spheres about centres that touch the nearest point."""
    d = free - centre[:, None]
    return np.sqrt((dot(d, d) + off).min(-1))
