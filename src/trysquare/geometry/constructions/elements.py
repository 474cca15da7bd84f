"""Ideal elements: point, line, plane, circle, ellipse, cylinder, cone. What constructions take and give back.

Arrays carry leading axes: none is a value, one holds draws. A fit of this package serves wherever an element does.
"""

from dataclasses import dataclass
from typing import Any, ClassVar, Self

import numpy as np
import numpy.typing as npt

from ...core.arrays import Array
from ...core.errors import InputError, RankError

_UNIT = ("direction", "normal", "major_direction")
_NUMBERS = ("radius_mm", "half_angle_rad", "semi_major_mm", "semi_minor_mm")
LEAST_SINE = 1e-6  # below it a crossing is left open: the place would move a metre for a micrometre


@dataclass(frozen=True, kw_only=True)
class Element:
    """Common part. `PARAMETERS` names what makes the element, each of shape (..., 3) or (...); directions and normals
    are brought to unit length.

    An element that was constructed says how in `definition`, and in `sine` (...) how openly its parents cross: the sine
    of the angle between them (for three planes the least singular value of their unit normals). Members that are too
    near to parallel are NaN.
    """

    PARAMETERS: ClassVar[tuple[str, ...]] = ()
    sine: Array | None = None
    definition: str = ""

    def __post_init__(self) -> None:
        for name in self.PARAMETERS:
            array = np.asarray(getattr(self, name), dtype=np.float64)
            if name not in _NUMBERS and array.shape[-1:] != (3,):
                raise InputError(
                    type(self).__name__, name, "have three coordinates", f"shape {array.shape}",
                    "Give an array of shape (..., 3).",
                )  # fmt: skip
            object.__setattr__(self, name, (self._direction(array, name) if name in _UNIT else array)[()])

    def _direction(self, array: Array, name: str) -> Array:
        """Directions (..., 3) at unit length; NaN stays."""
        length = np.linalg.norm(array, axis=-1, keepdims=True)
        if (length == 0).any():
            raise InputError(
                type(self).__name__, name, "have a length above 0", "a zero vector", "Give the direction it points to."
            )
        return array / length

    @property
    def vector(self) -> Array:
        """All parameters side by side, (..., p), in the order of `PARAMETERS`: what covariances are of."""
        parts = [np.asarray(getattr(self, name)) for name in self.PARAMETERS]
        parts = [part[..., None] if name in _NUMBERS else part for name, part in zip(self.PARAMETERS, parts)]
        lead = np.broadcast_shapes(*(part.shape[:-1] for part in parts))
        return np.concatenate([np.broadcast_to(part, (*lead, part.shape[-1])) for part in parts], -1)

    @classmethod
    def from_vector(cls, vector: npt.ArrayLike) -> Self:
        """The element of parameters (..., p)."""
        v = np.asarray(vector, dtype=np.float64)
        fields: dict[str, Any] = {}
        start = 0
        for name in cls.PARAMETERS:
            size = 1 if name in _NUMBERS else 3
            part = v[..., start : start + size]
            fields[name] = part[..., 0] if name in _NUMBERS else part
            start += size
        return cls(**fields)


@dataclass(frozen=True, kw_only=True)
class Point(Element):
    PARAMETERS = ("point_mm",)
    point_mm: Array


@dataclass(frozen=True, kw_only=True)
class Line(Element):
    """Endless line or axis through `point_mm`, its reference point, along the unit `direction`."""

    PARAMETERS = ("point_mm", "direction")
    point_mm: Array
    direction: Array


@dataclass(frozen=True, kw_only=True)
class Plane(Element):
    """Endless plane through `point_mm`, its reference point, across the unit `normal`."""

    PARAMETERS = ("point_mm", "normal")
    point_mm: Array
    normal: Array


@dataclass(frozen=True, kw_only=True)
class Circle(Element):
    PARAMETERS = ("center_mm", "normal", "radius_mm")
    center_mm: Array
    normal: Array
    radius_mm: Array


@dataclass(frozen=True, kw_only=True)
class Ellipse(Element):
    """In the plane across `normal`; its long axis along `major_direction`."""

    PARAMETERS = ("center_mm", "normal", "major_direction", "semi_major_mm", "semi_minor_mm")
    center_mm: Array
    normal: Array
    major_direction: Array
    semi_major_mm: Array
    semi_minor_mm: Array


@dataclass(frozen=True, kw_only=True)
class Cylinder(Element):
    PARAMETERS = ("point_mm", "direction", "radius_mm")
    point_mm: Array
    direction: Array
    radius_mm: Array


@dataclass(frozen=True, kw_only=True)
class Cone(Element):
    """`radius_mm` at `point_mm` of the axis, wider along `direction`; `half_angle_rad` between axis and surface."""

    PARAMETERS = ("point_mm", "direction", "radius_mm", "half_angle_rad")
    point_mm: Array
    direction: Array
    radius_mm: Array
    half_angle_rad: Array

    @property
    def apex_mm(self) -> Array:
        """Tip (..., 3)."""
        along = np.asarray(self.radius_mm / np.tan(self.half_angle_rad))
        return self.point_mm - along[..., None] * self.direction


def place_of(feature: Any, where: str) -> Array:
    """The point (..., 3) that stands for a feature: its centre, else its reference point."""
    for name in ("center_mm", "point_mm"):
        place = getattr(feature, name, None)
        if place is not None:
            return np.asarray(place, dtype=np.float64)
    raise _not_a(feature, where, "a centre or a reference point")


def axis_of(feature: Any, where: str) -> tuple[Array, Array]:
    """Reference point and unit direction of a line or axis; of a circle, that of its centre and normal."""
    direction = getattr(feature, "direction", None)
    if direction is None and hasattr(feature, "center_mm"):
        direction = getattr(feature, "normal", None)
    if direction is None:
        raise _not_a(feature, where, "a line or an axis")
    return place_of(feature, where), _unit(direction)


def face_of(feature: Any, where: str) -> tuple[Array, Array]:
    """Reference point and unit normal of a plane, or of the plane of a circle."""
    normal = getattr(feature, "normal", None)
    if normal is None:
        raise _not_a(feature, where, "a plane")
    return place_of(feature, where), _unit(normal)


def _unit(vector: Any) -> Array:
    v = np.asarray(vector, dtype=np.float64)
    length = np.linalg.norm(v, axis=-1, keepdims=True)
    return v / np.where(length > 0, length, 1.0)


def _not_a(feature: Any, where: str, wanted: str) -> InputError:
    return InputError(
        where, "the feature", f"have {wanted}", type(feature).__name__, "Give a fit or an element of that kind."
    )


def crossing(sine: Array, where: str, rule: str, way_out: str, *, least: float) -> npt.NDArray[np.bool_]:
    """Members (...) that do not cross openly enough; raises `RankError` when none does."""
    bad = ~(np.asarray(sine) > least)
    if bad.all():
        largest = float(np.max(sine)) if np.size(sine) else float("nan")
        raise RankError(
            where, "the features", rule, f"a sine of {largest:.3g}, not above {least:g}", way_out,
            ratio=largest, threshold=least,
        )  # fmt: skip
    return bad


def blank(array: Array, bad: npt.NDArray[np.bool_]) -> Array:
    """The array (..., k) with NaN in the members `bad` (...)."""
    return np.where(bad[..., None], np.nan, array)
