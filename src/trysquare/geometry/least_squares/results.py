"""What a fit gives back. Every array carries the leading axes of the points; without any, plain scalars."""

from dataclasses import dataclass
from typing import ClassVar

import numpy as np
import numpy.typing as npt

from ...core.arrays import Array
from ...core.errors import RankError

#: Why a member of a batch stopped, by code of the kernels.
STOPS = (
    "closed form",
    "step below the last digits",
    "no further decrease",
    "directions left open",
    "iteration limit",
)
CLOSED, SMALL_STEP, NO_DECREASE, OPEN, LIMIT = range(5)
#: Options that hold a part of a shape, and how many parameters each takes.
HELD = {
    "radius_mm": 1, "half_angle_rad": 1, "major_radius_mm": 1, "minor_radius_mm": 1, "direction": 2, "normal": 2,
}  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Fit:
    """Common part of every fit.

    `rank` (...) counts the parameters that the data fix, of those not held; `iterations` (...); `stopped` (...) is one
    of `STOPS`. `frame` (..., 3, 3) has rows u, v, w, with w along the normal or axis (either sense), `normal_matrix`
    (..., k, k) is J' W J of the distances for the k parameters of the shape along it; `cofactor` (..., k, k), where it
    is given, its inverse, with zeros for what is `held`: what `parameter_u` needs.

    `alike` (..., k, k), of a weighted fit, is the covariance of the parameters when every point has a standard
    uncertainty of 1, whatever its weight.

    `weights` (n) or (..., n), None where all are 1. With a robust `loss` they hold its weights too; `set_aside`
    (..., n) says which points it gave none, `scale_mm` (...) the standard deviation it took for that of the good
    points, `point_u_mm` (...) the standard uncertainty of a point that the covariance rests on.

    `doubts` says of a single set where the linear covariance is not to be trusted, or another shape does as well;
    `notes` are the same in sentences.

    In a batch a member that could not be fitted has NaN parameters and residuals, and its `stopped` says why.
    """

    PARAMETERS: ClassVar[tuple[str, ...]] = ()

    residuals_mm: Array
    rank: npt.NDArray[np.int64]
    iterations: npt.NDArray[np.int64]
    stopped: npt.NDArray[np.str_]
    frame: Array
    normal_matrix: Array
    cofactor: Array | None = None
    alike: Array | None = None
    weights: Array | None = None
    held: tuple[str, ...] = ()
    loss: str = "squares"
    set_aside: npt.NDArray[np.bool_] | None = None
    scale_mm: Array | None = None
    point_u_mm: Array | None = None
    doubts: tuple[RankError, ...] = ()

    @property
    def notes(self) -> tuple[str, ...]:
        """The doubts in plain sentences."""
        return tuple(f"{d.found[:1].upper()}{d.found[1:]}. {d.way_out}" for d in self.doubts)

    @property
    def ok(self) -> npt.NDArray[np.bool_]:
        """Members (...) that reached the optimum."""
        return np.isin(self.stopped, STOPS[:OPEN])[()]

    @property
    def sum_of_squares_mm2(self) -> Array:
        """What was minimised (...): the (weighted) sum of squared distances."""
        squares = np.square(self.residuals_mm)
        return (squares if self.weights is None else self.weights * squares).sum(-1)

    @property
    def form_mm(self) -> Array:
        """Width (...) of the zone about the fit that holds the points: largest minus smallest residual."""
        return self.residuals_mm.max(-1) - self.residuals_mm.min(-1)

    @property
    def freedom(self) -> int:
        """Degrees of freedom of the residuals: observations of weight above 0 less parameters not held.

        Where members of a batch differ in it, the least of them.
        """
        return int(np.min(self.freedoms))

    @property
    def freedoms(self) -> npt.NDArray[np.int64]:
        """The same, one (...) for each member where they differ."""
        points = self.residuals_mm.shape[-1] if self.weights is None else (self.weights > 0).sum(-1)
        return np.asarray(self._coordinates * points - (self.normal_matrix.shape[-1] - self._fixed))

    @property
    def _fixed(self) -> int:
        """Parameters held."""
        return sum(HELD[name] for name in self.held)

    @property
    def _coordinates(self) -> int:
        """Distances that each point counts for."""
        return 1


