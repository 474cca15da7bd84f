"""Nominal features, as the drawing has them, in the part frame."""

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from ..core.arrays import Array
from ..core.frames import dot, perpendicular

KINDS = ("plane", "cylinder", "circle", "sphere", "line", "point")


@dataclass(frozen=True)
class Nominal:
    """One nominal feature.

    `direction` is the outward normal of a plane, point or circle, the axis of a cylinder or line; `inside` says that
    the material lies outside the diameter (a hole). `point_mm` is the middle of a cylinder's length.
    """

    kind: str
    point_mm: Array
    direction: Array | None = None
    diameter_mm: float | None = None
    length_mm: float | None = None
    inside: bool = False
    size_mm: tuple[float, float] | None = None
    along: Array | None = None

    def outward(self, points: Array) -> Array:
        """Unit normals (..., n, 3), out of the material, at points (..., n, 3) near the surface, part frame."""
        sign = -1.0 if self.inside else 1.0
        if self.kind in ("plane", "point"):
            return np.broadcast_to(self._axis(), points.shape)
        d = points - self.point_mm
        if self.kind != "sphere":
            d = d - dot(d, self._axis())[..., None] * self._axis()
        length = np.linalg.norm(d, axis=-1, keepdims=True)
        return sign * d / np.where(length > 0, length, 1.0)

    def distance(self, points: Array) -> Array:
        """Signed distance (..., n) from the surface, positive out of the material; from the axis for a line, mm."""
        d = points - self.point_mm
        if self.kind in ("plane", "point"):
            return dot(d, self._axis())
        if self.kind != "sphere":
            d = d - dot(d, self._axis())[..., None] * self._axis()
        radial = np.linalg.norm(d, axis=-1) - (self.diameter_mm or 0.0) / 2
        return -radial if self.inside else radial

    def grown(self, offset_mm: float) -> "Nominal":
        """The surface at `offset_mm` outside the material: where the centre of a touching ball lies."""
        if self.diameter_mm is not None:
            return replace(self, diameter_mm=self.diameter_mm + (-2.0 if self.inside else 2.0) * offset_mm)
        if self.kind in ("plane", "point"):
            return replace(self, point_mm=self.point_mm + offset_mm * self._axis())
        return self

    def frame(self) -> tuple[Array, Array, Array]:
        """Unit vectors (u, v, direction), right-handed; u follows `along` where given."""
        return self._frame

    @cached_property
    def _frame(self) -> tuple[Array, Array, Array]:
        w = self._axis()
        if self.along is None:
            u, v = perpendicular(w)
        else:
            u = self.along - dot(self.along, w) * w
            u = u / np.linalg.norm(u)
            v = np.cross(w, u)
        return u, v, w

    def _axis(self) -> Array:
        return np.array([0.0, 0.0, 1.0]) if self.direction is None else self.direction
