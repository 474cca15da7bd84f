"""A batch is the same as a loop, and the number of threads changes no digit."""

import dataclasses
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from trysquare.core.threads import threads
from trysquare.geometry import (
    fit_circle,
    fit_cylinder,
    fit_line,
    fit_plane,
    fit_sphere,
    flatness,
    minimum_zone_plane,
    zone_width,
)

RNG = np.random.default_rng(3)
A, Z = RNG.uniform(0, 4, 24), RNG.uniform(-30, 30, 24)
RING = np.column_stack([25 * np.cos(A), 25 * np.sin(A)])
D = RNG.normal(size=(24, 3))
BASES = {
    "cylinder": (fit_cylinder, np.column_stack([RING, Z])),
    "circle": (fit_circle, np.column_stack([RING, 0 * Z])),
    "circle in a plane": (fit_circle, RING),
    "sphere": (fit_sphere, 20 * D / np.linalg.norm(D, axis=1)[:, None]),
    "plane": (fit_plane, np.column_stack([RING, 0 * Z])),
    "line": (fit_line, np.column_stack([0 * RING, Z])),
    "line in a plane": (fit_line, np.column_stack([Z, 2 * Z])),
    "minimum zone": (minimum_zone_plane, np.column_stack([RING, 0 * Z])),
}


def draws(name: str, m: int, sd: float = 0.01) -> np.ndarray:
    base = BASES[name][1]
    return base + np.random.default_rng(5).normal(0, sd, (m, *base.shape))


def fields(fit: Any) -> dict[str, np.ndarray]:
    values = {f.name: getattr(fit, f.name) for f in dataclasses.fields(fit)}
    return {k: np.asarray(v) for k, v in values.items() if v is not None}


@pytest.mark.parametrize("name", BASES)
def test_batch_is_a_loop(name: str) -> None:
    fit, _ = BASES[name]
    points = draws(name, 8)
    batch = fit(points)
    for i, one in enumerate(points):
        single = fit(one)
        for key, value in fields(single).items():
            if value.dtype.kind == "f" and key not in ("frame", "normal_matrix"):  # frames may turn about the axis
                assert np.abs(value - fields(batch)[key][i]).max() < 2e-10, key


@pytest.mark.parametrize("name", BASES)
def test_two_leading_axes(name: str) -> None:
    fit, _ = BASES[name]
    points = draws(name, 6)
    once, twice = fit(points), fit(points.reshape(2, 3, *points.shape[1:]))
    for key, value in fields(once).items():
        assert np.array_equal(value.reshape(2, 3, *value.shape[1:]), fields(twice)[key]), key


@pytest.mark.parametrize("name", BASES)
def test_threads_change_no_digit(name: str) -> None:
    fit, _ = BASES[name]
    points = draws(name, 300)
    with threads(1):
        one = fields(fit(points))
    with threads(2):
        two = fields(fit(points))
    for key, value in one.items():
        assert np.array_equal(value, two[key], equal_nan=value.dtype.kind == "f"), key


def test_threads_change_no_digit_of_zones() -> None:
    columns = np.column_stack([np.ones(24), RING])
    heights = np.random.default_rng(6).normal(size=(300, 24))
    with threads(1):
        one = zone_width(columns, heights), flatness(draws("plane", 300))
    with threads(2):
        two = zone_width(columns, heights), flatness(draws("plane", 300))
    assert np.array_equal(one[0], two[0])
    assert np.array_equal(one[1], two[1])


@pytest.mark.parametrize("fit", [fit_cylinder, fit_circle, fit_sphere])
def test_members_unlike_the_first_get_their_own_start(fit: Callable[..., Any]) -> None:
    """Other places, sizes and directions in one batch: each finds its own optimum."""
    rng = np.random.default_rng(7)
    name = {fit_cylinder: "cylinder", fit_circle: "circle", fit_sphere: "sphere"}[fit]
    base, members = BASES[name][1], []
    for _ in range(30):
        R = np.linalg.qr(rng.normal(size=(3, 3)))[0]
        size = rng.uniform(0.2, 5)
        members.append(base @ R.T * size + rng.normal(size=3) * 500 + rng.normal(0, 0.003, base.shape))
    batch = fit(np.array(members))
    assert batch.ok.all()
    for i, member in enumerate(members):
        single = fit(member)
        assert abs(batch.radius_mm[i] - single.radius_mm) < 1e-9
        assert abs(batch.sum_of_squares_mm2[i] - single.sum_of_squares_mm2) < 1e-12


def test_a_member_that_cannot_be_fitted_says_so_and_spares_the_others() -> None:
    points = draws("cylinder", 5)
    points[0] = 1.0
    points[3] = np.linspace(0, 1, 24)[:, None] * [1.0, 2.0, 3.0]
    batch = fit_cylinder(points)
    assert batch.ok.tolist() == [False, True, True, False, True]
    assert batch.stopped[3] == "directions left open"
    assert batch.rank[3] < 5
    assert batch.rank[4] == 5
    assert np.isnan(batch.radius_mm[[0, 3]]).all()
    assert np.isnan(batch.residuals_mm[3]).all()
    assert np.abs(batch.radius_mm[[1, 2, 4]] - 25).max() < 0.05
    planes = draws("plane", 3)
    planes[1] = np.linspace(0, 1, 24)[:, None] * [1.0, 2.0, 3.0]
    assert fit_plane(planes).ok.tolist() == [True, False, True]
    assert np.isnan(flatness(planes)).tolist() == [False, True, False]


def test_first_exact_others_noisy() -> None:
    """A first member without noise does not make the others look out of keeping."""
    points = draws("cylinder", 200, 0.01)
    points[0] = BASES["cylinder"][1]
    batch = fit_cylinder(points)
    assert batch.ok.all()
    assert abs(batch.radius_mm[7] - fit_cylinder(points[7]).radius_mm) < 1e-9
