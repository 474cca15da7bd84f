"""Calculated sizes: diameters from the circumference and area of closed sections, and from the volume over a length."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ...core.arrays import Array

_NODES = 6  # per gap between points, for the length of the curve
_FEW = 6  # points: half of them would be no profile


@dataclass(frozen=True)
class ProfileSize:
    """`area_mm2` (...), `length_mm` (...) of closed profiles, and `length_doubt` (...): by what share the length for
    its area changes when every second point is left out (those whose loss matters less). Next to nothing on a smooth
    profile, much on a rough one, whose circumference grows with the number of points.
    """

    area_mm2: Array
    length_mm: Array
    length_doubt: Array


def area_and_circumference(profile: Array, center: Array) -> ProfileSize:
    """Area and circumference of closed profiles (..., k, 2) about centres (..., 2).

    Radius and angle are closed cubic splines over the angles of the first member, so that a circle is exact whatever
    its points, and draws share one spline. Points much closer together than the mean step are averaged first: their
    noise would make the curve steep.
    """
    polar, t = _polar(profile, center)
    area, length = _along(polar, t)
    if len(t) < _FEW:
        return ProfileSize(area, length, np.zeros_like(length))
    halves = [_along(polar[..., k::2, :], t[k::2]) for k in (0, 1)]
    shares = [part_length / length * np.sqrt(area / part_area) for part_area, part_length in halves]
    return ProfileSize(area, length, np.minimum(*(np.abs(1.0 - share) for share in shares)))


def _along(polar: Array, t: Array) -> tuple[Array, Array]:
    """Area and length (...) of the closed curve through polar (..., g, 2) at angles t (g,)."""
    from scipy.interpolate import CubicSpline

    t, closed = np.append(t, t[0] + 2 * np.pi), np.concatenate([polar, polar[..., :1, :]], -2)
    curve = CubicSpline(t, np.moveaxis(closed, -2, 0), bc_type="periodic")
    nodes, weights = np.polynomial.legendre.leggauss(_NODES)
    half = 0.5 * np.diff(t)
    at = ((t[:-1] + half)[:, None] + half[:, None] * nodes).ravel()
    weight = (half[:, None] * weights).ravel()
    place, speed = curve(at), curve(at, 1)
    radius, turn = place[..., 0], 1.0 + speed[..., 1]
    area = 0.5 * np.tensordot(weight, radius * radius * turn, 1)
    length = np.tensordot(weight, np.hypot(speed[..., 0], radius * turn), 1)
    return np.asarray(area), np.asarray(length)


def _polar(profile: Array, center: Array) -> tuple[Array, Array]:
    """Radius, and angle less that of the first known member, (..., g, 2); and those angles (g,), increasing."""
    d = profile - center[..., None, :]
    angle, radius = np.arctan2(d[..., 1], d[..., 0]), np.hypot(d[..., 0], d[..., 1])
    flat = angle.reshape(-1, angle.shape[-1])
    good = np.flatnonzero(np.isfinite(flat).all(-1))
    order, t = _from_the_gap(flat[good[0] if len(good) else 0])
    off = np.angle(np.exp(1j * (angle[..., order] - t)))
    starts = _groups(t)
    polar = np.stack([radius[..., order], off], -1)
    if len(starts) < len(t):
        size = np.diff(starts, append=len(t))
        polar, t = np.add.reduceat(polar, starts, -2) / size[:, None], np.add.reduceat(t, starts) / size
    return polar, t


def _from_the_gap(angles: Array) -> tuple[npt.NDArray[np.int64], Array]:
    """Order of angles (k,) round the circle from the end of the largest gap, and the angles in it, increasing."""
    order = np.argsort(angles, kind="stable")
    t = angles[order]
    k = int(np.argmax(np.diff(t, prepend=t[-1] - 2 * np.pi)))
    return np.roll(order, -k), np.concatenate([t[k:], t[:k] + 2 * np.pi])


def _groups(t: Array) -> npt.NDArray[np.int64]:
    """First index of each group of angles (k,) that are averaged: single ones where they are well apart."""
    reach = np.pi / len(t)
    starts, means = np.arange(len(t)), t
    while len(means) > 3 and np.diff(means).min() < 0.5 * reach:
        kept = [0]
        for i in range(1, len(means)):
            if means[i] - means[kept[-1]] >= reach:
                kept.append(i)
        starts = starts[kept]
        means = np.add.reduceat(t, starts) / np.diff(starts, append=len(t))
    return starts


def volume_diameter(areas: Array, heights: Array) -> Array:
    """Diameter (...) of the cylinder with the volume of sections of areas (..., s) at heights (s,), s >= 2.

    The area between the sections is a cubic spline (a parabola through three: exact for a cone; straight between two).
    """
    from scipy.interpolate import CubicSpline

    volume = CubicSpline(heights, np.moveaxis(areas, -1, 0)).integrate(heights[0], heights[-1])
    return np.asarray(2 * np.sqrt(volume / (np.pi * (heights[-1] - heights[0]))))
