"""Location and distance: signed vectors before folding, batched over draws."""

import numpy as np

from ..core.arrays import Array
from ..core.frames import dot, unit
from .features import Associated
from .nominal import Nominal


def position_vectors(feature: Associated, *, direction: Array | None) -> tuple[Array, ...]:
    """Deviations of axis, centre or plane from their true position, each (..., k) mm, in the datum frame.

    An axis gives two vectors, at the ends of its nominal length; the largest counts. k = 3 for a sphere's centre, 2
    across an axis or a circle, 1 with a `direction` (a zone between two planes) and for a plane or a touched point.
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
    if nominal.kind == "plane" or (nominal.kind == "point" and direction is None):
        return (_across(offset, w[None], direction),)
    if nominal.kind == "sphere":
        return (_across(offset, np.eye(3), direction),)
    return (_across(offset, np.stack([u, v]), direction),)


def _across(offset: Array, basis: Array, direction: Array | None) -> Array:
    return offset @ (basis if direction is None else unit(direction)[None]).T


def distance(first: Associated, second: Associated, *, along: Array | None) -> Array:
    """Distance (...) mm between the representative points of two features.

    Measured along `along` where given; along the normal of the first plane where one is a plane; across the axes
    between two axes; else straight from centre to centre. ISO 14405-2 leaves this open: results print the reading.
    """
    a, b = first.representative(), second.representative()
    d = b - a
    if along is not None:
        return np.abs(d @ unit(along))
    for plane in (first, second):
        if plane.nominal.kind == "plane" and plane.direction is not None:
            return np.abs(dot(d, plane.direction))
    if first.nominal.kind == second.nominal.kind == "cylinder" and first.direction is not None:
        d = d - dot(d, first.direction)[..., None] * first.direction
    return np.linalg.norm(d, axis=-1)


def distance_reading(first: Nominal, second: Nominal, *, along: Array | None) -> str:
    """The reading of a distance that `distance` makes, in words."""
    if along is not None:
        return "between the features at their nominal points, along the direction given"
    if "plane" in (first.kind, second.kind):
        which = "first" if first.kind == "plane" else "second"
        return f"from the other feature at its nominal point, along the normal of the {which} least squares plane"
    if first.kind == second.kind == "cylinder":
        return "between the two least squares axes, at their nominal mid points, across the first axis"
    return "straight between the two centres"


def angle(first: Associated, second: Associated) -> Array:
    """Angle (...) rad between two directions, on the side that the nominal directions are."""
    if first.direction is None or second.direction is None:
        raise ValueError("an angle needs two features with a direction")
    cross = np.linalg.norm(np.cross(first.direction, second.direction), axis=-1)
    return np.arctan2(cross, dot(first.direction, second.direction))
