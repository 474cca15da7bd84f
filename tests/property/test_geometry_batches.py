"""A batch is the same as a loop, and the number of threads changes no digit."""

import dataclasses
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from geometry_ways import WAYS, rotation

from trysquare.core.threads import threads
from trysquare.geometry import fit_circle, fit_cylinder, fit_plane, fit_sphere, flatness, zone_width

RNG = np.random.default_rng(3)
A, Z = RNG.uniform(0, 4, 24), RNG.uniform(-30, 30, 24)
RING = np.column_stack([25 * np.cos(A), 25 * np.sin(A)])
D = RNG.normal(size=(24, 3))
BASES = {
    "cylinder": np.column_stack([RING, Z]),
    "circle": np.column_stack([RING, 0 * Z]),
    "sphere": 20 * D / np.linalg.norm(D, axis=1)[:, None],
    "plane": np.column_stack([RING, 0 * Z]),
}


def draws(name: str, m: int, sd: float = 0.01) -> np.ndarray:
    base = BASES[name]
    return base + np.random.default_rng(5).normal(0, sd, (m, *base.shape))


def many(name: str, m: int) -> np.ndarray:
    """Draws of the points of a way."""
    base = WAYS[name].make(np.random.default_rng(11))
    return base + np.random.default_rng(5).normal(0, 0.01, (m, *base.shape))


def fields(fit: Any) -> dict[str, np.ndarray]:
    """Every array of a fit, those of its certificate too."""
    out = {}
    for field in dataclasses.fields(fit):
        value = getattr(fit, field.name)
        if dataclasses.is_dataclass(value):
            out |= {f"{field.name}.{key}": v for key, v in fields(value).items()}
        elif value is not None and not isinstance(value, str | tuple):
            out[field.name] = np.asarray(value)
    return {k: v for k, v in out.items() if v.ndim or v.dtype.kind != "O"}


@pytest.mark.parametrize("name", WAYS)
def test_batch_is_a_loop(name: str) -> None:
    fit = WAYS[name]
    points = many(name, 8)
    batch = fields(fit(points))
    for i, one in enumerate(points):
        for key, value in fields(fit(one)).items():
            if value.dtype.kind == "f" and key not in (
                "frame",
                "normal_matrix",
                "cofactor",
            ):  # frames may turn about the axis
                assert np.allclose(value, batch[key][i], rtol=0, atol=2e-10, equal_nan=True), key
            elif key == "certificate.contacts":
                assert set(value) == set(batch[key][i])
            elif key == "certificate.kind":
                assert value == batch[key][i]


@pytest.mark.parametrize("name", WAYS)
def test_two_leading_axes(name: str) -> None:
    fit = WAYS[name]
    points = many(name, 6)
    once, twice = fields(fit(points)), fields(fit(points.reshape(2, 3, *points.shape[1:])))
    for key, value in once.items():
        same = value.reshape(2, 3, *value.shape[1:])
        assert np.array_equal(same, twice[key], equal_nan=value.dtype.kind == "f"), key


@pytest.mark.parametrize("name", WAYS)
def test_threads_change_no_digit(name: str) -> None:
    fit = WAYS[name]
    points = many(name, 300 if fit.squares else 100)
    with threads(1):
        one = fields(fit(points))
    with threads(2):
        two = fields(fit(points))
    for key, value in one.items():
        assert np.array_equal(value, two[key], equal_nan=value.dtype.kind == "f"), key


@pytest.mark.parametrize("name", [name for name, way in WAYS.items() if not way.fixed])
def test_one_bad_member_says_so_and_spares_the_others(name: str) -> None:
    """Coincident points as one member of a batch: NaN and a reason there, the others as without it."""
    fit = WAYS[name]
    points = many(name, 4)
    alone = fit(points[[0, 1, 3]])
    points[2] = 7.0
    batch = fit(points)
    numbers = [key for key, value in fields(batch).items() if value.dtype.kind == "f" and key.endswith("_mm")]
    for key in numbers:
        mixed, clean = fields(batch)[key], fields(alone)[key]
        assert np.allclose(mixed[[0, 1, 3]], clean, rtol=0, atol=2e-10, equal_nan=True), key
        assert not np.isfinite(mixed[2]).any(), key
    assert batch.ok.tolist() == [True, True, False, True]
    assert len({str(batch.stopped[2]), str(batch.stopped[0])}) == 2


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
    base, members = BASES[name], []
    for _ in range(30):
        R = rotation(rng)
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
    points[0] = BASES["cylinder"]
    batch = fit_cylinder(points)
    assert batch.ok.all()
    assert abs(batch.radius_mm[7] - fit_cylinder(points[7]).radius_mm) < 1e-9
