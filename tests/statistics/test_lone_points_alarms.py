"""Single points: no wolf cried over healthy plates and bores, whose forms differ tenfold (own simulation, seeded).

The limit's own figure is one job in 1000: of 400 none or one is named. Normal forms, independent from point to point.
"""

import numpy as np
import pytest

from trysquare.chance.form_noise import fit_columns
from trysquare.chance.lone_points import Residuals, lone_points

JOBS = 400


def bore(rng, form_mm, n=8, noise_mm=0.002):
    turn = np.arange(n) * 2 * np.pi / n + rng.uniform(0, 1)
    normals = np.column_stack([np.cos(turn), np.sin(turn), np.zeros(n)])
    points = 25 * normals + np.column_stack([np.zeros((n, 2)), np.where(np.arange(n) % 2, 10.0, -10.0)])
    residuals = rng.normal(0, np.hypot(form_mm, noise_mm), n)
    return Residuals(residuals, rng.normal(0, noise_mm, (200, n)), fit_columns(points, normals))


def plate(rng, form_mm, n=20, noise_mm=0.002):
    points = np.column_stack([rng.uniform(0, 500, (n, 2)), np.zeros(n)])
    columns = fit_columns(points, np.broadcast_to([0.0, 0.0, 1.0], points.shape))
    return Residuals(rng.normal(0, np.hypot(form_mm, noise_mm), n), rng.normal(0, noise_mm, (200, n)), columns)


def job(rng):
    """Six bores and four plates, forms of 2 to 20 um."""
    forms = 0.002 * 10 ** rng.uniform(0, 1, 10)
    return [bore(rng, f) for f in forms[:6]] + [plate(rng, f) for f in forms[6:]]


def named(features):
    return [k for k, found in enumerate(lone_points(features)) if found.times.max() > found.limit]


@pytest.mark.statistics
def test_healthy_jobs_say_nothing():
    rng = np.random.default_rng(77)
    assert sum(bool(named(job(rng))) for _ in range(JOBS)) <= 1


@pytest.mark.statistics
def test_a_point_a_millimetre_off_is_found_even_on_a_bore_of_eight():
    """Negative twin."""
    rng = np.random.default_rng(78)
    found = 0
    for k in range(60):
        features = job(rng)
        features[k % 10].residuals_mm[3] += 1.0
        found += named(features) == [k % 10]
    assert found >= 58
