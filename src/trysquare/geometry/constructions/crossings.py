"""Where planes, lines and axes cross. Batched: leading axes broadcast against one another."""

from dataclasses import dataclass
from typing import Any

import numpy as np

from ...core.arrays import Array
from ...core.frames import cross, dot
from .elements import LEAST_SINE, Line, Point, axis_of, blank, crossing, face_of

_TURN = "Use features that lean further apart."


def line_of_planes(first: Any, second: Any, *, least_sine: float = LEAST_SINE) -> Line:
    """The line in which two planes meet.

    Parameters
    ----------
    first, second : planes (fits or elements), leading axes that broadcast
    least_sine : float
        Planes whose angle has no larger sine count as parallel.

    Returns
    -------
    Line : its `direction` is first normal x second normal; its `point_mm` the point of the line nearest the middle of
        the two reference points; `sine` (...) of the angle between the planes.

    Raises
    ------
    InputError : a feature that has no plane.
    RankError : parallel planes, `ratio` the sine; in a batch when all are, else those members are NaN.

    Notes
    -----
    Method: closed form about the middle of the reference points, so that no digit is lost far from the origin.
    """
    (p, n), (q, m) = face_of(first, "line_of_planes"), face_of(second, "line_of_planes")
    L = cross(n, m)
    sine = np.linalg.norm(L, axis=-1)
    bad = crossing(sine, "line_of_planes", "be planes that are not parallel", _TURN, least=least_sine)
    s = np.where(bad, 1.0, sine)[..., None]
    middle = 0.5 * (p + q)
    r, t = dot(n, p - middle)[..., None], dot(m, q - middle)[..., None]
    place = middle + (r * cross(m, L) + t * cross(L, n)) / (s * s)
    return Line(
        point_mm=blank(place, bad), direction=blank(L / s, bad), sine=sine[()],
        definition="line of two planes; reference point nearest the middle of theirs",
    )  # fmt: skip


def point_of_line_and_plane(line: Any, plane: Any, *, least_sine: float = LEAST_SINE) -> Point:
    """The point where a line, or the axis of a feature, meets a plane.

    `sine` (...) is that of the angle between line and plane: 1 where they are perpendicular. Arguments, errors and
    batches as `line_of_planes`.
    """
    where = "point_of_line_and_plane"
    (p, d), (q, n) = axis_of(line, where), face_of(plane, where)
    rise = dot(n, d)
    sine = np.abs(rise)
    bad = crossing(sine, where, "be a line that is not parallel to the plane", _TURN, least=least_sine)
    along = dot(q - p, n) / np.where(bad, 1.0, rise)
    return Point(
        point_mm=blank(p + along[..., None] * d, bad), sine=sine[()], definition="point where the line meets the plane"
    )


def point_of_planes(first: Any, second: Any, third: Any, *, least_sine: float = LEAST_SINE) -> Point:
    """The point of three planes.

    `sine` (...) is the least singular value of the three unit normals: 1 for a square corner, 0 where two are parallel
    or all three share a direction. Arguments, errors and batches as `line_of_planes`.
    """
    where = "point_of_planes"
    faces = [face_of(plane, where) for plane in (first, second, third)]
    shape = np.broadcast_shapes(*(a.shape for face in faces for a in face))
    P = np.stack([np.broadcast_to(p, shape) for p, _ in faces], -2)
    N = np.stack([np.broadcast_to(n, shape) for _, n in faces], -2)
    known = np.asarray(np.isfinite(N).all((-1, -2)))
    values = np.linalg.svd(np.where(known[..., None, None], N, 0.0), full_matrices=False, compute_uv=False)
    sine = np.where(known, values[..., 2], np.nan)
    bad = crossing(sine, where, "be three planes that meet in one point", _TURN, least=least_sine)
    middle = P.mean(-2)
    heights = dot(N, P - middle[..., None, :])
    solved = np.linalg.solve(np.where(bad[..., None, None], np.eye(3), N), heights[..., None])[..., 0]
    return Point(point_mm=blank(middle + solved, bad), sine=sine[()], definition="point of three planes")


@dataclass(frozen=True, kw_only=True)
class NearestOfLines:
    """Where two lines come nearest: `on_first_mm`, `on_second_mm`, `middle_mm` (..., 3), `distance_mm` (...), not
    negative, and `sine` (...) of the angle between them.
    """

    on_first_mm: Array
    on_second_mm: Array
    distance_mm: Array
    sine: Array
    definition: str = "ends of the common perpendicular of two endless lines"

    @property
    def middle_mm(self) -> Array:
        return 0.5 * (self.on_first_mm + self.on_second_mm)

    @property
    def point(self) -> Point:
        """The middle as an element: the point of two lines that cross but for the errors of measurement."""
        return Point(point_mm=self.middle_mm, sine=self.sine, definition="middle of the common perpendicular")


def nearest_of_lines(first: Any, second: Any, *, least_sine: float = LEAST_SINE) -> NearestOfLines:
    """The nearest points of two lines or axes. Arguments, errors and batches as `line_of_planes`."""
    where = "nearest_of_lines"
    (p, d), (q, e) = axis_of(first, where), axis_of(second, where)
    L = cross(d, e)
    sine = np.linalg.norm(L, axis=-1)
    bad = crossing(sine, where, "be lines that are not parallel", _TURN, least=least_sine)
    s = np.where(bad, 1.0, sine)
    join = q - p
    on_first = p + (dot(cross(join, e), L) / (s * s))[..., None] * d
    on_second = q + (dot(cross(join, d), L) / (s * s))[..., None] * e
    distance = np.where(bad, np.nan, np.abs(dot(join, L)) / s)
    return NearestOfLines(
        on_first_mm=blank(on_first, bad), on_second_mm=blank(on_second, bad), distance_mm=distance[()], sine=sine[()]
    )
