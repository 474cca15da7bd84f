"""How often a cylinder fit misses the optimum, and when arcs are doubted: the figures of docs/methods/geometry.md."""

import numpy as np
import pytest

from trysquare.core.errors import RankError
from trysquare.geometry import fit_circle, fit_cylinder

pytestmark = pytest.mark.statistics


@pytest.mark.parametrize("n", [8, 12])
@pytest.mark.parametrize("length", [0.1, 2.0, 10.0, 100.0, 1000.0])
@pytest.mark.parametrize("arc", [2 * np.pi, 1.0, 0.2])
def test_exact_points_are_found_again(n: int, length: float, arc: float) -> None:
    """Radius 5 mm, points anywhere: the optimum leaves nothing. Each set is the first of its batch of one."""
    rng = np.random.default_rng(5)
    for _ in range(40):
        a, z = rng.uniform(0, arc, n), rng.uniform(-length / 2, length / 2, n)
        R = np.linalg.qr(rng.normal(size=(3, 3)))[0]
        points = np.column_stack([5 * np.cos(a), 5 * np.sin(a), z]) @ R.T
        assert np.abs(fit_cylinder(points[None]).residuals_mm).max() < 1e-7


def doubted(fit, degrees: float, sets: int = 100) -> float:
    """Share of arcs of 30 points, radius 100 mm, noise 0.02 mm, that are refused or answer with a note."""
    rng = np.random.default_rng(0)
    count = 0
    for _ in range(sets):
        a = np.radians(np.r_[0, degrees, rng.uniform(0, degrees, 28)])
        points = np.column_stack([100 * np.cos(a), 100 * np.sin(a), rng.uniform(0, 20, 30)])
        points += rng.normal(0, 0.02, points.shape)
        try:
            count += bool(fit(points[:, :2] if fit is fit_circle else points).notes)
        except RankError:
            count += 1
    return count / sets


@pytest.mark.parametrize("fit", [fit_circle, fit_cylinder])
def test_short_arcs_are_doubted_and_longer_ones_are_not(fit) -> None:
    assert doubted(fit, 2.0) > 0.85
    assert doubted(fit, 10.0) == 0.0
    assert doubted(fit, 90.0, 20) == 0.0
