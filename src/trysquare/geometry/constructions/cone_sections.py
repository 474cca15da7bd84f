"""Theoretical sections of cones: gauge circle, cut by a plane, circle in which two turned surfaces meet."""

from typing import Any

import numpy as np
import numpy.typing as npt

from ...core.arrays import Array
from ...core.errors import InputError
from ...core.frames import cross, dot, perpendicular
from .elements import LEAST_SINE, Circle, Ellipse, axis_of, blank, crossing, face_of
from .middles import mid_line

_LEAN = 0.01  # rad: largest angle of two axes that count as one


def gauge_circle(cone: Any, *, diameter_mm: npt.ArrayLike) -> Circle:
    """The circle (gauge line) of a cone that has the given diameter: its centre is what a tapered fit is located by.

    Parameters
    ----------
    cone : a fit or element with `point_mm`, `direction`, `radius_mm`, `half_angle_rad`
    diameter_mm : float > 0 or (...), mm

    Returns
    -------
    Circle, `normal` towards the wider end.

    Raises
    ------
    InputError : a diameter not above 0, or a feature that is no cone.
    RankError : a cone with a half angle whose sine is not above 1e-6, a cylinder: no height is that of the diameter.
    """
    wanted = np.asarray(diameter_mm, dtype=np.float64)
    if not (wanted > 0).all():
        raise InputError(
            "gauge_circle", "the diameter", "be above 0 mm", f"{wanted.tolist()}", "Give that of the drawing."
        )
    p, d, r, slope = _turned(cone, "gauge_circle")
    bad = crossing(
        np.sin(np.arctan(slope)), "gauge_circle", "be a cone that opens", "A cylinder has no gauge line.",
        least=LEAST_SINE,
    )  # fmt: skip
    along = (wanted / 2 - r) / np.where(bad, 1.0, slope)
    place = p + along[..., None] * d
    return Circle(
        center_mm=blank(place, bad), normal=blank(np.broadcast_to(d, place.shape), bad),
        radius_mm=np.where(bad, np.nan, wanted / 2), definition="circle of the cone that has the given diameter",
    )  # fmt: skip


def cone_circle(cone: Any, plane: Any) -> Circle:
    """The circle of a cone at the height where its axis meets a plane, taken perpendicular to the axis.

    It is the circle of a plane that is perpendicular but for the errors of measurement; `sine` (...) is that of the
    angle between axis and plane, 1 where that holds. For the oblique cut itself see `cone_cut`.

    Raises
    ------
    InputError : features of other kinds.
    RankError : an axis parallel to the plane, or a plane that meets the axis beyond the tip.
    """
    (p, d, r, slope), (q, n) = _turned(cone, "cone_circle"), face_of(plane, "cone_circle")
    rise = dot(n, d)
    sine = np.abs(rise)
    along = dot(q - p, n) / np.where(sine > LEAST_SINE, rise, np.nan)
    radius = r + along * slope
    bad = crossing(
        np.where(radius > 0, sine, 0.0), "cone_circle", "be a plane that cuts the axis on the cone's side of the tip",
        "Give a plane across the axis.", least=LEAST_SINE,
    )  # fmt: skip
    place = p + along[..., None] * d
    return Circle(
        center_mm=blank(place, bad), normal=blank(np.broadcast_to(d, place.shape), bad),
        radius_mm=np.where(bad, np.nan, radius)[()], sine=sine[()],
        definition="circle of the cone, perpendicular to its axis, where the axis meets the plane",
    )  # fmt: skip


