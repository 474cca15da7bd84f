"""Minimum zones of round shapes: roundness, sphericity, cylindricity; straightness of an axis."""

from ..kernels.round_state import OUTER, ZONE
from .results import ZoneFit
from .touching import Axis, Points, circle, cylinder, sphere


def zone_circle(points_mm: Points, *, normal: Axis = None, toward: Axis = None) -> ZoneFit:
    """Find the two concentric circles, nearest to one another, that hold the points between them (ISO 1101, roundness).

    Parameters
    ----------
    points_mm : (..., n, 2) or (..., n, 3) float, n >= 3, finite
        Points in a plane or in space, mm. Leading axes are trials.
    normal : (3,) or (..., 3), optional
        Of points in space: the circles lie in planes across it, distances are taken there. Without it the normal of the
        least-squares plane (`fit_plane`).
    toward : (3,) or (..., 3), optional
        The normal is flipped to have no negative product with it.

    Returns
    -------
    ZoneFit : width_mm, center_mm (..., 2 or 3), radius_mm of the middle circle; of points in space normal, and
        center_mm at the height of the centroid along it. residuals_mm from the middle circle, positive outside.

    Raises
    ------
    InputError : wrong shape, n < 3, or a coordinate that is not finite.
    RankError : points that coincide or lie on one line, or whose narrowest zone is a straight strip. In a batch only
        when no member can be solved: a single one gets NaN and says so in `stopped`.
    ConvergenceError : the search did not end; as above in a batch.

    Notes
    -----
    Method: exchange on the linear problem within a box, renewed about each centre, from the least-squares circle (R.
    Fletcher, E. Sainz de la Maza, Math. Programming 43, 1989). Proof: about the centre first-order growth outweighs
    curvature; boxes over all other centres, those at infinity among them, have linear bounds (branch and bound, A. H.
    Land, A. G. Doig 1960). Both papers are named from memory. The certificate is "global" where that ends within its
    budget. Checked: tests/unit/test_minimax_round_zones.py (zones made backwards to 1e-9 mm, brute force over contacts,
    SLSQP).
    """
    return circle(ZONE, points_mm, normal, toward, 3, "zone_circle")


def zone_sphere(points_mm: Points) -> ZoneFit:
    """Find the two concentric spheres, nearest to one another, that hold the points (..., n, 3) mm, n >= 4, finite.

    Returns
    -------
    ZoneFit : width_mm; center_mm (..., 3) and radius_mm of the middle sphere; residuals_mm from it, positive outside.

    Raises
    ------
    InputError : wrong shape, n < 4, or a coordinate that is not finite.
    RankError, ConvergenceError : points in one plane; otherwise as `zone_circle`.

    Notes
    -----
    Method, proof and check: as `zone_circle`.
    """
    return sphere(ZONE, points_mm, 4, "zone_sphere")


def zone_cylinder(points_mm: Points, *, direction: Axis = None, toward: Axis = None, whole: bool = False) -> ZoneFit:
    """Find the two coaxial cylinders, nearest to one another, that hold the points (ISO 1101, cylindricity).

    Parameters
    ----------
    points_mm : (..., n, 3) float, n >= 5 (3 with a direction), finite
        Points in one frame, mm. Leading axes are trials.
    direction : (3,) or (..., 3), optional
        Holds the axis along it: the zone of the points seen along it.
    toward : (3,) or (..., 3), optional
        The direction is flipped to have no negative product with it. Of several optima the best within 45 degrees of it
        is taken.
    whole : bool
        Of one set of points: also search all other axes, for a proof that is "global". It needs points that go more
        than half-way round on a cylinder not much longer than ten times its radius, and about half a second.

    Returns
    -------
    ZoneFit : width_mm; point_mm (..., 3) on the axis, nearest the centroid; direction (..., 3); radius_mm of the middle
        cylinder; residuals_mm from it, positive outside.

    Raises
    ------
    InputError : wrong shape, too few points, or a value that is not finite.
    RankError, ConvergenceError : points in one plane; otherwise as `zone_circle`.

    Notes
    -----
    Method: as `zone_circle`, in a frame that follows the axis, from the least-squares cylinder, the circumscribed one
    and the principal axes of the points: "local, best of 5 starts". Along a given direction proven as a circle is. With
    `whole`, boxes over all axes have linear bounds as there; axes too far away leave a ball within the hull of the
    points that is wider than the zone. Check: as `zone_circle`.
    """
    least = 5 if direction is None else 3
    return cylinder(ZONE, points_mm, direction, toward, least, "zone_cylinder", whole=whole)


def zone_axis(points_mm: Points, *, direction: Axis = None, toward: Axis = None) -> ZoneFit:
    """Find the smallest cylinder that holds the points of an axis (ISO 1101, straightness of an axis).

    Parameters
    ----------
    points_mm : (..., n, 3) float, n >= 2, finite
        Points in one frame, mm. Leading axes are trials.
    direction, toward : as `zone_cylinder`

    Returns
    -------
    ZoneFit : width_mm, the diameter of the cylinder; point_mm (..., 3) on its axis, nearest the centroid; direction
        (..., 3); residuals_mm, distances from the axis, never negative. gap_mm is that of the diameter.

    Raises
    ------
    InputError : wrong shape, n < 2, or a value that is not finite.
    RankError, ConvergenceError : points that coincide; otherwise as `zone_circle`.

    Notes
    -----
    Method: as `circumscribed_cylinder`, whose proof holds it too: about an axis it is global.
    """
    return cylinder(OUTER, points_mm, direction, toward, 2, "zone_axis", diameter=True)
