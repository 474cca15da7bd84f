"""What a fit gives back. Every array carries the leading axes of the points; without any, plain scalars."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..core.arrays import Array

#: Why a member of a batch stopped, by code of the kernels.
STOPS = (
    "closed form",
    "step below the last digits",
    "no further decrease",
    "directions left open",
    "iteration limit",
)
CLOSED, SMALL_STEP, NO_DECREASE, OPEN, LIMIT = range(5)


@dataclass(frozen=True)
class Fit:
    """Common part. `rank` (...) counts the parameters that the data fix; `stopped` (...) is one of `STOPS`.

    In a batch a member that could not be fitted has NaN parameters and residuals, and its `stopped` says why.
    """

    residuals_mm: Array
    rank: npt.NDArray[np.int64]
    iterations: npt.NDArray[np.int64]
    stopped: npt.NDArray[np.str_]

    @property
    def ok(self) -> npt.NDArray[np.bool_]:
        """Members (...) that reached the optimum."""
        return np.isin(self.stopped, STOPS[:3])[()]

    @property
    def sum_of_squares_mm2(self) -> Array:
        """Sum of squared residuals (...)."""
        return np.square(self.residuals_mm).sum(-1)

    @property
    def form_mm(self) -> Array:
        """Width (...) of the zone that holds the points about the fit: largest minus smallest residual."""
        return self.residuals_mm.max(-1) - self.residuals_mm.min(-1)


@dataclass(frozen=True)
class PlaneFit(Fit):
    """`point_mm` (..., 3) the centroid, `normal` (..., 3) unit; residuals positive on the normal's side."""

    point_mm: Array
    normal: Array


@dataclass(frozen=True)
class LineFit(Fit):
    """`point_mm` (..., 3) the centroid, `direction` (..., 3) unit; residuals are distances, never negative."""

    point_mm: Array
    direction: Array

    @property
    def form_mm(self) -> Array:
        """Diameter (...) of the cylinder about the line that holds the points."""
        return 2 * self.residuals_mm.max(-1)


@dataclass(frozen=True)
class CircleFit(Fit):
    """`center_mm` (..., 3), `normal` (..., 3) unit, `radius_mm` (...).

    In space residuals are distances from the circle, with the sign of the radial part (positive outside), and
    `radial_mm`, `axial_mm` (..., n) its two parts. In a plane `center_mm` is (..., 2), `normal` and `axial_mm` None.
    """

    center_mm: Array
    normal: Array | None
    radius_mm: Array
    radial_mm: Array
    axial_mm: Array | None


@dataclass(frozen=True)
class SphereFit(Fit):
    """`center_mm` (..., 3), `radius_mm` (...); residuals positive outside."""

    center_mm: Array
    radius_mm: Array


@dataclass(frozen=True)
class CylinderFit(Fit):
    """`point_mm` (..., 3) on the axis, nearest the centroid; `direction` (..., 3) unit; `radius_mm` (...).

    Residuals positive outside (away from the axis).
    """

    point_mm: Array
    direction: Array
    radius_mm: Array
