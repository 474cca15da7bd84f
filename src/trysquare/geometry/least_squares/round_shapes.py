"""Least-squares circle, sphere and cylinder."""

from typing import Any

import numpy as np
import numpy.typing as npt

from ...core.arrays import Array, points
from ...core.errors import InputError
from ..axes import read_toward, spatial, turned
from ..kernels.turn_rows import BALL, HOOP, RING, TUBE
from .descent import Descent, descend_batch
from .evidence import Evidence
from .handed_over import handed_over
from .held import read_held
from .refusals import refuse
from .results import NO_DECREASE, CircleFit, CylinderFit, SphereFit
from .surfaces import Asked, fit_surface, with_lead


def fit_circle(
    points_mm: npt.ArrayLike, *, weights: npt.ArrayLike | None = None, toward: npt.ArrayLike | None = None,
    radius_mm: npt.ArrayLike | None = None, normal: npt.ArrayLike | None = None, loss: str = "squares",
) -> CircleFit:  # fmt: skip
    """Fit the circle that minimises the sum of squared distances of the points from it.

    In space the distance is that from the circle itself, radial and axial part together: plane, centre and radius
    come from one minimum. (Fitting a plane first and a circle in it afterwards is another, slightly different
    criterion: it lets the plane ignore where on the circle a point lies.)

    Parameters
    ----------
    points_mm : (..., n, 3) or (..., n, 2) float, n >= 3, finite
        Points in space or in a plane, mm. Leading axes are trials.
    weights : (n,) or (..., n) float, finite, not negative, optional
        Weights of the squared distances.
    toward : (3,) or (..., 3), optional
        Of points in space: the normal is flipped to have no negative product with it.
    radius_mm : () or (...), optional
        Holds the radius.
    normal : (3,) or (..., 3), optional
        Of points in space: holds the normal; its sense is kept unless `toward` is given.
    loss : "squares", or robust "huber" or "tukey", which say in `set_aside` which points had no say

    Returns
    -------
    CircleFit

    Raises
    ------
    InputError : wrong shape, n < 3, or a coordinate that is not finite.
    RankError : points coincide or lie on one line; as `fit_plane` in a batch. An arc too short for its residuals
        answers, with its covariance and a note.
    ConvergenceError : the descent did not end; as `fit_plane` in a batch.

    Notes
    -----
    Method: damped Gauss-Newton on the distances, with the curvature of the distances once it is slow (W. Gander, G. H.
    Golub, R. Strebel, BIT 34, 1994; ISO 10360-6 for the criterion), from G. Taubin's algebraic fit. Checked:
    tests/reference/test_against_coope.py, test_against_null_space_data.py to 1e-9 mm.
    """
    where = "fit_circle"
    flat = np.asarray(points_mm).shape[-1:] == (2,)
    P, lead = _checked(points_mm, 3, where, dims=2 if flat else 3)
    hint = None if flat else read_toward(toward, lead, where)
    if flat and normal is not None:
        raise InputError(where, "normal", "be left out for points in a plane", "one given", "Drop it.")
    held = read_held(where, lead, radius_mm=radius_mm, normal=normal)
    asked = Asked(RING if flat else HOOP, where, P, lead, held, weights, hint, loss, 3)
    if asked.plain:
        done, fields, bad = _fast(asked)
        at, axes, radial, axial = done.states[:, :3], done.states[:, 9:12], done.residuals[:, 0], done.residuals[:, -1]
        fields["radius_mm"] = with_lead(done.states[:, 12], bad, lead)
    else:
        answer = fit_surface(asked)
        p, fields, bad = answer.parameters, answer.fields, answer.bad
        at, axes, radial, axial = p.at, p.frame[:, 2], p.residuals[:, 0], p.residuals[:, -1]
        fields["radius_mm"] = answer.shaped(p.radius)
    if flat:
        return CircleFit(
            **fields, center_mm=with_lead(at[:, :2], bad, lead), normal=None,
            radial_mm=with_lead(radial, bad, lead), axial_mm=None,
        )  # fmt: skip
    return CircleFit(
        **fields, center_mm=with_lead(at, bad, lead), normal=with_lead(_turned(asked, axes), bad, lead),
        radial_mm=with_lead(radial, bad, lead), axial_mm=with_lead(axial, bad, lead),
    )  # fmt: skip


def fit_sphere(
    points_mm: npt.ArrayLike, *, weights: npt.ArrayLike | None = None, radius_mm: npt.ArrayLike | None = None,
    loss: str = "squares",
) -> SphereFit:  # fmt: skip
    """Fit the sphere that minimises the sum of squared distances of the points (..., n, 3) mm, n >= 4, from it.

    `weights`, `radius_mm`, `loss` as `fit_circle`.

    Returns
    -------
    SphereFit : center_mm (..., 3); radius_mm (...); residuals_mm (..., n), positive outside.

    Raises
    ------
    InputError : wrong shape, n < 4, or a coordinate that is not finite.
    RankError : points coincide or lie in one plane; as `fit_plane` in a batch. A cap too small for its residuals
        answers, with its covariance and a note.
    ConvergenceError : as `fit_circle`.

    Notes
    -----
    Method: as `fit_circle`, from the linear algebraic fit (I. Kasa 1976) and from the curvature of the cap. Checked:
    tests/reference/test_against_null_space_data.py to 1e-9 mm.
    """
    P, lead = _checked(points_mm, 4, "fit_sphere")
    held = read_held("fit_sphere", lead, radius_mm=radius_mm)
    asked = Asked(BALL, "fit_sphere", P, lead, held, weights, None, loss, 4)
    if asked.plain:
        done, fields, bad = _fast(asked)
        at, radius = done.states[:, :3], done.states[:, 12]
    else:
        answer = fit_surface(asked)
        at, radius, fields, bad = answer.parameters.at, answer.parameters.radius, answer.fields, answer.bad
    return SphereFit(**fields, center_mm=with_lead(at, bad, lead), radius_mm=with_lead(radius, bad, lead))


