"""Weights by area: even scans have even ones, uneven ones get the area of the feature back."""

import numpy as np
import pytest

from trysquare.core.errors import InputError
from trysquare.geometry import area_weights, fit_cylinder, fit_plane

RNG = np.random.default_rng(0)


def around(a: np.ndarray, r: np.ndarray | float, t: np.ndarray) -> np.ndarray:
    return np.column_stack([r * np.cos(a), r * np.sin(a), t])


def test_even_grid_on_a_plane() -> None:
    """Analytic: edges and corners stand for as much beyond as within, so a grid is even; rounding makes no slivers."""
    x, y = np.meshgrid(np.arange(7.0), np.arange(5.0) * 0.5)
    points = np.column_stack([x.ravel(), y.ravel(), 1e-5 * RNG.normal(size=35)])
    assert np.abs(area_weights(points) - 1).max() < 1e-6


def test_even_rings_on_a_cylinder_and_a_patch_of_it() -> None:
    a, z = np.meshgrid(np.linspace(0, 2 * np.pi, 24, endpoint=False), np.arange(5.0))
    assert np.abs(area_weights(around(a.ravel(), 10.0, z.ravel()), shape="cylinder") - 1).max() < 1e-9
    part = a.ravel() < 3
    assert np.abs(area_weights(around(a.ravel(), 10.0, z.ravel())[part], shape="cylinder") - 1).max() < 1e-9


def test_along_curves() -> None:
    """Half the gaps to both sides; ends count their gap twice; a circle closes unless a quarter turn is missing."""
    assert np.allclose(area_weights([[0, 0], [1, 0.1], [3, 0.3]], shape="line") * 1.5, [1, 1.5, 2])
    a = np.array([0, 0.5, 1.5, 3.0, 4.5, 5.5])
    closed = area_weights(np.column_stack([np.cos(a), np.sin(a)]), shape="circle")
    gaps = np.diff(a, append=2 * np.pi)
    assert np.allclose(closed, (gaps + np.roll(gaps, 1)) / 2 / (2 * np.pi / 6))
    arc = np.array([5.8, 6.0, 6.4, 7.0])
    open_ = area_weights(around(arc, 3.0, 0 * arc), shape="circle")
    assert np.allclose(open_ / open_[0], [1, 1.5, 2.5, 3])


def test_coincident_points_share() -> None:
    x, y = np.meshgrid(np.arange(5.0), np.arange(5.0))
    grid = np.column_stack([x.ravel(), y.ravel(), 1e-6 * RNG.normal(size=25)])
    weights = area_weights(np.concatenate([grid, grid[12:13]]))
    assert np.allclose(weights[[12, 25]] * 2, weights[0])
    line = area_weights([[0, 0], [1, 1], [1, 1], [2, 2]], shape="line")
    assert np.allclose(line, np.array([1, 0.5, 0.5, 1]) * 4 / 3)


@pytest.mark.parametrize("shape", ["plane", "sphere", "cylinder", "cone", "torus"])
def test_uneven_scans_get_their_area_back(shape: str) -> None:
    """Analytic: the share of area of one half, scanned ten times as densely as the other, but for the strip between."""
    n = 3000
    half = np.arange(n) < n * 10 // 11
    u, v = RNG.uniform(0, 1, n), RNG.uniform(0, 1, n)
    a = np.where(half, u, 1 + u) * np.pi
    points = {
        "plane": np.column_stack([np.where(half, u, 1 + u) * 50, v * 80, RNG.normal(0, 1e-4, n)]),
        "cylinder": around(a, 10.0, 40 * v),
        "cone": around(a, 0.5 * np.sqrt(10**2 + v * (40**2 - 10**2)), np.sqrt(10**2 + v * (40**2 - 10**2))),
        "sphere": around(a, 10 * np.sqrt(1 - (2 * v - 1) ** 2), 10 * (2 * v - 1)),
        "torus": around(a, 20 + 5 * np.cos(2 * np.pi * v), 5 * np.sin(2 * np.pi * v)),
    }[shape]
    weights = area_weights(points, shape=shape)
    assert abs(weights.mean() - 1) < 1e-12
    assert abs(weights[half].mean() * half.mean() - 0.5) < 0.05  # alike it would be 0.41
    assert weights.min() >= 0


def test_a_bowed_plane_scanned_unevenly() -> None:
    """Weighted by area the mean height is that of the area; counted alike it is that of the dense end."""
    x = 100 * RNG.uniform(0, 1, 2000) ** 3
    points = np.column_stack([x, RNG.uniform(0, 50, 2000), 0.01 * np.square((x - 50) / 50)])
    weighted = fit_plane(points, weights=area_weights(points), normal=[0, 0, 1])
    alike = fit_plane(points, normal=[0, 0, 1])
    assert abs(weighted.point_mm[2] - 0.01 / 3) < 0.0003
    assert alike.point_mm[2] > 0.004


def test_weights_go_into_a_fit() -> None:
    a, z = RNG.uniform(0, 2 * np.pi, 300), RNG.uniform(0, 30, 300) ** 1.3
    points = around(a, 10 + 0.01 * np.cos(2 * a), z)
    fit = fit_cylinder(points, weights=area_weights(points, shape="cylinder"))
    assert fit.ok
    assert abs(fit.radius_mm - 10) < 0.002


@pytest.mark.parametrize(("points", "options", "words"), [
    (np.zeros((2, 9, 3)), {}, "one set"),
    (RNG.normal(size=(9, 3)), {"shape": "egg"}, "be one of line, plane"),
    (RNG.normal(size=(9, 2)), {}, "3 coordinates"),
])  # fmt: skip
def test_bad_input(points, options, words: str) -> None:
    with pytest.raises(InputError, match=words):
        area_weights(points, **options)
