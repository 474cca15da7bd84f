"""Shapes, datum systems and zones one set of points at a time, as a careful user of SciPy would write them.

Planes and lines in closed form (SVD), round shapes by Levenberg and Marquardt (MINPACK) with exact Jacobians, zones by
linear programs.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
from scipy.optimize import least_squares, linprog
from scipy.spatial.transform import Rotation

Array = npt.NDArray[np.float64]
TIGHT = {"method": "lm", "xtol": 1e-14, "ftol": 1e-14, "gtol": 1e-14}


@dataclass(frozen=True)
class Fit:
    """A point on the plane, on the axis, or the centre; a direction; a radius."""

    point: Array
    direction: Array | None = None
    radius: float = 0.0

    def moved(self, R: Array, t: Array) -> "Fit":
        return Fit(R @ self.point + t, None if self.direction is None else R @ self.direction, self.radius)


@dataclass(frozen=True)
class Motion:
    """x -> R x + t."""

    R: Array
    t: Array

    def apply(self, x: Array) -> Array:
        return x @ self.R.T + self.t


def cross(a: Array, b: Array) -> Array:
    """a x b of two vectors (3,); for so few numbers ten times faster than NumPy's."""
    return np.array([a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]])


def across(w: Array) -> tuple[Array, Array]:
    """Two unit vectors square to w and to each other, right-handed with it."""
    u = cross(np.eye(3)[np.abs(w).argmin()], w)
    u /= np.linalg.norm(u)
    return u, cross(w, u)


def plane(x: Array, normal: Array) -> Fit:
    c = x.mean(0)
    n = np.linalg.svd(x - c, full_matrices=False)[2][2]
    return Fit(c, n if n @ normal > 0 else -n)


def cylinder(x: Array, start: Fit) -> Fit:
    """Least squares of the distances from the wall; `start` is near, and its direction gives the sense."""
    w = start.direction
    u, v = across(w)
    q = x - start.point
    a, b, h = q @ u, q @ v, q @ w

    def parts(p: Array) -> tuple[Array, Array, Array, Array, float]:
        """Radial vector in the frame (u, v, w), its length, the place along the axis, and 1 / |direction|."""
        dx, dy = a - p[0], b - p[1]
        k = 1.0 / np.sqrt(1.0 + p[2] * p[2] + p[3] * p[3])
        along = (dx * p[2] + dy * p[3] + h) * k
        ex, ey, ez = dx - along * k * p[2], dy - along * k * p[3], h - along * k
        return ex, ey, np.sqrt(ex * ex + ey * ey + ez * ez), along, k

    def residuals(p: Array) -> Array:
        return parts(p)[2] - p[4]

    def jacobian(p: Array) -> Array:
        ex, ey, rho, along, k = parts(p)
        ex, ey, along = ex / rho, ey / rho, along * k
        return np.stack([-ex, -ey, -along * ex, -along * ey, -np.ones(len(a))], 1)

    p = least_squares(residuals, [0.0, 0.0, 0.0, 0.0, start.radius], jacobian, **TIGHT).x
    d = w + p[2] * u + p[3] * v
    return Fit(start.point + p[0] * u + p[1] * v, d / np.linalg.norm(d), float(p[4]))


def ball(x: Array, start: Fit) -> Fit:
    """Sphere in space or circle in a plane, (n, 3) or (n, 2)."""
    q = x - start.point

    def residuals(p: Array) -> Array:
        return np.linalg.norm(q - p[:-1], axis=1) - p[-1]

    def jacobian(p: Array) -> Array:
        d = p[:-1] - q
        return np.column_stack([d / np.linalg.norm(d, axis=1)[:, None], -np.ones(len(q))])

    p = least_squares(residuals, [*np.zeros(x.shape[1]), start.radius], jacobian, **TIGHT).x
    return Fit(start.point + p[:-1], None, float(p[-1]))


