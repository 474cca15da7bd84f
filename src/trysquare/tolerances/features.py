"""Associated features: what the measured points of a feature say it is.

Association is unconstrained least squares of the distances (total least squares; ISO 1101 leaves the default
association to the characteristic: results name the reading made). Batched: leading axes are draws.
"""

from dataclasses import dataclass
from typing import TypeVar

import numpy as np

from .. import geometry
from ..core.arrays import Array
from ..core.errors import InputError
from ..core.frames import Rigid, dot, unit
from .nominal import Nominal

_F = TypeVar("_F", bound=geometry.Fit)
#: Fewest points that fix each shape.
AT_LEAST = {"plane": 3, "cylinder": 5, "circle": 3, "sphere": 4, "line": 2, "point": 1}


@dataclass(frozen=True)
class Associated:
    """`point_mm` (..., 3) on the plane, axis or centre; `direction` (..., 3) unit, along the nominal one, or None.

    `radius_mm` (...) for features of size; `residuals_mm` (..., n), positive out of the material; `cylinder` the fit
    behind a cylinder, in the frame of the points.
    """

    nominal: Nominal
    point_mm: Array
    direction: Array | None
    radius_mm: Array | None
    residuals_mm: Array
    cylinder: geometry.CylinderFit | None = None

    def moved(self, T: Rigid) -> "Associated":
        """The same feature in another frame; leading axes broadcast."""
        direction = None if self.direction is None else T.turn(self.direction[..., None, :])[..., 0, :]
        return Associated(
            self.nominal, T.apply(self.point_mm[..., None, :])[..., 0, :], direction, self.radius_mm, self.residuals_mm
        )

    def representative(self) -> Array:
        """The point (..., 3) that stands for the feature in a distance.

        A centre; an axis where it meets the normal plane through the nominal point; a plane where it meets the normal
        line through the nominal point.
        """
        nominal = self.nominal
        if nominal.kind in ("sphere", "circle", "point") or self.direction is None or nominal.direction is None:
            return self.point_mm
        if nominal.kind == "plane":
            along = dot(self.point_mm - nominal.point_mm, self.direction) / (self.direction @ nominal.direction)
            return nominal.point_mm + along[..., None] * nominal.direction
        return self.axis_at(0.0)

    def axis_at(self, along_mm: float) -> Array:
        """The axis (..., 3) where it meets the normal plane at `along_mm` from the nominal point."""
        w = self.nominal.direction
        if self.direction is None or w is None:
            return self.point_mm
        step = (along_mm - (self.point_mm - self.nominal.point_mm) @ w) / (self.direction @ w)
        return self.point_mm + step[..., None] * self.direction


def associate(points_mm: Array, nominal: Nominal, *, where: str) -> Associated:
    """Associate surface points (..., n, 3) with the shape of `nominal`; both near one frame (directions align).

    Raises
    ------
    InputError : too few points. RankError : points on one line, on one circle; from a single set also where the fit has
        doubts, as an arc too short for its residuals: no requirement is to rest on a covariance that is not to be
        trusted.
    """
    n, least = points_mm.shape[-2], AT_LEAST[nominal.kind]
    if n < least:
        raise InputError(
            where, f"a {nominal.kind}", f"have at least {least} points", f"{n}", "Measure more points on the feature."
        )
    sign = -1.0 if nominal.inside else 1.0
    if nominal.kind == "plane":
        plane = geometry.fit_plane(points_mm, toward=nominal.direction)
        return Associated(nominal, plane.point_mm, plane.normal, None, plane.residuals_mm)
    if nominal.kind == "cylinder":
        cylinder = _sure(geometry.fit_cylinder(points_mm, toward=nominal.direction))
        return Associated(
            nominal, cylinder.point_mm, cylinder.direction, cylinder.radius_mm, sign * cylinder.residuals_mm, cylinder
        )
    if nominal.kind == "circle":
        circle = _sure(geometry.fit_circle(points_mm, toward=nominal.direction))
        return Associated(nominal, circle.center_mm, circle.normal, circle.radius_mm, sign * circle.residuals_mm)
    if nominal.kind == "sphere":
        sphere = _sure(geometry.fit_sphere(points_mm))
        return Associated(nominal, sphere.center_mm, None, sphere.radius_mm, sign * sphere.residuals_mm)
    if nominal.kind == "line":
        line = geometry.fit_line(points_mm, toward=nominal.direction)
        return Associated(nominal, line.point_mm, line.direction, None, line.residuals_mm)
    mean = points_mm.mean(-2)
    normal = np.array([0.0, 0.0, 1.0]) if nominal.direction is None else unit(nominal.direction)
    residuals = dot(points_mm - mean[..., None, :], np.broadcast_to(normal, points_mm.shape))
    return Associated(nominal, mean, np.broadcast_to(normal, mean.shape), None, residuals)


def _sure(fit: _F) -> _F:
    """The fit; raises its first doubt, if any."""
    for doubt in fit.doubts:
        raise doubt
    return fit
