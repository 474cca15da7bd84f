"""Robust losses: against scipy's minimiser at the same scale, points gone astray, and what is said of them."""

import numpy as np
import pytest
from scipy.optimize import least_squares

from trysquare.geometry import fit_circle, fit_cone, fit_cylinder, fit_line, fit_plane, fit_sphere, parameter_u


def bore(seed: int = 0, n: int = 80, astray: int = 12) -> tuple[np.ndarray, np.ndarray]:
    """Points of a bore of radius 10 mm, the first `astray` of them 0.5 to 3 mm off, and which."""
    rng = np.random.default_rng(seed)
    a, z = rng.uniform(0, 2 * np.pi, n), rng.uniform(0, 30, n)
    r = 10 + rng.normal(0, 0.01, n)
    r[:astray] += rng.uniform(0.5, 3.0, astray)
    return np.column_stack([r * np.cos(a), r * np.sin(a), z]), np.arange(n) < astray


def rho(u: np.ndarray, loss: str) -> np.ndarray:
    """The loss itself, written anew (P. W. Holland, R. E. Welsch, 1977)."""
    if loss == "huber":
        c = 1.345
        return np.where(np.abs(u) < c, u * u / 2, c * np.abs(u) - c * c / 2)
    c = 4.685
    return c * c / 6 * (1 - (1 - np.minimum(np.square(u / c), 1)) ** 3)


@pytest.mark.parametrize("loss", ["huber", "tukey"])
def test_minimum_at_its_own_scale(loss: str) -> None:
    """Independent computation: at the scale that the fit ends with, no step of any parameter lowers the loss."""
    points, _ = bore()
    fit = fit_cylinder(points, loss=loss)
    axis, u = fit.direction, np.cross(fit.direction, [1.0, 0, 0])
    u /= np.linalg.norm(u)
    v = np.cross(axis, u)

    def cost(p: np.ndarray) -> float:
        at, d = fit.point_mm + p[0] * u + p[1] * v, axis + p[2] * u + p[3] * v
        d /= np.linalg.norm(d)
        q = points - at
        distance = np.linalg.norm(q - (q @ d)[:, None] * d, axis=1) - fit.radius_mm - p[4]
        return float(rho(distance / fit.scale_mm, loss).sum())

    here = cost(np.zeros(5))
    for i in range(5):
        p = np.zeros(5)
        p[i] = 1e-6
        bend = cost(p) + cost(-p) - 2 * here
        assert abs(0.5 * (cost(p) - cost(-p)) / bend) * 1e-6 < 1e-9  # where a parabola has its minimum
    assert fit.ok


def test_huber_circle_against_scipy() -> None:
    rng = np.random.default_rng(1)
    a = rng.uniform(0, 2 * np.pi, 60)
    r = 20 + rng.normal(0, 0.02, 60) + np.where(np.arange(60) < 6, 0.8, 0.0)
    points = np.column_stack([r * np.cos(a), r * np.sin(a)])
    fit = fit_circle(points, loss="huber")
    done = least_squares(
        lambda p: np.hypot(points[:, 0] - p[0], points[:, 1] - p[1]) - p[2], [0.0, 0.0, 20.0], loss="huber",
        f_scale=1.345 * float(fit.scale_mm), xtol=1e-15, ftol=1e-15, gtol=1e-15,
    )  # fmt: skip
    assert np.abs(np.r_[fit.center_mm, fit.radius_mm] - done.x).max() < 1e-7
    assert not fit.set_aside.any()


def test_tukey_says_what_it_set_aside() -> None:
    points, astray = bore()
    fit = fit_cylinder(points, loss="tukey")
    assert np.array_equal(fit.set_aside, astray)
    clean = fit_cylinder(points[~astray])
    assert abs(fit.radius_mm - clean.radius_mm) < 0.002
    assert abs(fit_cylinder(points).radius_mm - 10) > 0.1  # the negative twin: squares do not
    assert 0.008 < fit.scale_mm < 0.014  # 68 good points of 0.01 mm, median of all 80
    assert fit.freedom == 68 - 5
    assert fit.loss == "tukey"