def plane_first(a: Fit, point: Array, normal: Array) -> Motion:
    """The least turn that makes plane `a` parallel to the nominal plane, then a shift along the normal onto it."""
    axis = cross(a.direction, normal)
    s, c = np.linalg.norm(axis), a.direction @ normal
    R = np.eye(3) if s == 0.0 else Rotation.from_rotvec(axis * (np.arctan2(s, c) / s)).as_matrix()
    return Motion(R, normal * ((point - R @ a.point) @ normal))


def plane_and_two_holes(a: Fit, b: Array, c: Array, on: tuple[Any, Any, Any]) -> Motion:
    """Seat on a plane, then a hole, then the turn of a second hole about the first: each to its own least squares.

    The axes of both nominal holes are square to the plane, so in the plane's sight they are circles.
    """
    first = plane_first(a, on[0].point_mm, on[0].direction)
    flat = np.stack(across(on[0].direction))
    goal, far = flat @ on[1].point_mm, flat @ on[2].point_mm
    hole = ball(first.apply(b) @ flat.T, Fit(goal, None, on[1].diameter_mm / 2)).point
    q = first.apply(c) @ flat.T - hole

    def turned(p: Array) -> tuple[Array, Array, Array]:
        co, si = np.cos(p[0]), np.sin(p[0])
        x = np.stack([co * q[:, 0] - si * q[:, 1], si * q[:, 0] + co * q[:, 1]], 1)
        d = x + goal - far
        return x, d, np.linalg.norm(d, axis=1)

    def residuals(p: Array) -> Array:
        rho = turned(p)[2]
        return rho - rho.mean()

    def jacobian(p: Array) -> Array:
        x, d, rho = turned(p)
        slope = (d[:, 1] * x[:, 0] - d[:, 0] * x[:, 1]) / rho
        return (slope - slope.mean())[:, None]

    angle = float(least_squares(residuals, [0.0], jacobian, **TIGHT).x[0])
    return _in_plane(first, on[0].direction, flat, angle, hole, goal)


def three_planes(a: Fit, b: Array, c: Array, on: tuple[Any, Any, Any]) -> Motion:
    """Seat on a plane, then on a second by a turn in the first and a shift, then on a third by what is left."""
    first = plane_first(a, on[0].point_mm, on[0].direction)
    n = on[0].direction
    flat = np.stack(across(n))
    q = first.apply(b) @ flat.T
    middle, wall = q.mean(0), flat @ on[1].direction
    normal = np.linalg.svd(q - middle, full_matrices=False)[2][1]
    normal = normal if normal @ wall > 0 else -normal
    angle = float(np.arctan2(normal[0] * wall[1] - normal[1] * wall[0], normal @ wall))
    second = _in_plane(first, n, flat, angle, middle, middle + wall * ((flat @ on[1].point_mm - middle) @ wall))
    left = cross(n, on[1].direction)
    gap = float((on[2].point_mm - second.apply(c).mean(0)) @ on[2].direction)
    return Motion(second.R, second.t + left * (gap / (left @ on[2].direction)))


def _in_plane(first: Motion, n: Array, flat: Array, angle: float, source: Array, goal: Array) -> Motion:
    """`first`, then a turn about n that takes the place `source` (2,) in the plane to `goal` (2,)."""
    R = Rotation.from_rotvec(angle * n).as_matrix()
    shift = flat.T @ goal - R @ (flat.T @ source)
    return Motion(R @ first.R, R @ first.t + shift)


def zone(columns: Array, heights: Array) -> float:
    """Width of the smallest zone: least 2 t with |heights - columns c| <= t, an exact linear program."""
    n, k = columns.shape
    size = np.abs(columns).max(0)
    A = columns / size
    rows = np.block([[A, -np.ones((n, 1))], [-A, -np.ones((n, 1))]])
    middle = heights.mean()
    h = (heights - middle) * 1e3  # micrometres, so that the solver's absolute tolerance is far below what counts
    found = linprog(
        np.r_[np.zeros(k), 1.0], rows, np.r_[h, -h], bounds=[(None, None)] * k + [(0.0, None)], method="highs-ds",
        options={"primal_feasibility_tolerance": 1e-10, "dual_feasibility_tolerance": 1e-10},
    )  # fmt: skip
    return 2e-3 * float(found.x[-1])
