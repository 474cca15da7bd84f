"""What the spread of observations means for points in space."""

from typing import Protocol

import numpy as np

from ..core.arrays import Array


class SeesPoints(Protocol):
    """Anything that turns observations (..., n, 3) into points (..., n, 3), mm."""

    def points(self, obs: Array) -> Array:
        """Points in the station's frame, mm."""


def block_covariance(instrument: SeesPoints, obs: Array, spread: Array) -> Array:
    """Covariance (m, 3, 3), mm2, of points observed at `obs` (m, 3) with standard uncertainties `spread` (m, 3).

    First-order propagation (JCGM 102) with central differences of the instrument's own `points`. An observation that
    is the mean of n independent readings has spread / sqrt(n).
    """
    step = 1e-6 * np.maximum(1.0, np.abs(obs))
    one = np.eye(3)[:, None, :] * step
    moved = instrument.points(obs + one) - instrument.points(obs - one)
    J = np.moveaxis(moved / (2 * step.T[:, :, None]), 0, -1)
    scaled = J * spread[:, None, :]
    return scaled @ np.swapaxes(scaled, -1, -2)
