"""Of nominal and measured features: distances, normals, heat, and what each characteristic measures of them.

`nominal` is a feature of the job (point, direction, diameter, length, inside), of which only the numbers are used.
"""

from typing import Any

import numpy as np

from .shapes import Array, Fit, across, cross, zone

STEPS_OF_HEAT = 4  # each takes off a factor of 1e4
OPPOSITE_RAD, SAME_HEIGHT = 0.06, 0.1


def from_axis(x: Array, fit: Fit) -> Array:
    """Distances (n,) from an axis."""
    d = x - fit.point
    return np.linalg.norm(d - np.outer(d @ fit.direction, fit.direction), axis=1)


def distance(nominal: Any, x: Array) -> Array:
    """From the nominal surface, positive out of the material."""
    if nominal.kind == "plane":
        return (x - nominal.point_mm) @ nominal.direction
    fit = Fit(nominal.point_mm, nominal.direction)
    rho = from_axis(x, fit) if nominal.kind == "cylinder" else np.linalg.norm(x - nominal.point_mm, axis=1)
    return (-1.0 if nominal.inside else 1.0) * (rho - nominal.diameter_mm / 2)


def outward(x: Array, fit: Fit, nominal: Any) -> Array:
    """Unit normals (n, 3) out of the material."""
    if nominal.kind == "plane":
        return np.tile(fit.direction, (len(x), 1))
    d = x - fit.point
    if nominal.kind == "cylinder":
        d = d - np.outer(d @ fit.direction, fit.direction)
    return (-1.0 if nominal.inside else 1.0) * d / np.linalg.norm(d, axis=1)[:, None]


def cold(x: Array, zone: Any, alpha: float, temperature: float) -> Array:
    """Points of a warm part at 20 degC: the x20 with x20 + u(x20) = x, where u is the free expansion of a linear
    temperature field about the anchor (docs/methods/heat.md)."""
    warm = x - zone.anchor_mm
    found = warm
    for _ in range(STEPS_OF_HEAT):
        theta = temperature - 20.0 + found @ zone.gradient
        found = warm - alpha * (theta[:, None] * found - 0.5 * np.sum(found * found, 1)[:, None] * zone.gradient)
    return found + zone.anchor_mm


def pairs(x: Array, fit: Fit) -> Array:
    """Opposite points (m, 2): within 0.06 rad about the axis and a tenth of the radius along it."""
    u, v = across(fit.direction)
    d = x - fit.point
    angle, height = np.arctan2(d @ v, d @ u), d @ fit.direction
    turned = np.abs(np.angle(np.exp(1j * (angle[:, None] - angle)) * -1.0))
    near = (turned <= OPPOSITE_RAD) & (np.abs(height[:, None] - height) <= SAME_HEIGHT * fit.radius)
    return np.argwhere(np.triu(near))


def at(fit: Fit, nominal: Any, along: float = 0.0) -> Array:
    """An axis where it meets the plane square to the nominal one, a plane where it meets the nominal normal."""
    if nominal.kind == "sphere":
        return fit.point
    w, d = nominal.direction, fit.point - nominal.point_mm
    if nominal.kind == "plane":
        return nominal.point_mm + w * (d @ fit.direction / (fit.direction @ w))
    return fit.point + fit.direction * ((along - d @ w) / (fit.direction @ w))


def apart(pair: list[tuple[Any, Fit]]) -> float:
    """Along the normal of the first plane among the two; across the first of two axes; else straight."""
    d = at(pair[1][1], pair[1][0]) - at(pair[0][1], pair[0][0])
    for nominal, fit in pair:
        if nominal.kind == "plane":
            return abs(float(d @ fit.direction))
    if all(nominal.kind == "cylinder" for nominal, _ in pair):
        d = cross(d, pair[0][1].direction)
    return float(np.linalg.norm(d))


def angle(a: Array, b: Array) -> float:
    return float(np.arctan2(np.linalg.norm(cross(a, b)), a @ b))


def off(fit: Fit, nominal: Any) -> float:
    """How far a feature lies from its true position; an axis at the worse end of its length, a plane at its corners."""
    if nominal.kind == "plane":
        u = nominal.along
        v = np.cross(nominal.direction, u)
        far = [a * u * nominal.size_mm[0] / 2 + b * v * nominal.size_mm[1] / 2 for a in (-1, 1) for b in (-1, 1)]
        return max(abs(float((fit.point - nominal.point_mm - x) @ fit.direction / (fit.direction @ nominal.direction)))
                   for x in far)  # fmt: skip
    half = nominal.length_mm / 2
    ends = [at(fit, nominal, h) - nominal.point_mm - h * nominal.direction for h in (-half, half)]
    return max(float(np.linalg.norm(e)) for e in ends)


def lean(fit: Fit, nominal: Any) -> float:
    """How far the ends of an axis lie apart across its nominal direction, over the nominal length."""
    w = nominal.direction
    return nominal.length_mm * float(np.linalg.norm(fit.direction / (fit.direction @ w) - w))


def held(x: Array, nominal: Any, free: Array) -> float:
    """Zone between two planes parallel to the nominal one, which may lean along `free` (k, 3), k = 0, 1 or 2."""
    d = x - nominal.point_mm
    heights = d @ nominal.direction
    return zone(np.column_stack([np.ones(len(x)), d @ free.T]), heights) if len(free) else float(np.ptp(heights))
