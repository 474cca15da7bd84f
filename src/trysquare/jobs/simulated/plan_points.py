"""Where to touch a feature: evenly spread nominal points, opposite in pairs on diameters.

Pure geometry on the drawing; which station sees a point, and whether a ball fits, is not asked here.
"""

import math
from dataclasses import dataclass

import numpy as np

from ...core.arrays import Array
from ...core.errors import InputError
from ...core.frames import perpendicular
from ...tolerances.features import AT_LEAST
from ...tolerances.nominal import Nominal
from ..job import Feature

#: Points where the job does not say how many: twice to four times what the shape needs (common practice, no source).
DEFAULT_POINTS = {"plane": 12, "cylinder": 16, "circle": 8, "sphere": 13, "line": 8, "point": 1}
#: Share of an extent that stays untouched at either edge (common practice, no source).
MARGIN = 0.05
#: Extent of a plane whose drawing gives none, mm.
PLANE_MM = 200.0
#: Narrower than this share of its length a plane is touched in two rows: common practice, no source.
_STRIP = 0.1
#: How far down a sphere is touched from the top, rad: a little over the half of it that is free.
_DOWN = math.radians(100.0)


@dataclass(frozen=True)
class Touches:
    """Points to touch on one feature, part frame, mm: `points_mm` (n, 3), outward unit `normals` (n, 3)."""

    labels: tuple[str, ...]
    points_mm: Array
    normals: Array

    def __len__(self) -> int:
        return len(self.labels)


def plan_points(feature: Feature, *, count: int | None = None, margin: float = MARGIN) -> Touches:
    """Points for one feature: `count`, else what the feature says, else a default for its shape.

    Plane: rows across its size. Cylinder: rings along its length, each in opposite pairs and turned against the one
    before. Circle: opposite pairs. Sphere: a spiral over the half about +z (within: about -z). Line: along its length.
    Point: the same point again. A cylinder or circle takes one more point where an odd number is asked.

    Raises
    ------
    InputError : fewer points than the shape needs.
    """
    nominal = feature.nominal
    n = count or feature.points or DEFAULT_POINTS[nominal.kind]
    least = AT_LEAST[nominal.kind]
    if n < least:
        raise InputError(
            f'feature "{feature.name}"', "the number of points", f"be at least {least} on a {nominal.kind}", f"{n}",
            "Plan more points.",
        )  # fmt: skip
    points = _SPREAD[nominal.kind](nominal, n, margin)
    return Touches(tuple(f"p{i + 1}" for i in range(len(points))), points, normals_at(nominal, points))


def dense_points(nominal: Nominal) -> Array:
    """Points (n, 3) all over a feature, edge to edge, close enough to stand for its whole surface."""
    dense = {"plane": 1600, "cylinder": 1296, "circle": 180, "sphere": 1200, "line": 121, "point": 1}
    if nominal.kind == "cylinder":
        return _rings(nominal, 9, 144, 0.0)
    return _SPREAD[nominal.kind](nominal, dense[nominal.kind], 0.0)


def normals_at(nominal: Nominal, points: Array) -> Array:
    """Outward unit normals (n, 3); of a line, which has none, a fixed direction across it."""
    if nominal.kind != "line":
        return nominal.outward(points)
    return np.broadcast_to(nominal.frame()[0], points.shape)


def opposite(nominal: Nominal, angle_rad: float, along_mm: float) -> Array:
    """The two ends (2, 3) of the diameter of a cylinder or circle at one angle and height, mm."""
    return _round(nominal, np.array([angle_rad, angle_rad + np.pi]), np.array([along_mm, along_mm]))


def _plane(nominal: Nominal, n: int, margin: float) -> Array:
    u, v, _ = nominal.frame()
    width, height = nominal.size_mm or (PLANE_MM, PLANE_MM)
    rows = min(max(round(math.sqrt(n * height / width)), 2), max(n // 2, 2))
    if n >= 9 and min(width, height) >= _STRIP * max(width, height):  # in two rows, or in twos, no bow is seen
        rows = min(max(rows, 3), n // 3) if rows < 3 or n <= 2 * rows else rows
    shares = [n * (i + 1) // rows - n * i // rows for i in range(rows)]
    x = np.concatenate([_spread(k) for k in shares])
    y = np.repeat(_spread(rows), shares)
    inner = 1.0 - 2.0 * margin
    return nominal.point_mm + np.outer(x * width * inner, u) + np.outer(y * height * inner, v)


def _cylinder(nominal: Nominal, n: int, margin: float) -> Array:
    pairs = (n + 1) // 2
    rings = max(2, round(pairs / 4))
    shares = [pairs * (i + 1) // rings - pairs * i // rings for i in range(rings)]
    inner = (nominal.length_mm or 0.0) * (1.0 - 2.0 * margin)
    heights = np.repeat(_spread(rings) * inner, [2 * k for k in shares])
    return _round(nominal, np.concatenate([_turn(k, i, rings) for i, k in enumerate(shares)]), heights)


def _rings(nominal: Nominal, rings: int, each: int, margin: float) -> Array:
    inner = (nominal.length_mm or 0.0) * (1.0 - 2.0 * margin)
    return _round(nominal, np.tile(_turn(each // 2, 0, 1), rings), np.repeat(_spread(rings) * inner, each))


def _circle(nominal: Nominal, n: int, margin: float) -> Array:
    angles = _turn((n + 1) // 2, 0, 1)
    return _round(nominal, angles, np.zeros(len(angles)))


def _sphere(nominal: Nominal, n: int, margin: float) -> Array:
    """A spiral of equal areas from the top down (golden angle)."""
    i = np.arange(n) + 0.5
    z = 1.0 - i / n * (1.0 - math.cos(_DOWN))
    turn = i * math.pi * (3.0 - math.sqrt(5.0))
    flat = np.sqrt(1.0 - z * z)
    away = np.stack([flat * np.cos(turn), flat * np.sin(turn), z], -1)
    radius = (nominal.diameter_mm or 0.0) / 2
    return nominal.point_mm + (-radius if nominal.inside else radius) * away


def _line(nominal: Nominal, n: int, margin: float) -> Array:
    along = _spread(n) * (nominal.length_mm or 0.0) * (1.0 - 2.0 * margin)
    return nominal.point_mm + np.outer(along, nominal.frame()[2])


def _point(nominal: Nominal, n: int, margin: float) -> Array:
    return np.repeat(nominal.point_mm[None], n, axis=0)


def _round(nominal: Nominal, angles: Array, along: Array) -> Array:
    """Points on a diameter: angles (n,), heights (n,) from the nominal point."""
    _, _, w = nominal.frame()
    u, v = perpendicular(w)
    radius = (nominal.diameter_mm or 0.0) / 2
    return nominal.point_mm + radius * (np.outer(np.cos(angles), u) + np.outer(np.sin(angles), v)) + np.outer(along, w)


def _turn(pairs: int, ring: int, rings: int) -> Array:
    """Angles of `pairs` opposite pairs, evenly round; rings are turned against each other within one step."""
    step = math.pi / pairs
    return (np.arange(2 * pairs, dtype=np.float64) + ring / rings) * step


def _spread(n: int) -> Array:
    """n numbers from -0.5 to 0.5, the ends included; 0 alone."""
    return np.asarray((np.arange(n) - (n - 1) / 2) / max(n - 1, 1), dtype=np.float64)


_SPREAD = {
    "plane": _plane, "cylinder": _cylinder, "circle": _circle, "sphere": _sphere, "line": _line, "point": _point,
}  # fmt: skip
