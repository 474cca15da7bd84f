"""Standard uncertainty and covariance of the parameters of a least-squares fit."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ...core.arrays import Array
from ...core.errors import InputError
from .results import CircleFit, ConeFit, CylinderFit, Fit, LineFit, PlaneFit, TorusFit

_SIZES = ("radius_mm", "half_angle_rad", "major_radius_mm", "minor_radius_mm")


@dataclass(frozen=True)
class ParameterU:
    """`u` by parameter name, each of the parameter's shape; `covariance` (..., p, p) of all of them, one after another
    in the order of `u`; `point_u_mm` (...) the standard uncertainty of a point that it rests on; `freedom` its degrees
    of freedom, None where it was given.
    """

    u: dict[str, Array]
    covariance: Array
    point_u_mm: Array
    freedom: int | None


def parameter_u(fit: Fit, *, u_mm: float | None = None, alike: bool = False) -> ParameterU:
    """Propagate the standard uncertainty of a point, independent and alike at every point, to the parameters.

    Parameters
    ----------
    fit : a fit of this package, batched or not
    u_mm : float > 0, optional
        Standard uncertainty of a point across the surface (of unit weight), mm. Without it the standard deviation of
        the residuals, with its degrees of freedom, which holds form and reading together.
    alike : every point is known alike, whatever its weight, as with weights by area. Else a weight is taken for what is
        known of its point: one over the square of its uncertainty.

    Returns
    -------
    ParameterU. The point of a line, plane, cylinder or cone is taken to move across it only; lengths of unit vectors
    are exact and what is held has none, so the covariance is singular by design.

    Raises
    ------
    InputError : u_mm not above 0, or no degrees of freedom to estimate it from.

    Notes
    -----
    Method: JCGM 102:2011, 6.2, linear; J'J of the distances at the solution. It knows nothing of errors that points
    share (temperature, set-up): draws do. `alike`: N^-1 J' W^2 J N^-1, by the same law. Of a robust fit the variance of
    a point is sum psi^2 / (n - p) over the square of the mean of psi' (P. J. Huber, Robust Statistics, 1981, 7.6).
    Checked: tests/unit/test_geometry_uncertainty.py and test_geometry_held.py against draws.
    """
    freedom = None if u_mm is not None else fit.freedom
    if u_mm is not None and not 0 < u_mm < np.inf:
        raise InputError("parameter_u", "u", "be above 0 mm", f"{u_mm} mm", "Give the standard uncertainty of a point.")
    if freedom is not None and freedom <= 0:
        raise InputError(
            "parameter_u", "the degrees of freedom", "be at least 1", f"{freedom}",
            "Measure more points, or give the standard uncertainty of a point.",
        )  # fmt: skip
    lead = fit.residuals_mm.shape[:-1]
    point_u = np.full(lead, float(u_mm)) if u_mm is not None else _from_residuals(fit, alike)
    ok = np.asarray(fit.ok)[..., None, None]
    B = _basis(fit)
    inverse = np.where(ok, _cofactor(fit, ok, alike), np.nan)
    covariance = B @ inverse @ np.swapaxes(B, -1, -2) * np.square(point_u)[..., None, None]
    sd = np.sqrt(np.maximum(np.diagonal(covariance, axis1=-2, axis2=-1), 0.0))
    return ParameterU(_named(fit, sd), covariance, point_u[()], freedom)


def _from_residuals(fit: Fit, alike: bool) -> Array:
    """Standard uncertainty (...) of a point of unit weight; of a robust fit, what its loss makes of the residuals."""
    if fit.point_u_mm is not None:
        return np.asarray(fit.point_u_mm)
    mean = 1.0
    if alike and fit.weights is not None:  # of the points that count
        mean = fit.weights.sum(-1) / (fit.weights > 0).sum(-1)
    return np.asarray(np.sqrt(fit.sum_of_squares_mm2 / mean / np.maximum(fit.freedoms, 1)))


def _cofactor(fit: Fit, ok: npt.NDArray[np.bool_], alike: bool) -> Array:
    if alike and fit.alike is not None:
        return fit.alike
    if fit.cofactor is not None:
        return fit.cofactor
    return np.linalg.inv(np.where(ok, fit.normal_matrix, np.eye(fit.normal_matrix.shape[-1])))


def _basis(fit: Fit) -> Array:
    """How the reported parameters (p) move with those of the shape along its frame (k): (..., p, k)."""
    frame = np.swapaxes(fit.frame, -1, -2)  # columns u, v, w
    u, v, w = frame[..., :1], frame[..., 1:2], frame[..., 2:]
    if isinstance(fit, PlaneFit):
        return _blocks([w], [u, v], _sense(fit.normal, w))
    if isinstance(fit, LineFit):
        flat = fit.direction.shape[-1] == 2
        across = [u[..., :2, :]] if flat else [u, v]
        return _blocks(across, across, _sense(fit.direction, w))
    if isinstance(fit, CylinderFit | ConeFit):
        return _blocks([u, v], [u, v], _sense(fit.direction, w), sizes=2 if isinstance(fit, ConeFit) else 1)
    if isinstance(fit, TorusFit):
        return _blocks([u, v, w], [u, v], _sense(fit.direction, w), sizes=2)
    if isinstance(fit, CircleFit) and fit.normal is not None:
        return _blocks([u, v, w], [u, v], _sense(fit.normal, w), sizes=1)
    return np.broadcast_to(np.eye(fit.normal_matrix.shape[-1]), fit.normal_matrix.shape)


def _sense(axis: Array, w: Array) -> Array:
    """+1 or -1 (..., 1, 1): whether the reported axis follows w."""
    d = axis.shape[-1]
    return np.where((axis * w[..., :d, 0]).sum(-1) < 0, -1.0, 1.0)[..., None, None]


def _blocks(moves: list[Array], tilts: list[Array], sense: Array, *, sizes: int = 0) -> Array:
    move, tilt = np.concatenate(moves, -1), np.concatenate(tilts, -1) * sense
    d, a, b = move.shape[-2], move.shape[-1], tilt.shape[-1]
    B = np.zeros((*move.shape[:-2], 2 * d + sizes, a + b + sizes))
    B[..., :d, :a], B[..., d : 2 * d, a : a + b] = move, tilt
    B[..., 2 * d :, a + b :] = np.eye(sizes)
    return B


def _named(fit: Fit, sd: Array) -> dict[str, npt.NDArray[np.float64]]:
    """The standard deviations (..., p) under the parameters' names."""
    out, start = {}, 0
    for name in fit.PARAMETERS:
        value = getattr(fit, name)
        if value is None:
            continue
        scalar = name in _SIZES
        size = 1 if scalar else value.shape[-1]
        part = sd[..., start : start + size]
        out[name] = part[..., 0] if scalar else part
        start += size
    return out
