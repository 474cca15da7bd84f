"""Perpendicular projections of points, lines and axes onto planes and lines."""

from typing import Any

import numpy as np

from ...core.arrays import Array
from ...core.frames import dot
from .elements import LEAST_SINE, Line, Point, axis_of, blank, crossing, face_of, place_of


def project_point_on_plane(point: Any, plane: Any) -> Point:
    """The foot of the perpendicular from a point (or a feature's centre or reference point) to a plane."""
    where = "project_point_on_plane"
    p, (q, n) = place_of(point, where), face_of(plane, where)
    return Point(point_mm=_onto_plane(p, q, n), definition="foot of the perpendicular from the point to the plane")


def project_point_on_line(point: Any, line: Any) -> Point:
    """The foot of the perpendicular from a point (or a feature's centre or reference point) to a line or axis."""
    where = "project_point_on_line"
    p, (q, d) = place_of(point, where), axis_of(line, where)
    along = dot(p - q, d)
    return Point(point_mm=q + along[..., None] * d, definition="foot of the perpendicular from the point to the line")


def project_line_on_plane(line: Any, plane: Any, *, least_sine: float = LEAST_SINE) -> Line:
    """The shadow of a line or axis on a plane, seen along the plane's normal.

    Returns
    -------
    Line : its reference point is the shadow of the line's own; `sine` (...) of the angle between line and normal.

    Raises
    ------
    InputError : features of other kinds.
    RankError : a line along the normal, whose shadow is a point; in a batch when all are, else those members are NaN.
    """
    where = "project_line_on_plane"
    (p, d), (q, n) = axis_of(line, where), face_of(plane, where)
    flat = d - dot(d, n)[..., None] * n
    sine = np.linalg.norm(flat, axis=-1)
    bad = crossing(
        sine, where, "be a line that does not stand on the plane", "Project its point instead.", least=least_sine
    )
    return Line(
        point_mm=blank(_onto_plane(p, q, n), bad), direction=blank(flat / np.where(bad, 1.0, sine)[..., None], bad),
        sine=sine[()], definition="shadow of the line along the plane's normal",
    )  # fmt: skip


def _onto_plane(p: Array, q: Array, n: Array) -> Array:
    return p - dot(p - q, n)[..., None] * n
