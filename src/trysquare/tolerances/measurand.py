"""What a requirement measures: the signed vectors of a characteristic, before anything is folded or judged.

One function serves the value (no leading axis) and the draws (one leading axis).
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from ..core.arrays import Array
from ..core.frames import dot
from ..geometry import TwoPointSizes, two_point_sizes
from .features import Associated
from .location import NEAR_FLAT_RAD, angle, distance, lean, position_vectors
from .nominal import Nominal
from .orientation import axis_deviation, locked_directions, tilt
from .seating import Seat

#: Points count as opposite within this angle (3.4 degrees), and at one height within this part of the radius.
OPPOSITE_RAD = 0.06
SAME_HEIGHT = 0.1
CHARACTERISTICS = ("size", "radius", "distance", "angle", "flatness", "parallelism", "perpendicularity", "position")


@dataclass(frozen=True)
class Asked:
    """What a requirement asks of the geometry; `pairs` (m, 2) of opposite points ask for two-point sizes.

    `corners` (m, 2) are those of a plane whose place is asked (`corners_of`), the same for the value and every draw.
    """

    characteristic: str
    on: tuple[str, ...]
    direction: Array | None = None
    pairs: npt.NDArray[np.int64] | None = None
    corners: Array | None = None


@dataclass(frozen=True)
class Measurand:
    """`kind` says what may be stated: smooth, magnitude, extreme, orientation, place.

    `vectors`: each (..., k) mm or rad; the characteristic is scale * the largest length (magnitude) or the number
    itself (smooth; k > 1 for local sizes). For surfaces `heights_mm` (..., n) lie at `uv_mm` (n, 2) of the plane, and
    an orientation's vector holds the slopes of the plane along the unit `directions` (k, 2) that the datums hold;
    `outline_mm` (4, 2) are the corners of the plane as drawn, where the drawing has its size. The place of a plane has
    the heights (..., 1) of the least-squares plane at its corners `corners_mm` (m, 2) as vectors.
    Near 180 degrees an angle is `less_from` less the magnitude.
    """

    kind: str
    vectors: tuple[Array, ...]
    scale: float = 1.0
    heights_mm: Array | None = None
    uv_mm: Array | None = None
    directions: Array | None = None
    outline_mm: Array | None = None
    corners_mm: Array | None = None
    less_from: float | None = None

    def vector(self) -> Array:
        """All that is folded, side by side, (..., K): what contributions add up on. For form, the residual heights."""
        if self.kind != "extreme" or self.heights_mm is None or self.uv_mm is None:
            return np.concatenate(self.vectors, axis=-1)
        Q = np.linalg.qr(np.column_stack([np.ones(len(self.uv_mm)), self.uv_mm]))[0]
        return self.heights_mm - (self.heights_mm @ Q) @ Q.T


@dataclass(frozen=True)
class Surface:
    """The points (..., n, 3) of a feature, in the frame of its associated feature.

    `as_measured_mm`, where given, are the same points without errors that stand for the workpiece's own form: a
    statement of form has a form model of its own and must not take form for noise.
    """

    points_mm: Array
    feature: Associated
    as_measured_mm: Array | None = None

    @property
    def measured_mm(self) -> Array:
        """The points with the errors of the measurement only."""
        return self.points_mm if self.as_measured_mm is None else self.as_measured_mm


def measurand(asked: Asked, surfaces: Mapping[str, Surface], seat: Seat | None) -> Measurand:
    """The measurand of one requirement from its features and, where it has datums, the seat of its datum system."""
    if asked.characteristic == "angle":
        return _angle(*(surfaces[name].feature for name in asked.on))
    if asked.characteristic in ("size", "radius", "distance"):
        return Measurand("smooth", (_dimension(asked, surfaces),))
    surface = surfaces[asked.on[0]]
    if asked.characteristic == "flatness":
        return _on_plane(surface, np.zeros((0, 3)))
    if seat is None:
        raise ValueError(f"{asked.characteristic} needs a datum system")
    feature = surface.feature.moved(seat.T_datum_part)
    if asked.characteristic == "position" and feature.nominal.kind == "plane":
        return _plane_in_place(Surface(seat.T_datum_part.apply(surface.measured_mm), feature), asked.corners)
    if asked.characteristic == "position":
        return Measurand("magnitude", position_vectors(feature, direction=asked.direction), scale=2.0)
    return _orientation(Surface(seat.T_datum_part.apply(surface.measured_mm), feature), seat)


def _dimension(asked: Asked, surfaces: Mapping[str, Surface]) -> Array:
    """The number as (..., 1), or several local sizes (..., m)."""
    surface = surfaces[asked.on[0]]
    first = surface.feature
    if asked.characteristic in ("size", "radius"):
        if first.radius_mm is None:
            raise ValueError("a size needs a feature of size")
        if asked.characteristic == "radius":
            return first.radius_mm[..., None]
        if asked.pairs is not None:
            return _opposite(surface, asked.pairs).sizes_mm
        return 2.0 * first.radius_mm[..., None]
    return distance(first, surfaces[asked.on[1]].feature, along=asked.direction)[..., None]


def _angle(first: Associated, second: Associated) -> Measurand:
    """A smooth number, but near 0 and 180 degrees a vector before it is folded."""
    drawn = float(np.arccos(np.clip(first.nominal.frame()[2] @ second.nominal.frame()[2], -1.0, 1.0)))
    if NEAR_FLAT_RAD < drawn < np.pi - NEAR_FLAT_RAD:
        return Measurand("smooth", (angle(first, second)[..., None],))
    opposite = drawn > np.pi / 2
    return Measurand("magnitude", (lean(first, second, opposite=opposite),), less_from=np.pi if opposite else None)


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
    d = surface.measured_mm - feature.nominal.point_mm
    heights = d @ w
    middle = d.reshape(-1, *d.shape[-2:]).mean(0)
    uv = middle @ np.stack([u, v], -1)
    if len(locked) == 0:
        return Measurand("extreme", (), heights_mm=heights, uv_mm=uv, outline_mm=_outline(feature.nominal))
    slopes = -tilt(feature, locked)  # a normal that leans forward is a surface that falls forward
    return Measurand(
        "orientation", (slopes,), heights_mm=heights, uv_mm=uv, directions=locked @ np.stack([u, v], -1),
        outline_mm=_outline(feature.nominal),
    )  # fmt: skip


def _plane_in_place(surface: Surface, corners: Array | None) -> Measurand:
    """Heights of points and of the least-squares plane's corners above the plane as drawn, where the datums put it."""
    on_plane = _on_plane(surface, np.zeros((0, 3)))
    feature, edge = surface.feature, corners_of(surface) if corners is None else corners
    if feature.direction is None:
        raise ValueError("a plane has a normal")
    u, v, w = feature.nominal.frame()
    at = feature.nominal.point_mm + edge @ np.stack([u, v])
    off = dot(feature.point_mm[..., None, :] - at, feature.direction[..., None, :])
    heights = off / (feature.direction @ w)[..., None]
    return replace(
        on_plane, kind="place", vectors=tuple(heights[..., k : k + 1] for k in range(len(at))), scale=2.0,
        corners_mm=edge,
    )  # fmt: skip


