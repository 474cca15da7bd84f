"""Middles: of two points, two lines, two planes."""

from typing import Any

import numpy as np

from ...core.errors import InputError
from ...core.frames import dot
from .elements import LEAST_SINE, Line, Plane, Point, axis_of, blank, crossing, face_of, place_of

MID_PLANES = ("between", "across", "sum", "difference")
_MEANING = {
    "between": "bisector of the smaller angle of two planes; half way between where they are parallel",
    "across": "bisector of the larger angle of two planes",
    "sum": "bisector of two planes whose normal is along the sum of theirs",
    "difference": "bisector of two planes whose normal is along the difference of theirs",
}


def mid_point(first: Any, second: Any) -> Point:
    """Half way between two points, or the centres or reference points of two features."""
    p, q = place_of(first, "mid_point"), place_of(second, "mid_point")
    return Point(point_mm=0.5 * (p + q), definition="half way between the two points")


def mid_line(first: Any, second: Any, *, least_sine: float = LEAST_SINE) -> Line:
    """The line half way between two lines or axes.

    At every height along it, it is half way between the points of the two lines at that height. Lines in one plane:
    the bisector of their smaller angle, also where they are parallel. Skew lines: it passes through the middle of the
    common perpendicular.

    Returns
    -------
    Line : along the first's direction but for half the angle; its reference point at the height of the middle of
        the two reference points. `sine` (...) is the cosine of half the angle: 1 for parallel lines.

    Raises
    ------
    InputError : a feature without an axis.
    RankError : lines at a right angle but for `least_sine`, where two bisectors are equally good; in a batch when all
        are, else those members are NaN.
    """
    (p, d), (q, e) = axis_of(first, "mid_line"), axis_of(second, "mid_line")
    cosine = dot(d, e)
    bad = crossing(
        np.abs(cosine), "mid_line", "be lines that are not square to one another",
        "Two bisectors are equally good: construct the one that is meant from points.", least=least_sine,
    )  # fmt: skip
    e = np.where(cosine < 0, -1.0, 1.0)[..., None] * e
    total = d + e
    length = np.linalg.norm(total, axis=-1)
    m = total / length[..., None]
    middle, rise = 0.5 * (p + q), 0.5 * length  # rise: of either direction along m
    at_p = p + (dot(middle - p, m) / rise)[..., None] * d
    at_q = q + (dot(middle - q, m) / rise)[..., None] * e
    return Line(
        point_mm=blank(0.5 * (at_p + at_q), bad), direction=blank(m, bad), sine=rise[()],
        definition="half way between the two lines, at every height along it",
    )  # fmt: skip


def mid_plane(first: Any, second: Any, *, take: str = "between", least_sine: float = LEAST_SINE) -> Plane:
    """The plane half way between two planes, parallel or not: one of their two bisectors.

    Parameters
    ----------
    first, second : planes
    take : "between" bisects the smaller angle, and lies half way between parallel planes; "across" is the other one,
        square to it, which parallel planes do not have. "sum" and "difference" choose by the unit normals as given:
        the bisector's normal is along their sum or difference (for planes about square to one another, where noise
        would decide which angle is the smaller).
    least_sine : float, as `line_of_planes`

    Returns
    -------
    Plane : reference point the foot of the middle of the two reference points; `sine` (...) is half the length of the
        sum (or difference) of the unit normals: 1 for parallel planes, 0 where there is no such bisector.

    Raises
    ------
    InputError : features without planes, or another word in `take`.
    RankError : "between" or "across" planes that are square to one another; "across", or a "sum" or "difference" of
        length 0, of parallel planes. In a batch when all are, else those members are NaN.
    """
    if take not in MID_PLANES:
        raise InputError(
            "mid_plane", "take", f"be one of {', '.join(MID_PLANES)}", repr(take), "Say which bisector is meant."
        )
    (p, n), (q, m) = face_of(first, "mid_plane"), face_of(second, "mid_plane")
    cosine = dot(n, m)
    sign = np.where(cosine < 0, -1.0, 1.0) if take in ("between", "across") else np.ones_like(cosine)
    m = (sign * (1.0 if take in ("between", "sum") else -1.0))[..., None] * m
    length = np.linalg.norm(n + m, axis=-1)
    sure = np.abs(cosine) if take in ("between", "across") else 1.0
    bad = crossing(
        np.minimum(sure, 0.5 * length), "mid_plane", f'have one bisector "{take}"',
        'Planes about square to one another: take "sum" or "difference". Parallel ones have only that between them.',
        least=least_sine,
    )  # fmt: skip
    length = np.where(bad, 1.0, length)
    unit, middle = (n + m) / length[..., None], 0.5 * (p + q)
    height = (dot(p - middle, n) + dot(q - middle, m)) / length
    return Plane(
        point_mm=blank(middle + height[..., None] * unit, bad), normal=blank(unit, bad), sine=(0.5 * length)[()],
        definition=_MEANING[take],
    )  # fmt: skip
