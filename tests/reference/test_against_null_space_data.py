"""Least-squares shapes against data made backwards (Forbes and Minh 2012). Expected values: analytic, by design."""

import numpy as np
import pytest
from null_space_data import Artefact, circle, cylinder, line, plane, sphere

from trysquare.geometry import fit_circle, fit_cylinder, fit_line, fit_plane, fit_sphere

TURN, TEN = 2 * np.pi, np.pi / 18
# name: radius, length, arc, rms residual
CYLINDERS = {
    "bore": (25.0, 60.0, TURN, 0.01),
    "large form": (25.0, 60.0, TURN, 0.5),
    "disc": (50.0, 1.0, TURN, 0.001),
    "long": (5.0, 1000.0, TURN, 0.01),
    "half": (25.0, 20.0, np.pi, 0.01),
    "arc of 10 degrees": (100.0, 50.0, TEN, 0.001),
    "long arc of 10 degrees": (10.0, 1000.0, TEN, 0.0001),
    "short arc of 10 degrees": (100.0, 5.0, TEN, 0.0001),
}


def tolerance(offset: float, short: bool) -> float:
    """mm. An offset rounds the coordinates themselves (4 e-13 of it), which a short arc magnifies a thousandfold."""
    return 1e-9 if offset == 0 else max(1e-9, 1e-14 * offset * (500 if short else 1))


def across(artefact: Artefact, point: np.ndarray) -> float:
    """Distance of a point from the artefact's axis."""
    return float(np.linalg.norm(np.cross(point - artefact.at, artefact.axis)))


@pytest.mark.parametrize("offset", [0.0, 1e4])
@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("name", CYLINDERS)
def test_cylinder(name: str, seed: int, offset: float) -> None:
    radius, length, arc, e = CYLINDERS[name]
    made = cylinder(np.random.default_rng(seed), 40, radius, length, arc, e, offset)
    fit = fit_cylinder(made.points)
    tol = tolerance(offset, arc < 1)
    assert abs(fit.radius_mm - radius) < tol
    assert across(made, fit.point_mm) < tol
    assert np.linalg.norm(np.cross(fit.direction, made.axis)) < max(1e-9, tol / length * 10)
    assert np.abs(fit.residuals_mm - made.residuals).max() < max(1e-9, 1e-14 * offset)
    assert fit.ok
    assert fit.rank == 5


@pytest.mark.parametrize("offset", [0.0, 1e4])
@pytest.mark.parametrize(("cap", "e"), [(np.pi, 0.01), (np.pi / 2, 0.01), (TEN / 2, 0.0001)])
def test_sphere(cap: float, e: float, offset: float) -> None:
    made = sphere(np.random.default_rng(4), 40, 30.0, cap, e, offset)
    fit = fit_sphere(made.points)
    tol = tolerance(offset, cap < 1)
    assert np.abs(fit.center_mm - made.at).max() < tol
    assert abs(fit.radius_mm - 30.0) < tol
    assert np.abs(fit.residuals_mm - made.residuals).max() < max(1e-9, 1e-14 * offset)


@pytest.mark.parametrize("offset", [0.0, 1e4])
@pytest.mark.parametrize(("arc", "e"), [(TURN, 0.01), (np.pi / 2, 0.01), (TEN, 0.0001)])
def test_circle_in_space(arc: float, e: float, offset: float) -> None:
    made = circle(np.random.default_rng(5), 30, 80.0, arc, e, offset)
    fit = fit_circle(made.points)
    tol = tolerance(offset, arc < 1)
    assert np.abs(fit.center_mm - made.at).max() < tol
    assert abs(fit.radius_mm - 80.0) < tol
    assert np.linalg.norm(np.cross(fit.normal, made.axis)) < max(1e-9, tol / 10)
    assert np.abs(fit.residuals_mm - made.residuals).max() < max(1e-9, 1e-14 * offset)


@pytest.mark.parametrize("offset", [0.0, 1e4])
@pytest.mark.parametrize(("arc", "e"), [(TURN, 0.01), (TEN, 0.0001)])
def test_circle_in_a_plane(arc: float, e: float, offset: float) -> None:
    made = circle(np.random.default_rng(6), 30, 80.0, arc, e, offset, flat=True)
    fit = fit_circle(made.points)
    assert np.abs(fit.center_mm - made.at).max() < tolerance(offset, arc < 1)
    assert abs(fit.radius_mm - 80.0) < tolerance(offset, arc < 1)


@pytest.mark.parametrize("offset", [0.0, 1e4])
@pytest.mark.parametrize(("a", "b"), [(300.0, 200.0), (2000.0, 2.0)])
def test_plane(a: float, b: float, offset: float) -> None:
    made = plane(np.random.default_rng(7), 50, a, b, 0.01, offset)
    fit = fit_plane(made.points, toward=made.axis)
    assert np.abs(fit.residuals_mm - made.residuals).max() < 1e-9
    assert np.linalg.norm(np.cross(fit.normal, made.axis)) < 1e-9 / min(1.0, b / 300)
    assert abs((fit.point_mm - made.at) @ made.axis) < 1e-9


@pytest.mark.parametrize("offset", [0.0, 1e4])
def test_line(offset: float) -> None:
    made = line(np.random.default_rng(8), 30, 500.0, 0.02, offset)
    fit = fit_line(made.points)
    assert np.linalg.norm(np.cross(fit.direction, made.axis)) < 1e-9
    assert across(made, fit.point_mm) < 1e-9
    assert np.abs(fit.residuals_mm - made.residuals).max() < 1e-9


def test_negative_twin_a_moved_point_shows() -> None:
    """A micrometre at one point of forty moves the answer by far more than the tolerance: the check can fail."""
    made = cylinder(np.random.default_rng(0), 40, 25.0, 60.0, TURN, 0.01, 0.0)
    points = made.points.copy()
    points[3, 0] += 1e-3
    fit = fit_cylinder(points)
    assert across(made, fit.point_mm) > 1e-6
    assert abs(fit.radius_mm - 25.0) > 1e-6
