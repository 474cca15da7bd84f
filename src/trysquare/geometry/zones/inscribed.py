"""Largest inscribed circle, sphere and cylinder: the plug of a bore."""

from ..kernels.round_state import INNER
from .results import ZoneFit
from .touching import Axis, Points, circle, cylinder, sphere


def inscribed_circle(points_mm: Points, *, normal: Axis = None, toward: Axis = None) -> ZoneFit:
    """Find the largest circle that holds none of the points (..., n, 2 or 3) mm, n >= 3, its centre among them.

    Parameters
    ----------
    normal, toward : as `zone_circle`

    Returns
    -------
    ZoneFit : center_mm (..., 2 or 3), radius_mm; of points in space normal, with the points seen along it. residuals_mm
        from the circle, never below 0 but for rounding; width_mm the largest of them. gap_mm is that of the radius.

    Raises
    ------
    InputError : wrong shape, too few points, or a coordinate that is not finite.
    RankError : points that coincide, lie on one line, or leave a side open, so that the circle grows without end; in a
        batch as `zone_circle`.
    ConvergenceError : as `zone_circle`.

    Notes
    -----
    Every circle that cannot grow has its centre within the hull of its contacts; among all centres within the hull of
    the points none does better ("global"). Method and proof: as `zone_circle`. Checked:
    tests/unit/test_minimax_round_touching.py against the vertices of the Voronoi diagram (scipy.spatial).
    """
    return circle(INNER, points_mm, normal, toward, 3, "inscribed_circle")


def inscribed_sphere(points_mm: Points) -> ZoneFit:
    """Find the largest sphere that holds none of the points (..., n, 3) mm, n >= 4, its centre among them.

    Returns
    -------
    ZoneFit : center_mm (..., 3), radius_mm; the rest as `inscribed_circle`.

    Raises
    ------
    InputError, RankError, ConvergenceError : as `inscribed_circle`.

    Notes
    -----
    As `inscribed_circle`.
    """
    return sphere(INNER, points_mm, 4, "inscribed_sphere")


def inscribed_cylinder(points_mm: Points, *, direction: Axis = None, toward: Axis = None) -> ZoneFit:
    """Find the largest cylinder about whose axis none of the points (..., n, 3) mm, n >= 5 (3 with a direction), is
    nearer than its radius.

    Parameters
    ----------
    direction, toward : as `zone_cylinder`

    Returns
    -------
    ZoneFit : point_mm (..., 3) on the axis, nearest the centroid; direction (..., 3); radius_mm; the rest as
        `inscribed_circle`.

    Raises
    ------
    InputError, RankError, ConvergenceError : as `inscribed_circle`.

    Notes
    -----
    Method: as `zone_cylinder`, from the least-squares axes of all and of most of the points and from the zone's,
    "local, best of 4 starts": across the bore, between points far apart, a larger cylinder might slip through. Along a
    given direction proven as a circle is.
    """
    return cylinder(INNER, points_mm, direction, toward, 5 if direction is None else 3, "inscribed_cylinder")
