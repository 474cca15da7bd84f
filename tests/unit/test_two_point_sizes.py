"""Two-point sizes of a cylinder. Expected values: analytic."""

import numpy as np
import pytest

from trysquare.core.errors import InputError
from trysquare.geometry import fit_cylinder, two_point_sizes

A = np.arange(8) * (np.pi / 4)
RINGS = np.concatenate(
    [np.column_stack([(25 + 0.01 * np.cos(2 * A)) * np.cos(A), (25 + 0.01 * np.cos(2 * A)) * np.sin(A), 0 * A + h])
     for h in (-10.0, 0.0, 10.0)]
)  # fmt: skip


def test_an_oval() -> None:
    """r = 25 + 0.01 cos 2a: sizes across are 50 + 0.02 cos 2a, mean and axis unmoved."""
    sizes = two_point_sizes(RINGS, fit_cylinder(RINGS, toward=[0, 0, 1]), tolerance_rad=0.01)
    expected = {frozenset((8 * k + i, 8 * k + i + 4)): 50 + 0.02 * np.cos(2 * A[i]) for k in range(3) for i in range(4)}
    assert {frozenset(map(int, pair)) for pair in sizes.pairs} == set(expected)
    for pair, size in zip(sizes.pairs, sizes.sizes_mm, strict=True):
        assert abs(size - expected[frozenset(map(int, pair))]) < 1e-9


def test_draws_keep_the_pairs() -> None:
    value = two_point_sizes(RINGS, fit_cylinder(RINGS), tolerance_rad=0.01)
    draws = RINGS + np.random.default_rng(0).normal(0, 0.05, (20, 24, 3))
    fits = fit_cylinder(draws)
    sizes = two_point_sizes(draws, fits, tolerance_rad=0.01, pairs=value.pairs)
    assert sizes.sizes_mm.shape == (20, 12)
    i, j = value.pairs[0]
    d = draws[4] - fits.point_mm[4]
    rho = np.linalg.norm(np.cross(d, fits.direction[4]), axis=1)
    assert abs(sizes.sizes_mm[4, 0] - rho[i] - rho[j]) < 1e-12


def test_none_where_nothing_is_opposite() -> None:
    half = RINGS[np.arange(24) % 8 < 4]
    sizes = two_point_sizes(half, fit_cylinder(half, toward=[0, 0, 1]), tolerance_rad=0.05)
    assert sizes.pairs.shape == (0, 2)
    assert sizes.sizes_mm.shape == (0,)


def test_heights_must_agree() -> None:
    skew = RINGS.copy()
    skew[np.arange(24) % 8 >= 4, 2] += 3.0
    fit = fit_cylinder(skew, toward=[0, 0, 1])
    assert not len(two_point_sizes(skew, fit, tolerance_rad=0.02).pairs)
    assert len(two_point_sizes(skew, fit, tolerance_rad=0.02, along_mm=4.0).pairs) == 12


def test_bad_input() -> None:
    fit = fit_cylinder(RINGS)
    with pytest.raises(InputError, match="above 0"):
        two_point_sizes(RINGS, fit, tolerance_rad=0.0)
    with pytest.raises(InputError, match="those of the fit"):
        two_point_sizes(RINGS[:20], fit, tolerance_rad=0.1)
