"""The apex of a cone, with its uncertainty, from the parameters that the fit has."""

from dataclasses import replace

import numpy as np

from ...core.arrays import Array
from .results import ConeFit
from .uncertainty import ParameterU


def with_apex(fit: ConeFit, told: ParameterU) -> ParameterU:
    """The same with `apex_mm` of one cone as a last parameter: point - radius / tan(half angle) direction.

    Notes
    -----
    Linear (JCGM 102:2011, 6.2). NaN where the apex is infinite. Checked: tests/unit/test_fit_association.py against
    draws.
    """
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        J = np.vstack([np.eye(8), _jacobian(fit)])
        covariance = J @ told.covariance @ J.T
    u = {**told.u, "apex_mm": np.sqrt(np.maximum(np.diagonal(covariance)[8:], 0.0))}
    return replace(told, u=u, covariance=covariance)


def _jacobian(fit: ConeFit) -> Array:
    """How the apex (3) moves with point (3), direction (3), radius and half angle."""
    r, angle, d = float(fit.radius_mm), float(fit.half_angle_rad), np.asarray(fit.direction)
    long = r / np.tan(angle)
    return np.column_stack([np.eye(3), -long * np.eye(3), -d / np.tan(angle), r * d / np.sin(angle) ** 2])
