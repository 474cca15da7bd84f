"""The minimum zone of a plane on points made from an alternating set. Expected values: analytic, by design.

The idea is that of null-space data (A. B. Forbes, H. D. Minh, Int. J. Metrol. Qual. Eng. 3 (2012) 145): lay down the
points that prove an optimum, then fill up below it.
"""

import numpy as np
import pytest

from trysquare.geometry import fit_plane, flatness, minimum_zone_plane


def made_zone(rng: np.random.Generator, width: float, n: int = 40) -> np.ndarray:
    """Points whose minimum zone is known: two on each of two planes `width` apart, crossed in plan, the rest between.

    The plan of the upper pair crosses that of the lower: no tilt lowers both, the condition of the optimum.
    """
    corner = rng.uniform(0.3, 1.0, (4, 1)) * np.array([[100, 80], [-100, -80], [100, -80], [-100, 80]])
    inner = np.column_stack([rng.uniform(-100, 100, (n - 4, 2)), rng.uniform(-0.49, 0.49, n - 4) * width])
    high = np.array([0.5, 0.5, -0.5, -0.5]) * width
    R = np.linalg.qr(rng.normal(size=(3, 3)))[0]
    return np.concatenate([np.column_stack([corner, high]), inner]) @ R.T + rng.normal(size=3) * 100


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize("width", [0.01, 2.0])
def test_flatness_of_a_zone_made_backwards(seed: int, width: float) -> None:
    """Expected value: analytic, by design."""
    points = made_zone(np.random.default_rng(seed), width)
    zone = minimum_zone_plane(points)
    assert abs(zone.width_mm - width) < 1e-11
    assert sorted(zone.certificate.contacts) == [0, 1, 2, 3]
    assert zone.certificate.kind == "global"
    assert 0 <= zone.certificate.gap_mm < 1e-11
    assert abs(np.ptp(zone.residuals_mm) - width) < 1e-11
    points[0] += zone.normal * 1e-6 * np.sign(zone.residuals_mm[0])  # negative twin: a nanometre too much shows
    assert abs(flatness(points) - width) > 1e-8


def test_no_tilt_found_by_search_is_narrower() -> None:
    """Thick sets, where the tilt counts to second order: a simplex search from many starts. Independent computation."""
    from scipy.optimize import minimize

    rng = np.random.default_rng(3)
    for points in rng.normal(size=(3, 30, 3)) * [10, 8, 1]:
        fit = fit_plane(points)
        u, v, w = fit.frame

        def width(tilt: np.ndarray, points=points, u=u, v=v, w=w) -> float:
            normal = w + tilt[0] * u + tilt[1] * v
            return float(np.ptp(points @ normal) / np.linalg.norm(normal))

        search = {"xatol": 1e-12, "fatol": 1e-13, "maxiter": 5000}
        starts = [np.zeros(2), *rng.normal(0, 0.1, (8, 2))]
        best = min(minimize(width, start, method="Nelder-Mead", options=search).fun for start in starts)
        assert abs(flatness(points) - best) < 1e-10
        assert flatness(points) < fit.form_mm