@dataclass(frozen=True, kw_only=True)
class PlaneFit(Fit):
    """`point_mm` (..., 3) the centroid, `normal` (..., 3) unit; residuals positive on the normal's side."""

    PARAMETERS = ("point_mm", "normal")
    point_mm: Array
    normal: Array


@dataclass(frozen=True, kw_only=True)
class LineFit(Fit):
    """`point_mm` (..., 3) the centroid, `direction` (..., 3) unit; residuals are distances, never negative.

    In a plane both have two coordinates and residuals are positive on the left of the direction.
    """

    PARAMETERS = ("point_mm", "direction")
    point_mm: Array
    direction: Array

    @property
    def form_mm(self) -> Array:
        """Diameter (...) of the cylinder about the line that holds the points; in a plane the width of the strip."""
        return super().form_mm if self._flat else 2 * self.residuals_mm.max(-1)

    @property
    def _flat(self) -> bool:
        return self.direction.shape[-1] == 2

    @property
    def _coordinates(self) -> int:
        """In space each point counts twice, across the line both ways."""
        return 1 if self._flat else 2

    @property
    def _fixed(self) -> int:
        return len(self.held) if self._flat else super()._fixed


@dataclass(frozen=True, kw_only=True)
class CircleFit(Fit):
    """`center_mm` (..., 3), `normal` (..., 3) unit, `radius_mm` (...).

    In space a residual is the distance from the circle with the sign of its radial part (positive outside);
    `radial_mm` and `axial_mm` (..., n) are its parts. In a plane `center_mm` is (..., 2), `normal` and `axial_mm` are
    None.
    """

    PARAMETERS = ("center_mm", "normal", "radius_mm")
    center_mm: Array
    normal: Array | None
    radius_mm: Array
    radial_mm: Array
    axial_mm: Array | None

    @property
    def form_mm(self) -> Array:
        """Roundness (...) about the fitted centre, in the plane of the circle."""
        return self.radial_mm.max(-1) - self.radial_mm.min(-1)

    @property
    def _coordinates(self) -> int:
        """In space each point counts twice, radially and axially."""
        return 1 if self.axial_mm is None else 2


@dataclass(frozen=True, kw_only=True)
class SphereFit(Fit):
    """`center_mm` (..., 3), `radius_mm` (...); residuals positive outside."""

    PARAMETERS = ("center_mm", "radius_mm")
    center_mm: Array
    radius_mm: Array


@dataclass(frozen=True, kw_only=True)
class CylinderFit(Fit):
    """`point_mm` (..., 3) on the axis, nearest the centroid; `direction` (..., 3) unit; `radius_mm` (...).

    Residuals positive outside (away from the axis).
    """

    PARAMETERS = ("point_mm", "direction", "radius_mm")
    point_mm: Array
    direction: Array
    radius_mm: Array


@dataclass(frozen=True, kw_only=True)
class ConeFit(Fit):
    """`point_mm` (..., 3) on the axis, nearest the centroid; `radius_mm` (...) of the circle there, across the axis;
    `direction` (..., 3) unit, towards the wider end; `half_angle_rad` (...); `apex_mm` (..., 3), infinite for a
    cylinder. Residuals are distances from the surface, positive outside.
    """

    PARAMETERS = ("point_mm", "direction", "radius_mm", "half_angle_rad")
    point_mm: Array
    direction: Array
    radius_mm: Array
    half_angle_rad: Array
    apex_mm: Array


@dataclass(frozen=True, kw_only=True)
class TorusFit(Fit):
    """`center_mm` (..., 3), `direction` (..., 3) unit, along the axis; `major_radius_mm` (...) of the circle that the
    middle of the tube follows, `minor_radius_mm` (...) of the tube. Residuals positive outside the tube.
    """

    PARAMETERS = ("center_mm", "direction", "major_radius_mm", "minor_radius_mm")
    center_mm: Array
    direction: Array
    major_radius_mm: Array
    minor_radius_mm: Array
