"""Location and distance: signed vectors before folding, batched over draws."""

import numpy as np

from ..core.arrays import Array
from ..core.frames import dot, unit
from .features import Associated
from .nominal import Nominal


def position_vectors(feature: Associated, *, direction: Array | None) -> tuple[Array, ...]:
    """Deviations of an axis or a centre from their true position, each (..., k) mm, in the datum frame.

    An axis gives two vectors, at the ends of its nominal length; the largest counts. k = 3 for a sphere's centre, 2
    across an axis or a circle, 1 with a `direction` (a zone between two planes) and for a touched point.
    Zone width or diameter = 2 |vector| (ISO 1101:2017, 18.12).
    """
    nominal = feature.nominal
    u, v, w = nominal.frame()
    if nominal.kind == "cylinder":
        half = (nominal.length_mm or 0.0) / 2
        stations = (-half, half) if half > 0 else (0.0,)
        return tuple(
            _across(feature.axis_at(s) - nominal.point_mm - s * w, np.stack([u, v]), direction) for s in stations
        )
    offset = feature.representative() - nominal.point_mm
    if nominal.kind == "point" and direction is None:
        return (_across(offset, w[None], direction),)
    if nominal.kind == "sphere":
        return (_across(offset, np.eye(3), direction),)
    return (_across(offset, np.stack([u, v]), direction),)


def _across(offset: Array, basis: Array, direction: Array | None) -> Array:
    return offset @ (basis if direction is None else unit(direction)[None]).T


#: Kinds that have an axis.
_AXES = ("cylinder", "line")


def distance(first: Associated, second: Associated, *, along: Array | None) -> Array:
    """Distance (...) mm between the representative points of two features.

    Measured along `along` where given; along the normal of the first plane where one is a plane; across the first axis
    where there is one; else straight from centre to centre. The first two have the sign of the nominal distance: below
    zero where the features lie the other way round. ISO 14405-2 leaves this open: results print the reading.
    """
    d = second.representative() - first.representative()
    drawn = second.nominal.point_mm - first.nominal.point_mm
    if along is not None:
        return _signed(d @ unit(along), float(drawn @ unit(along)))
    for plane in (first, second):
        if plane.nominal.kind == "plane" and plane.direction is not None:
            return _signed(dot(d, plane.direction), float(drawn @ plane.nominal.frame()[2]))
    for axis in (first, second):
        if axis.nominal.kind in _AXES and axis.direction is not None:
            return np.linalg.norm(d - dot(d, axis.direction)[..., None] * axis.direction, axis=-1)
    return np.linalg.norm(d, axis=-1)


def _signed(measured: Array, drawn: float) -> Array:
    return -measured if drawn < 0 else measured


def is_folded(first: Nominal, second: Nominal, *, along: Array | None) -> bool:
    """Whether the distance is the length of a vector, which no sign tells from its mirror image near zero."""
    return along is None and "plane" not in (first.kind, second.kind)


def distance_reading(first: Nominal, second: Nominal, *, along: Array | None) -> str:
    """The reading of a distance that `distance` makes, in words."""
    if along is not None:
        return (
            "between the features at their nominal points, along the direction given, in the frame that all measured "
            "features together fit best"
        )
    if "plane" in (first.kind, second.kind):
        which = "first" if first.kind == "plane" else "second"
        return f"from the other feature at its nominal point, along the normal of the {which} least squares plane"
    if first.kind in _AXES and second.kind in _AXES:
        return "between the two least squares axes, at their nominal mid points, across the first axis"
    if first.kind in _AXES or second.kind in _AXES:
        return "from the centre to the least squares axis at its nominal mid point, across the axis"
    return "straight between the two centres"


#: Nominal angles closer than this to 0 or 180 degrees are lengths of vectors, rad: a doubt of 0.1 deg, say, folds them.
NEAR_FLAT_RAD = np.radians(10.0)


def angle(first: Associated, second: Associated) -> Array:
    """Angle (...) rad between two directions, on the side that the nominal directions are."""
    return _between(*_both(first, second))


def lean(first: Associated, second: Associated, *, opposite: bool = False) -> Array:
    """The angle (...) rad between two directions as a vector (..., 2) across the first, before it is folded.

    Its length is the angle; with `opposite` it is that to the direction turned round, 180 degrees less the angle.
    """
    f, s = _both(first, second)
    s = -s if opposite else s
    u, v, _ = first.nominal.frame()
    across = np.cross(f, s) @ np.stack([u, v], -1)
    length = np.linalg.norm(across, axis=-1, keepdims=True)
    return across / np.where(length > 0, length, 1.0) * _between(f, s)[..., None]


def _both(first: Associated, second: Associated) -> tuple[Array, Array]:
    if first.direction is None or second.direction is None:
        raise ValueError("an angle needs two features with a direction")
    return first.direction, second.direction


def _between(f: Array, s: Array) -> Array:
    return np.arctan2(np.linalg.norm(np.cross(f, s), axis=-1), dot(f, s))