def fit_cylinder(
    points_mm: npt.ArrayLike, *, weights: npt.ArrayLike | None = None, toward: npt.ArrayLike | None = None,
    radius_mm: npt.ArrayLike | None = None, direction: npt.ArrayLike | None = None, loss: str = "squares",
) -> CylinderFit:  # fmt: skip
    """Fit the cylinder that minimises the sum of squared distances of the points from its surface.

    Parameters
    ----------
    points_mm : (..., n, 3) float, n >= 5, finite
        Points in one frame, mm. Leading axes are trials.
    toward : (3,) or (..., 3), optional
        The direction is flipped to have no negative product with it. Where several cylinders fit about as well (two
        rings of four points above one another lie on three), that with its axis within 45 degrees of it is taken.
    direction : (3,) or (..., 3), optional
        Holds the direction; its sense is kept unless `toward` is given.
    weights, radius_mm, loss : as `fit_circle`

    Returns
    -------
    CylinderFit : point_mm (..., 3), on the axis, nearest the centroid; direction (..., 3); radius_mm (...);
        residuals_mm (..., n), positive outside.

    Raises
    ------
    InputError : wrong shape, n < 5, or a coordinate that is not finite.
    RankError : points coincide or lie at one height; points that lie on several cylinders, when `toward` does not
        choose; as `fit_plane` in a batch. An arc too short for its residuals answers, with its covariance and a note.
    ConvergenceError : as `fit_circle`.

    Notes
    -----
    Method: as `fit_circle`, in a frame that follows the axis (A. B. Forbes, NPL report DITC 140/89, 1989), from the
    best of 128 directions and the principal axes. Checked: tests/reference/test_against_null_space_data.py and
    test_against_least_squares.py to 1e-9 mm and rad.
    """
    where = "fit_cylinder"
    P, lead = _checked(points_mm, 5, where)
    held = read_held(where, lead, radius_mm=radius_mm, direction=direction)
    asked = Asked(TUBE, where, P, lead, held, weights, read_toward(toward, lead, where), loss, 5)
    if asked.plain:
        done, fields, bad = _fast(asked)
        at, axes, radius = done.states[:, :3], done.states[:, 9:12], done.states[:, 12]
    else:
        answer = fit_surface(asked)
        p, fields, bad = answer.parameters, answer.fields, answer.bad
        at, axes, radius = p.at, p.frame[:, 2], p.radius
    return CylinderFit(
        **fields, point_mm=with_lead(at, bad, lead), direction=with_lead(_turned(asked, axes), bad, lead),
        radius_mm=with_lead(radius, bad, lead),
    )  # fmt: skip


def _checked(value: npt.ArrayLike, least: int, where: str, dims: int = 3) -> tuple[Array, tuple[int, ...]]:
    """Points (m, n, 3), in a plane with z = 0, and the leading axes."""
    P = points(value, at_least=least, dims=dims, where=where)
    return spatial(P), P.shape[:-2]


def _turned(asked: Asked, axes: Array) -> Array:
    """Axes (m, 3) in the sense of `toward`, else of the direction held, else by their largest coordinate."""
    return turned(axes, asked.held.axis if asked.toward is None else asked.toward)


def _fast(asked: Asked) -> tuple[Descent, dict[str, Any], npt.NDArray[np.bool_]]:
    """The way of free shapes with points that count alike."""
    P, lead = asked.P, asked.lead
    done, cofactor = handed_over(asked.kind, descend_batch(asked.kind, P, asked.toward), P, asked.toward)
    bad = done.code > NO_DECREASE
    doubts = refuse(
        _evidence(asked, done, cofactor, bool(bad.all())), asked.where, single=not lead, guided=asked.toward is not None
    )
    e = done.residuals
    residuals = np.copysign(np.hypot(e[:, 0], e[:, 1]), e[:, 0]) if asked.kind == HOOP else e[:, 0]
    k = done.normal.shape[-1]
    return done, {
        "residuals_mm": with_lead(residuals, bad, lead),
        "rank": done.rank.reshape(lead)[()],
        "iterations": done.passes.reshape(lead)[()],
        "stopped": done.stopped.reshape(lead)[()],
        "frame": done.states[:, 3:12].reshape(*lead, 3, 3),
        "normal_matrix": done.normal.reshape(*lead, k, k),
        "cofactor": None if cofactor is None else cofactor.reshape(*lead, k, k),
        "doubts": doubts,
    }, bad  # fmt: skip


def _evidence(asked: Asked, done: Descent, cofactor: Array | None, failed: bool) -> Evidence:
    k = done.normal.shape[-1]
    freedom = done.residuals[0].size - k
    N = np.eye(k) if done.code[0] > NO_DECREASE else done.normal[0]
    return Evidence(
        kind=asked.kind, code=int(done.code[0]), failed=failed, passes=int(done.passes[0]), ratio=float(done.ratio[0]),
        extent=float(done.extent[0]), rival=float(done.rival[0]), at=done.states[0, :3],
        frame=done.states[0, 3:12].reshape(3, 3), radius=float(done.states[0, 12]), more=0.0,
        cofactor=np.linalg.inv(N) if cofactor is None else cofactor[0], points=asked.P[0],
        sd=float(np.sqrt(np.square(done.residuals[0]).sum() / freedom)) if freedom > 0 else None,
    )  # fmt: skip
