"""Least-squares cone."""

import numpy as np
import numpy.typing as npt

from ...core.arrays import points
from ..axes import read_toward, spatial
from ..kernels.turn_rows import CONE
from .held import read_held
from .results import ConeFit
from .surfaces import Asked, fit_surface


def fit_cone(
    points_mm: npt.ArrayLike, *, weights: npt.ArrayLike | None = None, toward: npt.ArrayLike | None = None,
    direction: npt.ArrayLike | None = None, half_angle_rad: npt.ArrayLike | None = None, loss: str = "squares",
) -> ConeFit:  # fmt: skip
    """Fit the cone that minimises the sum of squared distances of the points from its surface.

    Parameters
    ----------
    points_mm : (..., n, 3) float, n >= 6, finite
        Points in one frame, mm. Leading axes are trials.
    weights : (n,) or (..., n) float, finite, not negative, optional
        Weights of the squared distances.
    toward : (3,) or (..., 3), optional
        Where several cones fit about as well, that with its axis within 45 degrees of it (either sense) is taken. The
        direction itself is towards the wider end.
    direction : (3,) or (..., 3), optional
        Holds the axis to be parallel to it, either sense.
    half_angle_rad : () or (...), optional
        Holds the half angle at the apex.
    loss : "squares", or robust "huber" or "tukey", which say in `set_aside` which points had no say

    Returns
    -------
    ConeFit : point_mm (..., 3), on the axis, nearest the centroid; radius_mm (...) there; direction (..., 3);
        half_angle_rad (...); apex_mm (..., 3); residuals_mm (..., n), positive outside.

    Raises
    ------
    InputError : wrong shape, n < 6, or a coordinate that is not finite.
    RankError : points that coincide, lie on one line, in one plane; as `fit_plane` in a batch. Points of a cylinder
        answer, with a half angle of about 0 and its uncertainty, and a note that offers the cylinder.
    ConvergenceError : the descent did not end; as `fit_plane` in a batch.

    Notes
    -----
    The apex is no edge here: a point beyond it counts from the opposite nappe's generator, straight on.

    Method: damped Gauss-Newton on the distances, Newton's once it is slow, in the two curvatures at a point of the
    surface (kernels.turn_rows), so that cylinder and plane are points like others; starts from the normals, which all
    meet the axis (H. Pottmann, T. Randrup, Computing 60, 1998), from an even grid, and from the curvature of the patch.
    Distances as A. B. Forbes, NPL report DITC 140/89, 1989. Checked: tests/reference/test_against_null_space_data.py.
    """
    where = "fit_cone"
    P = points(points_mm, at_least=6, where=where)
    lead = P.shape[:-2]
    held = read_held(where, lead, direction=direction, half_angle_rad=half_angle_rad)
    asked = Asked(CONE, where, spatial(P), lead, held, weights, read_toward(toward, lead, where), loss, 6)
    answer = fit_surface(asked)
    p = answer.parameters
    with np.errstate(divide="ignore", invalid="ignore"):
        apex = p.at - (p.radius / np.tan(p.more))[:, None] * p.frame[:, 2]
    return ConeFit(
        **answer.fields, point_mm=answer.shaped(p.at), direction=answer.shaped(p.frame[:, 2]),
        radius_mm=answer.shaped(p.radius), half_angle_rad=answer.shaped(p.more), apex_mm=answer.shaped(apex),
    )  # fmt: skip
