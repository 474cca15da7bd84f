"""Standard uncertainty and covariance of the parameters of a least-squares fit."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..core.arrays import Array
from ..core.errors import InputError
from .results import CircleFit, CylinderFit, Fit, LineFit, PlaneFit


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


def parameter_u(fit: Fit, *, u_mm: float | None = None) -> ParameterU:
    """Propagate the standard uncertainty of a point, independent and alike at every point, to the parameters.

    Parameters
    ----------
    fit : a fit of this package, batched or not
    u_mm : float > 0, optional
        Standard uncertainty of a point across the surface (of unit weight), mm. Without it the standard deviation of
        the residuals, with its degrees of freedom, which holds form and reading together.

    Returns
    -------
    ParameterU. The point of a line, plane or cylinder is taken to move across it only; lengths of unit vectors are
    exact, so the covariance is singular by design.

    Raises
    ------
    InputError : u_mm not above 0, or no degrees of freedom to estimate it from.

    Notes
    -----
    Method: JCGM 102:2011, 6.2, linear; J'J of the distances at the solution. It knows nothing of errors that points
    share (temperature, set-up): draws do. Checked: tests/unit/test_geometry_uncertainty.py against draws.
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
    point_u = np.full(lead, float(u_mm)) if u_mm is not None else np.sqrt(fit.sum_of_squares_mm2 / (freedom or 1))
    ok = np.asarray(fit.ok)[..., None, None]
    inverse = np.linalg.inv(np.where(ok, fit.normal_matrix, np.eye(fit.normal_matrix.shape[-1])))
    B = _basis(fit)
    covariance = np.where(ok, B @ inverse @ np.swapaxes(B, -1, -2) * np.square(point_u)[..., None, None], np.nan)
    sd = np.sqrt(np.maximum(np.diagonal(covariance, axis1=-2, axis2=-1), 0.0))
    return ParameterU(_named(fit, sd), covariance, point_u[()], freedom)


def _basis(fit: Fit) -> Array:
    """How the reported parameters (p) move with those of the shape along its frame (k): (..., p, k)."""
    frame = np.swapaxes(fit.frame, -1, -2)  # columns u, v, w
    u, v, w = frame[..., :1], frame[..., 1:2], frame[..., 2:]
    if isinstance(fit, PlaneFit):
        return _blocks([w], [u, v], _sense(fit.normal, w), radius=False)
    if isinstance(fit, LineFit):
        flat = fit.direction.shape[-1] == 2
        across = [u[..., :2, :]] if flat else [u, v]
        return _blocks(across, across, _sense(fit.direction, w), radius=False)
    if isinstance(fit, CylinderFit):
        return _blocks([u, v], [u, v], _sense(fit.direction, w), radius=True)
    if isinstance(fit, CircleFit) and fit.normal is not None:
        return _blocks([u, v, w], [u, v], _sense(fit.normal, w), radius=True)
    return np.broadcast_to(np.eye(fit.normal_matrix.shape[-1]), fit.normal_matrix.shape)


def _sense(axis: Array, w: Array) -> Array:
    """+1 or -1 (..., 1, 1): whether the reported axis follows w."""
    d = axis.shape[-1]
    return np.where((axis * w[..., :d, 0]).sum(-1) < 0, -1.0, 1.0)[..., None, None]


def _blocks(moves: list[Array], tilts: list[Array], sense: Array, *, radius: bool) -> Array:
    move, tilt = np.concatenate(moves, -1), np.concatenate(tilts, -1) * sense
    d, a, b = move.shape[-2], move.shape[-1], tilt.shape[-1]
    B = np.zeros((*move.shape[:-2], 2 * d + radius, a + b + radius))
    B[..., :d, :a], B[..., d : 2 * d, a : a + b] = move, tilt
    if radius:
        B[..., -1, -1] = 1.0
    return B


def _named(fit: Fit, sd: Array) -> dict[str, npt.NDArray[np.float64]]:
    """The standard deviations (..., p) under the parameters' names."""
    out, start = {}, 0
    for name in fit.PARAMETERS:
        value = getattr(fit, name)
        if value is None:
            continue
        scalar = name == "radius_mm"
        size = 1 if scalar else value.shape[-1]
        part = sd[..., start : start + size]
        out[name] = part[..., 0] if scalar else part
        start += size
    return out