def cone_cut(cone: Any, plane: Any) -> Ellipse:
    """The ellipse in which a plane cuts a cone (or a cylinder); a circle where the plane is perpendicular to the axis.

    Returns
    -------
    Ellipse, `normal` on the side of the cone's direction; its centre is not on the axis unless the cut is square.
        `sine` (...): of the angle between the plane and the generator it comes nearest to being parallel to.

    Raises
    ------
    InputError : features of other kinds.
    RankError : a plane that does not cut every generator on one side of the tip: parabola, hyperbola, or nothing.

    Notes
    -----
    Method: with x along the fall of the plane, r = (h + x tan(tilt)) tan(half angle) is a quadric in x and y; its
    centre and axes follow in closed form (Apollonius; any text on conics).
    """
    (p, d, r, slope), (q, n) = _turned(cone, "cone_cut"), face_of(plane, "cone_cut")
    n = np.where(dot(n, d) < 0, -1.0, 1.0)[..., None] * n
    upright = dot(n, d)
    lean = np.linalg.norm(cross(d, n), axis=-1)
    sine = (upright - lean * slope) / np.hypot(1.0, slope)
    h = dot(q - p, n) / np.where(upright > 0, upright, np.nan)
    across = r + h * slope  # radius where the axis meets the plane
    bad = crossing(
        np.where(across > 0, sine, 0.0), "cone_cut", "be a plane that cuts every generator on one side of the tip",
        "Give a plane nearer to square with the axis.", least=LEAST_SINE,
    )  # fmt: skip
    t = lean / np.where(bad, 1.0, upright)  # tangent of the plane's tilt
    x = _fall(d, n, lean)
    open_by = 1.0 - np.where(bad, 0.0, t * slope) ** 2
    shift = -across * t * slope / open_by
    minor = across / np.sqrt(open_by)
    along = np.where(bad, 1.0, np.hypot(1.0, t))
    falling = x - t[..., None] * d  # in the plane, for a unit step along x
    center = p + h[..., None] * d + shift[..., None] * falling
    return Ellipse(
        center_mm=blank(center, bad), normal=blank(np.broadcast_to(n, center.shape), bad),
        major_direction=blank(falling / along[..., None], bad),
        semi_major_mm=np.where(bad, np.nan, across / open_by * along)[()],
        semi_minor_mm=np.where(bad, np.nan, minor)[()], sine=sine[()], definition="ellipse in which the plane cuts it",
    )  # fmt: skip


def turned_meeting(first: Any, second: Any) -> Circle:
    """The theoretical circle in which two coaxial turned surfaces (cones, cylinders) meet: two tapers, the edge of a
    chamfer, a drill point in its bore.

    The circle lies on the mid-line of the two axes, at the height where the two radii are equal.

    Returns
    -------
    Circle, `normal` along the first's direction; `sine` (...) is that of the angle between the two generators.

    Raises
    ------
    InputError : features of other kinds, or axes that lean by more than 0.01 rad (they meet in no circle).
    RankError : two surfaces of equal slope, or radii that are equal beyond the tip only; in a batch
        when all are, else those members are NaN.
    """
    (p, d, r, s), (q, e, u, t) = _turned(first, "turned_meeting"), _turned(second, "turned_meeting")
    if (np.linalg.norm(cross(d, e), axis=-1) > _LEAN).any():
        raise InputError(
            "turned_meeting", "the axes", f"be the same within {_LEAN:g} rad", "axes that lean further",
            "Two turned surfaces meet in a circle only on one axis.",
        )  # fmt: skip
    t = np.where(dot(d, e) < 0, -1.0, 1.0) * t
    line = mid_line(first, second)
    middle, m = line.point_mm, line.direction
    a, b = dot(p - middle, m), dot(q - middle, m)
    sine = np.abs(np.sin(np.arctan(s) - np.arctan(t)))
    gap = np.where(sine > LEAST_SINE, s - t, np.nan)
    height = (u - t * b - r + s * a) / gap
    radius = r + s * (height - a)
    bad = crossing(
        np.where(radius > 0, sine, 0.0), "turned_meeting", "be surfaces of different slope that meet",
        "Surfaces of equal slope meet nowhere, or everywhere.", least=LEAST_SINE,
    )  # fmt: skip
    place = middle + height[..., None] * m
    return Circle(
        center_mm=blank(place, bad), normal=blank(np.broadcast_to(m, place.shape), bad),
        radius_mm=np.where(bad, np.nan, radius)[()], sine=sine[()],
        definition="circle on the mid-line of the two axes where both surfaces have the same radius",
    )  # fmt: skip


def _turned(feature: Any, where: str) -> tuple[Array, Array, Array, Array]:
    """Reference point, unit direction, radius there and its growth along the axis (0 for a cylinder)."""
    radius = getattr(feature, "radius_mm", None)
    if radius is None or getattr(feature, "direction", None) is None:
        raise InputError(where, "the feature", "be a cone or cylinder", type(feature).__name__, "Give such a fit.")
    p, d = axis_of(feature, where)
    angle = getattr(feature, "half_angle_rad", None)
    slope = np.zeros(np.shape(radius)) if angle is None else np.tan(np.asarray(angle, dtype=np.float64))
    return p, d, np.asarray(radius, dtype=np.float64), slope


def _fall(d: Array, n: Array, lean: Array) -> Array:
    """Unit direction across the axis to which the plane's normal leans; any, where it does not."""
    flat = n - dot(n, d)[..., None] * d
    none = (lean < 1e-15)[..., None]
    any_way = np.broadcast_to(perpendicular(d)[0], flat.shape)
    return np.where(none, any_way, flat / np.where(none, 1.0, np.linalg.norm(flat, axis=-1, keepdims=True)))
