"""Uncertainty of parameters against the spread of draws (seeded): independent computation."""

import numpy as np
import pytest

from trysquare.core.errors import InputError
from trysquare.geometry import fit_circle, fit_cylinder, fit_line, fit_plane, fit_sphere, parameter_u

RNG = np.random.default_rng(1)
A, Z = RNG.uniform(0, 1.5, 40), RNG.uniform(-20, 20, 40)
R = np.linalg.qr(RNG.normal(size=(3, 3)))[0]
AXIS = R[:, 2]
D = RNG.normal(size=(30, 3))
C = np.column_stack([25 * np.cos(A), 25 * np.sin(A)])
CASES = {
    "cylinder": (lambda p: fit_cylinder(p, toward=AXIS), np.column_stack([C, Z]) @ R.T, "radius_mm"),
    "circle": (lambda p: fit_circle(p, toward=-AXIS), np.column_stack([C, 0 * Z]) @ R.T, "radius_mm"),
    "circle in a plane": (fit_circle, C, "radius_mm"),
    "sphere": (fit_sphere, 9 * D / np.linalg.norm(D, axis=1)[:, None], "radius_mm"),
    "plane": (lambda p: fit_plane(p, toward=-AXIS), np.column_stack([Z, C[:, 1], 0 * Z]) @ R.T, "normal"),
    "line": (lambda p: fit_line(p, toward=-AXIS), np.column_stack([0 * C, Z]) @ R.T, "direction"),
    "line in a plane": (fit_line, np.column_stack([Z, 3 * Z]), "direction"),
}
U = 0.003


@pytest.mark.parametrize("name", CASES)
def test_spread_of_draws(name: str) -> None:
    fit, base, key = CASES[name]
    batch = fit(base + np.random.default_rng(2).normal(0, U, (4000, *base.shape)))
    told = parameter_u(fit(base), u_mm=U)
    spread = getattr(batch, key).std(0)
    assert np.abs(spread / told.u[key] - 1).max() < 0.06  # 4000 draws: standard error 1.1 %
    estimate = parameter_u(batch)
    assert estimate.freedom == batch.freedom
    assert abs(np.sqrt(np.mean(estimate.point_u_mm**2)) / U - 1) < 0.01
    assert estimate.covariance.shape == (4000, *told.covariance.shape)


@pytest.mark.parametrize("name", ["cylinder", "circle", "sphere"])
def test_covariance_of_everything_reported(name: str) -> None:
    fit, base, _ = CASES[name]
    batch = fit(base + np.random.default_rng(3).normal(0, U, (4000, *base.shape)))
    told = parameter_u(fit(base), u_mm=U)
    parts = [getattr(batch, key).reshape(4000, -1) for key in told.u]
    found = np.cov(np.concatenate(parts, 1).T)
    sd = np.sqrt(np.diag(told.covariance))
    wanted = told.covariance
    if name == "cylinder":  # along the axis the point follows the centroid by convention: compare across it
        across = np.eye(7)
        across[:3, :3] -= np.outer(AXIS, AXIS)
        found, wanted = across @ found @ across, across @ wanted @ across
    assert np.abs(found - wanted).max() < 0.08 * (sd.max() ** 2)
    assert np.allclose(sd, np.concatenate([np.ravel(v) for v in told.u.values()]))


def test_plane_in_closed_form() -> None:
    """u of the height of a plane is u / sqrt(n); of its tilt u / sqrt(sum x^2). Analytic."""
    x, y = (g.ravel() for g in np.meshgrid(np.linspace(-1, 1, 5), np.linspace(-2, 2, 5)))
    told = parameter_u(fit_plane(np.column_stack([x, y, 0 * x]), toward=[0, 0, 1]), u_mm=0.01)
    assert np.allclose(told.u["point_mm"], [0, 0, 0.01 / 5])
    assert np.allclose(told.u["normal"], [0.01 / np.sqrt((x * x).sum()), 0.01 / np.sqrt((y * y).sum()), 0])


def test_refusals_and_failed_members() -> None:
    exact = fit_plane(np.eye(3))
    with pytest.raises(InputError, match="degrees of freedom must be at least 1"):
        parameter_u(exact)
    with pytest.raises(InputError, match="above 0"):
        parameter_u(exact, u_mm=-1.0)
    assert parameter_u(exact, u_mm=0.01).freedom is None
    base = CASES["sphere"][1]
    told = parameter_u(fit_sphere(np.stack([base, np.ones_like(base)])), u_mm=0.01)
    assert np.isfinite(told.u["radius_mm"]).tolist() == [True, False]