def test_squares_set_nothing_aside() -> None:
    fit = fit_cylinder(bore()[0])
    assert fit.set_aside is None
    assert fit.scale_mm is None


@pytest.mark.parametrize("loss", ["huber", "tukey"])
def test_draws_spread_as_told(loss: str) -> None:
    """A third of the points carry ten times the noise: the covariance of the robust fit against 600 draws."""
    rng = np.random.default_rng(2)
    a, z = rng.uniform(0, 2 * np.pi, 60), rng.uniform(0, 30, 60)
    base = np.column_stack([10 * np.cos(a), 10 * np.sin(a), z])
    noise = rng.normal(0, 0.01, (600, 60)) * np.where(rng.uniform(size=(600, 60)) < 0.2, 10.0, 1.0)
    draws = fit_cylinder(base + noise[:, :, None] * base * [0.1, 0.1, 0], loss=loss)
    told = parameter_u(draws)
    assert abs(np.median(told.u["radius_mm"]) / draws.radius_mm.std() - 1) < 0.12
    assert draws.ok.mean() > 0.98


def test_plane_line_sphere_cone() -> None:
    rng = np.random.default_rng(3)
    points = rng.normal(size=(50, 3)) * [20, 20, 0.01]
    points[:8, 2] += 2.0
    plane = fit_plane(points, loss="tukey")
    assert np.flatnonzero(plane.set_aside).tolist() == list(range(8))
    assert np.abs(plane.normal[:2]).max() < 1e-3
    line = fit_line(points[:, [0, 2]] * [1, 1], loss="tukey")
    assert np.flatnonzero(line.set_aside).tolist() == list(range(8))
    along = fit_line(np.column_stack([points[:, 0], points[:, 2], rng.normal(0, 0.01, 50)]), loss="tukey")
    assert set(range(8)) <= set(np.flatnonzero(along.set_aside))
    d = rng.normal(size=(50, 3))
    far = 5 + rng.normal(0, 0.001, 50) + 0.3 * (np.arange(50) < 9)
    ball = d / np.linalg.norm(d, axis=1, keepdims=True) * far[:, None]
    sphere = fit_sphere(ball, loss="tukey")
    assert set(range(9)) <= set(np.flatnonzero(sphere.set_aside))
    a, t = rng.uniform(0, 6.28, 70), rng.uniform(5, 20, 70)
    r = 0.4 * t + rng.normal(0, 0.002, 70) + 0.4 * (np.arange(70) < 10)
    cone = fit_cone(np.column_stack([r * np.cos(a), r * np.sin(a), t]), loss="tukey")
    assert set(range(10)) <= set(np.flatnonzero(cone.set_aside))
    assert abs(cone.half_angle_rad - np.arctan(0.4)) < 2e-3


def test_a_member_alone_or_in_a_batch() -> None:
    sets = np.stack([bore(seed)[0] for seed in range(4)])
    batch = fit_cylinder(sets, loss="tukey")
    for i, one in enumerate(sets):
        alone = fit_cylinder(one, loss="tukey")
        assert np.array_equal(alone.set_aside, batch.set_aside[i])
        assert abs(alone.radius_mm - batch.radius_mm[i]) < 1e-9


def test_point_u_has_the_factor_for_few_points() -> None:
    """Independent computation: Huber's formula written out for the circle's own residuals. Without K it is 3 % less."""
    t = np.linspace(0, 2 * np.pi, 12, endpoint=False)
    e = np.random.default_rng(4).normal(0, 0.01, 12) + np.where(np.arange(12) == 5, 0.1, 0.0)
    fit = fit_circle(np.column_stack([np.cos(t), np.sin(t)]) * (10 + e)[:, None], loss="huber")
    u = fit.residuals_mm / fit.scale_mm
    inside = np.abs(u) < 1.345
    assert 0 < (~inside).sum() < 6
    m = inside.mean()
    plain = fit.scale_mm * np.sqrt((np.clip(u, -1.345, 1.345) ** 2).sum() / (12 - 3)) / m
    K = 1 + 3 / 12 * (1 - m) / m
    assert abs(fit.point_u_mm / (K * plain) - 1) < 1e-9
    assert abs(fit.point_u_mm / plain - 1) > 0.02
