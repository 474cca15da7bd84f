"""What a requirement measures: the signed vectors of a characteristic, before anything is folded or judged.

One function serves the value (no leading axis) and the draws (one leading axis).
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from ..core.arrays import Array
from ..core.frames import dot
from .features import Associated
from .location import angle, distance, position_vectors
from .orientation import axis_deviation, locked_directions, tilt
from .seating import Seat

CHARACTERISTICS = ("size", "distance", "angle", "flatness", "parallelism", "perpendicularity", "position")


@dataclass(frozen=True)
class Asked:
    """What a requirement asks of the geometry: the part of the job's requirement that this floor needs."""

    characteristic: str
    on: tuple[str, ...]
    operator: str = "least-squares"
    direction: Array | None = None
    nominal: float | None = None


@dataclass(frozen=True)
class Measurand:
    """`kind` says what may be stated (UNCERTAINTY: smooth, magnitude, extreme, orientation).

    `vectors`: each (..., k) mm or rad; the characteristic is scale * the largest length (magnitude) or the number
    itself (smooth, k = 1). For surfaces `heights_mm` (..., n) lie at `uv_mm` (n, 2) of the plane, with tilt included.
    """

    kind: str
    vectors: tuple[Array, ...]
    scale: float = 1.0
    heights_mm: Array | None = None
    uv_mm: Array | None = None
    axes: Array | None = None


@dataclass(frozen=True)
class Surface:
    """The points (..., n, 3) of a feature, in the frame of its associated feature."""

    points_mm: Array
    feature: Associated


def measurand(asked: Asked, surfaces: Mapping[str, Surface], seat: Seat | None) -> Measurand:
    """The measurand of one requirement from its features and, where it has datums, the seat of its datum system."""
    if asked.characteristic in ("size", "distance", "angle"):
        return Measurand("smooth", (_dimension(asked, surfaces)[..., None],))
    surface = surfaces[asked.on[0]]
    if asked.characteristic == "flatness":
        return _on_plane(surface, np.zeros((0, 3)))
    if seat is None:
        raise ValueError(f"{asked.characteristic} needs a datum system")
    feature = surface.feature.moved(seat.T_datum_part)
    if asked.characteristic == "position":
        return Measurand("magnitude", position_vectors(feature, direction=asked.direction), scale=2.0)
    return _orientation(Surface(seat.T_datum_part.apply(surface.points_mm), feature), seat)


def _dimension(asked: Asked, surfaces: Mapping[str, Surface]) -> Array:
    first = surfaces[asked.on[0]].feature
    if asked.characteristic == "size":
        if first.radius_mm is None:
            raise ValueError("a size needs a feature of size")
        return 2.0 * first.radius_mm
    second = surfaces[asked.on[1]].feature
    if asked.characteristic == "distance":
        return distance(first, second, along=asked.direction)
    return angle(first, second)


def _orientation(surface: Surface, seat: Seat) -> Measurand:
    nominal = surface.feature.nominal
    if nominal.direction is None:
        raise ValueError("orientation needs a direction")
    locked = locked_directions(nominal.direction, seat.open_turns)
    if nominal.kind == "plane":
        return _on_plane(surface, locked)
    length = nominal.length_mm or 0.0
    return Measurand("magnitude", (axis_deviation(surface.feature, locked, length),), scale=1.0)


def _on_plane(surface: Surface, locked: Array) -> Measurand:
    """Heights over the nominal plane and, where datums hold the plane, its tilt along the `locked` directions."""
    feature = surface.feature
    u, v, w = feature.nominal.frame()
    d = surface.points_mm - feature.nominal.point_mm
    heights = d @ w
    middle = d.reshape(-1, *d.shape[-2:]).mean(0)
    uv = middle @ np.stack([u, v], -1)
    if len(locked) == 0:
        return Measurand("extreme", (), heights_mm=heights, uv_mm=uv)
    return Measurand(
        "orientation", (tilt(feature, locked),), heights_mm=heights, uv_mm=uv, axes=locked @ np.stack([u, v], -1)
    )


def two_point_sizes(points_mm: Array, feature: Associated, *, tolerance_rad: float = 0.06) -> Array | None:
    """Local sizes (..., m) from diametrically opposite points about the least squares axis, or None when none are.

    ISO 14405-1:2016 two-point size: the distance of two opposite points through the axis; here the sum of their two
    radii, within `tolerance_rad` of opposite and at one height (within a tenth of the radius).
    """
    pairs = opposite_points(points_mm, feature, tolerance_rad)
    if len(pairs) == 0 or feature.direction is None:
        return None
    d = points_mm - feature.point_mm[..., None, :]
    d = d - dot(d, feature.direction[..., None, :])[..., None] * feature.direction[..., None, :]
    rho = np.linalg.norm(d, axis=-1)
    return rho[..., pairs[:, 0]] + rho[..., pairs[:, 1]]


def opposite_points(points_mm: Array, feature: Associated, tolerance_rad: float) -> np.ndarray:
    """Index pairs (m, 2) of opposite points, from the first member of the batch, each point used once."""
    first = points_mm.reshape(-1, *points_mm.shape[-2:])[0]
    u, v, w = feature.nominal.frame()
    d = first - feature.nominal.point_mm
    theta, height = np.arctan2(d @ v, d @ u), d @ w
    radius = float(np.hypot(d @ u, d @ v).mean())
    off = np.abs(np.angle(np.exp(1j * (theta[:, None] - theta - np.pi))))
    off = np.where(np.abs(height[:, None] - height) < 0.1 * radius, off, np.inf)
    pairs: list[tuple[int, int]] = []
    used: set[int] = set()
    for i, j in zip(*np.unravel_index(np.argsort(off, axis=None), off.shape), strict=True):
        if off[i, j] > tolerance_rad:
            break
        if i < j and not {i, j} & used:
            pairs.append((int(i), int(j)))
            used |= {int(i), int(j)}
    return np.array(pairs, dtype=np.int64).reshape(-1, 2)


def vector_of(m: Measurand) -> Array:
    """The signed vector (..., K) of a measurand, for contributions: all that is folded, side by side."""
    parts: Sequence[Array] = list(m.vectors)
    if m.kind == "extreme" and m.heights_mm is not None and m.uv_mm is not None:
        A = np.column_stack([np.ones(len(m.uv_mm)), m.uv_mm])
        Q = np.linalg.qr(A)[0]
        parts = [m.heights_mm - (m.heights_mm @ Q) @ Q.T]
    return np.concatenate(parts, axis=-1)
