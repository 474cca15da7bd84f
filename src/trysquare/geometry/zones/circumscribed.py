"""Smallest circumscribed circle, sphere and cylinder: the envelope of a shaft, the plug of no play from outside."""

from ..kernels.round_state import OUTER
from .results import ZoneFit
from .touching import Axis, Points, circle, cylinder, sphere


def circumscribed_circle(points_mm: Points, *, normal: Axis = None, toward: Axis = None) -> ZoneFit:
    """Find the smallest circle that holds the points (..., n, 2 or 3) mm, n >= 2 (3 in space without a normal).

    Parameters
    ----------
    normal, toward : as `zone_circle`

    Returns
    -------
    ZoneFit : center_mm (..., 2 or 3), radius_mm; of points in space normal, with the points seen along it. residuals_mm
        from the circle, never above 0 but for rounding; width_mm the largest of them. gap_mm is that of the radius.

    Raises
    ------
    InputError : wrong shape, too few points, or a coordinate that is not finite.
    RankError, ConvergenceError : points that coincide; otherwise as `zone_circle`.

    Notes
    -----
    The problem is convex: the optimum is the only one. Method: as `zone_circle`, with Newton's method where two points
    hold the circle. Proof: the duality of J. Elzinga, D. W. Hearn, Management Science 19 (1972) 96 (named from memory):
    the weighted scatter of the contacts is a lower bound of the radius squared. Checked:
    tests/unit/test_minimax_round_touching.py (brute force over all pairs and triples).
    """
    return circle(OUTER, points_mm, normal, toward, 2, "circumscribed_circle")


def circumscribed_sphere(points_mm: Points) -> ZoneFit:
    """Find the smallest sphere that holds the points (..., n, 3) mm, n >= 2, finite.

    Returns
    -------
    ZoneFit : center_mm (..., 3), radius_mm; the rest as `circumscribed_circle`.

    Raises
    ------
    InputError, RankError, ConvergenceError : as `circumscribed_circle`.

    Notes
    -----
    As `circumscribed_circle`.
    """
    return sphere(OUTER, points_mm, 2, "circumscribed_sphere")


def circumscribed_cylinder(points_mm: Points, *, direction: Axis = None, toward: Axis = None) -> ZoneFit:
    """Find the smallest cylinder that holds the points (..., n, 3) mm, n >= 5 (2 with a direction), finite.

    Parameters
    ----------
    direction, toward : as `zone_cylinder`

    Returns
    -------
    ZoneFit : point_mm (..., 3) on the axis, nearest the centroid; direction (..., 3); radius_mm; the rest as
        `circumscribed_circle`.

    Raises
    ------
    InputError, RankError, ConvergenceError : as `circumscribed_circle`.

    Notes
    -----
    Method: as `zone_cylinder`. Proof: no axis whatever leaves a smaller weighted mean square distance of the contacts
    than the two smaller principal values of their scatter; where the radius meets that it is "global". Else, for a
    single set of points, boxes of directions cover all axes: in the planes across a direction distances are convex in
    place and tilt, which gives a linear bound for each box. Where that does not end within its budget (discs, short
    arcs), and in a batch, "local, best of 4 starts". Fewer than five contacts may hold the optimum, some of them with
    weights of a ten-thousandth: then curvature decides, and Newton's method ends it. Checked:
    tests/unit/test_minimax_round_few_contacts.py (made backwards, any order of the points, SLSQP).
    """
    return cylinder(OUTER, points_mm, direction, toward, 5 if direction is None else 2, "circumscribed_cylinder")
