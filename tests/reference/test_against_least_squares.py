"""Round shapes against scipy.optimize.least_squares, started at the truth: independent computation."""

import numpy as np
import pytest
from null_space_data import cylinder, pose
from scipy.optimize import least_squares

from trysquare.core.frames import perpendicular
from trysquare.geometry import fit_circle, fit_cylinder, fit_sphere

TIGHT = {"method": "lm", "jac": "3-point", "xtol": 1e-15, "ftol": 1e-15, "gtol": 1e-15}
# On short arcs scipy stops where the sum of squares no longer shows a change: parameters to 1e-7 mm. There the second
# check decides, that our sum of squares is no larger. Exact answers: test_against_null_space_data.py.
FULL, SHORT = 2e-8, 5e-7


def by_scipy_cylinder(P: np.ndarray, at: np.ndarray, axis: np.ndarray, radius: float) -> tuple[np.ndarray, ...]:
    u, v = perpendicular(axis)

    def place(p: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        d = axis + p[2] * u + p[3] * v
        return at + p[0] * u + p[1] * v, d / np.linalg.norm(d)

    def distances(p: np.ndarray) -> np.ndarray:
        c, d = place(p)
        return np.linalg.norm(np.cross(P - c, d), axis=1) - p[4]

    p = least_squares(distances, [0, 0, 0, 0, radius], **TIGHT).x
    return (*place(p), p[4])


@pytest.mark.parametrize("seed", range(4))
def test_cylinder(seed: int) -> None:
    rng = np.random.default_rng(seed)
    made = cylinder(rng, 40, 25.0, 40.0, [2 * np.pi, np.pi, 1.0, 0.5][seed], 0.002, 200.0)
    P = made.points + rng.normal(0, 0.002, made.points.shape)
    fit = fit_cylinder(P, toward=made.axis)
    c, d, r = by_scipy_cylinder(P - made.at, np.zeros(3), made.axis, 25.0)
    tol = FULL if seed < 2 else SHORT
    assert abs(fit.radius_mm - r) < tol
    assert np.abs(fit.direction - d).max() < tol / 20
    assert np.linalg.norm(np.cross(fit.point_mm - made.at - c, d)) < tol
    # ours is no worse where the two part in the last digits
    left = np.linalg.norm(np.cross(P - made.at - c, d), axis=1) - r
    assert fit.sum_of_squares_mm2 <= (left @ left) * (1 + 1e-12)


@pytest.mark.parametrize("arc", [2 * np.pi, 1.0])
def test_circle_in_space(arc: float) -> None:
    rng = np.random.default_rng(7)
    R, _ = pose(rng, 0.0)
    theta = rng.uniform(0, arc, 25)
    P = np.column_stack([40 * np.cos(theta), 40 * np.sin(theta), 0 * theta]) + rng.normal(0, 0.02, (25, 3))
    fit = fit_circle(P @ R.T, toward=R[:, 2])

    def distances(p: np.ndarray) -> np.ndarray:
        w = np.array([p[3], p[4], 1.0]) / np.sqrt(1 + p[3] ** 2 + p[4] ** 2)
        q = P - p[:3]
        h = q @ w
        return np.r_[np.linalg.norm(q - h[:, None] * w, axis=1) - p[5], h]

    p = least_squares(distances, [0, 0, 0, 0, 0, 40], **TIGHT).x
    tol = FULL if arc > 1 else SHORT
    assert np.abs(fit.center_mm @ R - p[:3]).max() < tol
    assert abs(fit.radius_mm - p[5]) < tol
    assert fit.sum_of_squares_mm2 <= np.square(distances(p)).sum() * (1 + 1e-12)


@pytest.mark.parametrize("cap", [np.pi, 0.5])
def test_sphere(cap: float) -> None:
    rng = np.random.default_rng(8)
    z, theta = rng.uniform(np.cos(cap), 1, 30), rng.uniform(0, 2 * np.pi, 30)
    d = np.column_stack([np.sqrt(1 - z * z) * np.cos(theta), np.sqrt(1 - z * z) * np.sin(theta), z])
    P = 15 * d + rng.normal(0, 0.01, (30, 3))
    fit = fit_sphere(P)
    p = least_squares(lambda p: np.linalg.norm(P - p[:3], axis=1) - p[3], [0, 0, 0, 15], **TIGHT).x
    assert np.abs(fit.center_mm - p[:3]).max() < (FULL if cap > 1 else SHORT)
    assert abs(fit.radius_mm - p[3]) < (FULL if cap > 1 else SHORT)
    assert fit.sum_of_squares_mm2 <= np.square(np.linalg.norm(P - p[:3], axis=1) - p[3]).sum() * (1 + 1e-12)


def test_no_better_cylinder_from_fifty_starts() -> None:
    """The optimum found without a guess is the best that scipy finds from fifty random axes."""
    rng = np.random.default_rng(9)
    made = cylinder(rng, 12, 20.0, 25.0, 2 * np.pi, 1.5, 0.0)
    fit = fit_cylinder(made.points)
    best = np.inf
    for _ in range(50):
        axis = rng.normal(size=3)
        axis /= np.linalg.norm(axis)
        c, d, r = by_scipy_cylinder(made.points, made.points.mean(0), axis, 20.0)
        best = min(best, float(np.square(np.linalg.norm(np.cross(made.points - c, d), axis=1) - r).sum()))
    assert fit.sum_of_squares_mm2 <= best * (1 + 1e-9)
