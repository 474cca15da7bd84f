"""Least-squares torus."""

import numpy.typing as npt

from ...core.arrays import points
from ..axes import read_toward, spatial, turned
from ..kernels.turn_rows import TORUS
from .held import read_held
from .results import TorusFit
from .surfaces import Asked, fit_surface


def fit_torus(
    points_mm: npt.ArrayLike, *, weights: npt.ArrayLike | None = None, toward: npt.ArrayLike | None = None,
    direction: npt.ArrayLike | None = None, major_radius_mm: npt.ArrayLike | None = None,
    minor_radius_mm: npt.ArrayLike | None = None, loss: str = "squares",
) -> TorusFit:  # fmt: skip
    """Fit the torus that minimises the sum of squared distances of the points from its surface.

    Parameters
    ----------
    points_mm : (..., n, 3) float, n >= 7, finite
        Points in one frame, mm. Leading axes are trials.
    weights : (n,) or (..., n) float, finite, not negative, optional
        Weights of the squared distances.
    toward : (3,) or (..., 3), optional
        The direction is flipped to have no negative product with it; where several tori fit about as well, that with
        its axis within 45 degrees of it is taken.
    direction : (3,) or (..., 3), optional
        Holds the direction of the axis; its sense is kept unless `toward` is given.
    major_radius_mm, minor_radius_mm : () or (...), optional
        Hold the radius of the circle that the middle of the tube follows, and that of the tube.
    loss : "squares", or robust "huber" or "tukey", which say in `set_aside` which points had no say

    Returns
    -------
    TorusFit : center_mm (..., 3); direction (..., 3); major_radius_mm (...); minor_radius_mm (...); residuals_mm
        (..., n), positive outside the tube.

    Raises
    ------
    InputError : wrong shape, n < 7, or a coordinate that is not finite.
    RankError : points that coincide, lie on one line, in one plane, or that leave a radius open; as `fit_plane` in a
        batch. Where a sphere or cylinder does about as well a note says so.
    ConvergenceError : the descent did not end; as `fit_plane` in a batch.

    Notes
    -----
    Method: as `fit_cone`, with the curvature of the meridian as a third one. Checked:
    tests/reference/test_against_null_space_data.py.
    """
    where = "fit_torus"
    P = points(points_mm, at_least=7, where=where)
    lead = P.shape[:-2]
    held = read_held(
        where, lead, direction=direction, major_radius_mm=major_radius_mm, minor_radius_mm=minor_radius_mm
    )  # fmt: skip
    hint = read_toward(toward, lead, where)
    answer = fit_surface(Asked(TORUS, where, spatial(P), lead, held, weights, hint, loss, 7))
    p = answer.parameters
    axes = turned(p.frame[:, 2], held.axis if hint is None else hint)
    return TorusFit(
        **answer.fields, center_mm=answer.shaped(p.at), direction=answer.shaped(axes),
        major_radius_mm=answer.shaped(p.radius), minor_radius_mm=answer.shaped(p.more),
    )  # fmt: skip