def corners_of(surface: Surface) -> Array:
    """Corners (m, 2) of a plane as drawn, from its nominal point; of the hull of its points where it has no size."""
    outline = _outline(surface.feature.nominal)
    if outline is not None:
        return outline
    from scipy.spatial import ConvexHull, QhullError

    u, v, _ = surface.feature.nominal.frame()
    uv = (surface.points_mm - surface.feature.nominal.point_mm).reshape(-1, *surface.points_mm.shape[-2:]).mean(0)
    uv = uv @ np.stack([u, v], -1)
    try:
        return np.asarray(uv[ConvexHull(uv).vertices])
    except QhullError:  # all in one line
        return np.asarray(uv)


def _outline(nominal: Nominal) -> Array | None:
    """Corners (4, 2) of a plane, from its nominal point along its own frame."""
    if nominal.size_mm is None:
        return None
    return np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]]) * np.array(nominal.size_mm) / 2


def opposite_points(surface: Surface) -> npt.NDArray[np.int64]:
    """Pairs (m, 2) of diametrically opposite points on a cylinder; m = 0 where there are none."""
    if surface.feature.cylinder is None:
        return np.zeros((0, 2), dtype=np.int64)
    return _opposite(surface, None).pairs


def _opposite(surface: Surface, pairs: npt.NDArray[np.int64] | None) -> TwoPointSizes:
    cylinder = surface.feature.cylinder
    if cylinder is None:
        raise ValueError("two-point sizes are taken on cylinders")
    reach = SAME_HEIGHT * float(np.mean(cylinder.radius_mm))
    return two_point_sizes(surface.points_mm, cylinder, tolerance_rad=OPPOSITE_RAD, along_mm=reach, pairs=pairs)
