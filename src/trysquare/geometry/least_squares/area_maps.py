"""Features laid out flat: coordinates in which their points are joined, and the points on the surface itself."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from ...core.arrays import Array


@dataclass(frozen=True)
class Sheet:
    """`places` (n, d): d = 1 along a curve, 2 on a surface, 3 directions from a sphere's centre; `periods` in which
    each repeats, None for not; `on_surface` (n, 3) the feet of the points.
    """

    places: Array
    periods: tuple[float | None, ...]
    on_surface: Array


def _line(P: Array) -> Sheet:
    from .linear import fit_line

    fit = fit_line(P)
    return Sheet(((P - fit.point_mm) @ fit.direction)[:, None], (None,), P)


def _circle(P: Array) -> Sheet:
    from .round_shapes import fit_circle

    fit = fit_circle(P)
    d = P - fit.center_mm
    if fit.normal is not None:
        u, v = _across(fit.normal)
        d = np.stack([d @ u, d @ v], 1)
    return Sheet(np.arctan2(d[:, 1], d[:, 0])[:, None], (2 * np.pi,), P)


def _plane(P: Array) -> Sheet:
    from .linear import fit_plane

    fit = fit_plane(P)
    u, v = _across(fit.normal)
    d = P - fit.point_mm
    places = np.stack([d @ u, d @ v], 1)
    return Sheet(places, (None, None), np.column_stack([places, np.zeros(len(P))]))


def _sphere(P: Array) -> Sheet:
    from .round_shapes import fit_sphere

    d = P - fit_sphere(P).center_mm
    unit = d / np.linalg.norm(d, axis=1, keepdims=True)
    return Sheet(unit, (None,), unit)


def _turned(P: Array, at: Array, axis: Array) -> tuple[Array, Array, Array]:
    """Angle about the axis, distance from it and height along it."""
    u, v = _across(axis)
    d = P - at
    x, y = d @ u, d @ v
    return np.arctan2(y, x), np.hypot(x, y), d @ axis


def _placed(turn: Array, rho: Array, t: Array) -> Array:
    return np.stack([rho * np.cos(turn), rho * np.sin(turn), t], 1)


def _cylinder(P: Array) -> Sheet:
    from .round_shapes import fit_cylinder

    fit = fit_cylinder(P)
    turn, _, t = _turned(P, fit.point_mm, fit.direction)
    r = float(fit.radius_mm)
    return Sheet(np.stack([turn * r, t], 1), (2 * np.pi * r, None), _placed(turn, np.full(len(P), r), t))


def _cone(P: Array) -> Sheet:
    """Conformal: the logarithm of the distance from the apex against the angle in the developed sheet."""
    from .cone import fit_cone

    fit = fit_cone(P)
    turn, rho, t = _turned(P, fit.point_mm, fit.direction)
    s, c = np.sin(fit.half_angle_rad), np.cos(fit.half_angle_rad)
    away = c * (rho - fit.radius_mm) - s * t
    rho, t = rho - away * c, t + away * s
    rise = c * t + s * (rho - fit.radius_mm)  # along the generator from the circle at the centroid
    relative = np.maximum(s * rise / fit.radius_mm, -1 + 1e-9)
    along = np.log1p(relative) / s if s > 0 else rise / fit.radius_mm
    return Sheet(np.stack([turn, along], 1), (2 * np.pi, None), _placed(turn, rho, t))


def _torus(P: Array) -> Sheet:
    """Conformal: the angle about the axis against the integral of r / (R + r cos psi) around the tube."""
    from .torus import fit_torus

    fit = fit_torus(P)
    turn, rho, t = _turned(P, fit.center_mm, fit.direction)
    R, r = float(fit.major_radius_mm), float(fit.minor_radius_mm)
    psi = np.arctan2(t, rho - R)
    on = _placed(turn, R + r * np.cos(psi), r * np.sin(psi))
    if r >= R:
        return Sheet(np.stack([turn, psi], 1), (2 * np.pi, 2 * np.pi), on)
    around = 2 * r / np.sqrt(R * R - r * r)
    eta = around * np.arctan(np.sqrt((R - r) / (R + r)) * np.tan(psi / 2))
    return Sheet(np.stack([turn, eta], 1), (2 * np.pi, around * np.pi), on)


def _across(axis: Array) -> tuple[Array, Array]:
    from ..axes import across

    u, v, _ = across(axis[None])[0]
    return u, v


MAPS: dict[str, Callable[[Array], Sheet]] = {
    "line": _line, "plane": _plane, "circle": _circle, "sphere": _sphere, "cylinder": _cylinder, "cone": _cone,
    "torus": _torus,
}  # fmt: skip
