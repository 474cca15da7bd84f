"""Arcs and patches of a degree and less: digits kept, covariance with them, and what is said."""

import numpy as np
import pytest

from trysquare.geometry import fit_circle, fit_cone, fit_cylinder, fit_sphere, parameter_u

RNG = np.random.default_rng(0)


def patch(shape: str, degrees: float, radius: float, n: int = 40) -> np.ndarray:
    """Exact points of a patch as wide as high, near the origin."""
    a = np.radians(RNG.uniform(-degrees / 2, degrees / 2, n))
    b = np.radians(RNG.uniform(-degrees / 2, degrees / 2, n))
    rise = -2 * np.sin(a / 2) ** 2
    if shape == "circle":
        return radius * np.column_stack([rise, np.sin(a)])
    if shape == "cylinder":
        return radius * np.column_stack([rise, np.sin(a), b])
    return radius * np.column_stack([rise - 2 * np.cos(a) * np.sin(b / 2) ** 2, np.sin(a) * np.cos(b), np.sin(b)])


FITS = {"circle": fit_circle, "cylinder": fit_cylinder, "sphere": fit_sphere}


@pytest.mark.parametrize("shape", FITS)
@pytest.mark.parametrize("degrees", [2.0, 0.5])
@pytest.mark.parametrize("radius", [0.1, 10.0, 1e4])
def test_exact_patches_keep_their_digits(shape: str, degrees: float, radius: float) -> None:
    """Analytic: the error is what rounding of the points, not of the radius, becomes through the Jacobian."""
    points = patch(shape, degrees, radius)
    fit = FITS[shape](points)
    rounding = 1e-16 * np.abs(points).max()
    assert abs(fit.radius_mm - radius) < 10 * parameter_u(fit, u_mm=rounding).u["radius_mm"] + 2e-16 * radius
    assert not fit.notes


@pytest.mark.parametrize("shape", FITS)
def test_draws_of_a_degree_spread_as_told(shape: str) -> None:
    points = patch(shape, 2.0, 100.0)
    noise = 1e-5
    draws = FITS[shape](points + RNG.normal(0, noise, (600, *points.shape)))
    told = parameter_u(FITS[shape](points), u_mm=noise).u["radius_mm"]
    assert draws.ok.all()
    assert abs((1 / draws.radius_mm).std() * 1e4 / told - 1) < 0.12  # curvatures spread evenly, radii do not


def test_rivals_are_told() -> None:
    """Two rings of four points lie on several cones all but alike; the negative twin has rings of eight."""

    def told(per: int) -> int:
        a = np.linspace(0, np.pi, per)
        ring = [np.column_stack([r * np.cos(a), r * np.sin(a), 0 * a + t]) for r, t in ((10.0, 0.0), (13.6, 10.0))]
        sets = [np.concatenate(ring) + np.random.default_rng(i).normal(0, 1e-4, (2 * per, 3)) for i in range(12)]
        return sum(any("Another cone" in note for note in fit_cone(points).notes) for points in sets)

    assert told(4) >= 4
    assert told(8) == 0
