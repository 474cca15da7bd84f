"""Least-squares circle, sphere and cylinder."""

from typing import Any

import numpy as np
import numpy.typing as npt

from ..core.arrays import Array, points
from .axes import read_toward, spatial, turned
from .descent import Descent, descend_batch
from .kernels.shapes import BALL, HOOP, RING, TUBE
from .results import NO_DECREASE, CircleFit, CylinderFit, SphereFit
from .support import refuse


def fit_circle(points_mm: npt.ArrayLike, *, toward: npt.ArrayLike | None = None) -> CircleFit:
    """Fit the circle that minimises the sum of squared distances of the points from it.

    In space the distance is that from the circle itself, radial and axial part together: plane, centre and radius
    come from one minimum. (Fitting a plane first and a circle in it afterwards is another, slightly different
    criterion: it lets the plane ignore where on the circle a point lies.)

    Parameters
    ----------
    points_mm : (..., n, 3) or (..., n, 2) float, n >= 3, finite
        Points in space or in a plane, mm. Leading axes are trials.
    toward : (3,) or (..., 3), optional
        Of points in space: the normal is flipped to have no negative product with it.

    Returns
    -------
    CircleFit

    Raises
    ------
    InputError : wrong shape, n < 3, or a coordinate that is not finite.
    RankError : points coincide or lie on one line, or an arc too short to say anything; as `fit_plane` in a batch.
    ConvergenceError : the descent did not end; as `fit_plane` in a batch.

    Notes
    -----
    Method: damped Gauss-Newton on the distances, with the curvature of the distances once it is slow (W. Gander, G. H.
    Golub, R. Strebel, BIT 34, 1994; ISO 10360-6 for the criterion), from G. Taubin's algebraic fit. Checked:
    tests/reference/test_against_coope.py, test_against_null_space_data.py to 1e-9 mm.
    """
    flat = np.asarray(points_mm).shape[-1:] == (2,)
    P, lead = _checked(points_mm, 3, "fit_circle", dims=2 if flat else 3)
    hint = None if flat else read_toward(toward, lead, "fit_circle")
    done = descend_batch(RING if flat else HOOP, P, hint)
    refuse(done, P, "fit_circle", single=not lead, guided=hint is not None)
    radial = done.residuals[:, 0]
    if flat:
        return CircleFit(
            **_result(done, lead, radial), center_mm=_shaped(done, done.states[:, :2], lead), normal=None,
            radial_mm=_shaped(done, radial, lead), axial_mm=None,
        )  # fmt: skip
    axial = done.residuals[:, 1]
    return CircleFit(
        **_result(done, lead, np.copysign(np.hypot(radial, axial), radial)),
        center_mm=_shaped(done, done.states[:, :3], lead),
        normal=_shaped(done, turned(done.states[:, 9:12], hint), lead),
        radial_mm=_shaped(done, radial, lead), axial_mm=_shaped(done, axial, lead),
    )  # fmt: skip


def fit_sphere(points_mm: npt.ArrayLike) -> SphereFit:
    """Fit the sphere that minimises the sum of squared distances of the points (..., n, 3) mm, n >= 4, from it.

    Returns
    -------
    SphereFit : center_mm (..., 3); radius_mm (...); residuals_mm (..., n), positive outside.

    Raises
    ------
    InputError : wrong shape, n < 4, or a coordinate that is not finite.
    RankError : points coincide or lie in one plane, or a cap too small to say anything; as `fit_plane` in a batch.
    ConvergenceError : as `fit_circle`.

    Notes
    -----
    Method: as `fit_circle`, from the linear algebraic fit (I. Kasa 1976) and from the curvature of the cap. Checked:
    tests/reference/test_against_null_space_data.py to 1e-9 mm.
    """
    P, lead = _checked(points_mm, 4, "fit_sphere")
    done = descend_batch(BALL, P, None)
    refuse(done, P, "fit_sphere", single=not lead, guided=False)
    return SphereFit(**_result(done, lead, done.residuals[:, 0]), center_mm=_shaped(done, done.states[:, :3], lead))


def fit_cylinder(points_mm: npt.ArrayLike, *, toward: npt.ArrayLike | None = None) -> CylinderFit:
    """Fit the cylinder that minimises the sum of squared distances of the points from its surface.

    Parameters
    ----------
    points_mm : (..., n, 3) float, n >= 5, finite
        Points in one frame, mm. Leading axes are trials.
    toward : (3,) or (..., 3), optional
        The direction is flipped to have no negative product with it. Where several cylinders fit about as well (two
        rings of four points above one another lie on three), that with its axis within 45 degrees of it is taken.

    Returns
    -------
    CylinderFit : point_mm (..., 3), on the axis, nearest the centroid; direction (..., 3); radius_mm (...);
        residuals_mm (..., n), positive outside.

    Raises
    ------
    InputError : wrong shape, n < 5, or a coordinate that is not finite.
    RankError : points coincide, lie at one height, or on an arc too short to say anything; points that lie on several
        cylinders, when `toward` does not choose; as `fit_plane` in a batch.
    ConvergenceError : as `fit_circle`.

    Notes
    -----
    Method: as `fit_circle`, in a frame that follows the axis (A. B. Forbes, NPL report DITC 140/89, 1989), from the
    best of 128 directions and the principal axes. Checked: tests/reference/test_against_null_space_data.py and
    test_against_least_squares.py to 1e-9 mm and rad.
    """
    P, lead = _checked(points_mm, 5, "fit_cylinder")
    hint = read_toward(toward, lead, "fit_cylinder")
    done = descend_batch(TUBE, P, hint)
    refuse(done, P, "fit_cylinder", single=not lead, guided=hint is not None)
    return CylinderFit(
        **_result(done, lead, done.residuals[:, 0]), point_mm=_shaped(done, done.states[:, :3], lead),
        direction=_shaped(done, turned(done.states[:, 9:12], hint), lead),
    )  # fmt: skip


def _checked(value: npt.ArrayLike, least: int, where: str, dims: int = 3) -> tuple[Array, tuple[int, ...]]:
    """Points (m, n, 3), in a plane with z = 0, and the leading axes."""
    P = points(value, at_least=least, dims=dims, where=where)
    return spatial(P), P.shape[:-2]


def _shaped(done: Descent, array: Array, lead: tuple[int, ...]) -> Any:
    """The array with the leading axes back, NaN where the fit failed."""
    bad = done.code > NO_DECREASE
    if bad.any():
        array = array.copy()
        array[bad] = np.nan
    return array.reshape((*lead, *array.shape[1:]))[()]


def _result(done: Descent, lead: tuple[int, ...], residuals: Array) -> dict[str, Any]:
    """Fields common to the round shapes."""
    k = done.normal.shape[-1]
    return {
        "residuals_mm": _shaped(done, residuals, lead),
        "radius_mm": _shaped(done, done.states[:, 12], lead),
        "rank": done.rank.reshape(lead)[()],
        "iterations": done.passes.reshape(lead)[()],
        "stopped": done.stopped.reshape(lead)[()],
        "frame": done.states[:, 3:12].reshape(*lead, 3, 3),
        "normal_matrix": done.normal.reshape(*lead, k, k),
    }
