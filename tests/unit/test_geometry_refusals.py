"""What a fit says when the points cannot carry the shape: place, rule, found, way out."""

import re

import numpy as np
import pytest

from trysquare.core.errors import InputError, RankError
from trysquare.geometry import fit_circle, fit_cylinder, fit_line, fit_plane, fit_sphere, flatness, parameter_u

RNG = np.random.default_rng(0)
T = np.linspace(0, 1, 12)[:, None]
ON_A_LINE = T * [1.0, 2.0, 3.0] + [5.0, 0.0, 0.0]
SAME = np.full((12, 3), 3.0)
A = np.linspace(0, 2 * np.pi, 12, endpoint=False)
RING = np.column_stack([5 * np.cos(A), 5 * np.sin(A), 0 * A])
BOX = np.array([[x, y, z] for x in (-1.0, 1) for y in (-1.0, 1) for z in (-2.0, 2)])
FITS = {fit_plane: 3, fit_line: 2, fit_circle: 3, fit_sphere: 4, fit_cylinder: 5}


def arc(degrees: float, noise: float, n: int = 30) -> np.ndarray:
    a = np.radians(np.linspace(0, degrees, n))
    points = np.column_stack([100 * np.cos(a), 100 * np.sin(a), np.tile([0.0, 10, 20], n // 3)])
    return points + np.random.default_rng(1).normal(0, noise, points.shape)


@pytest.mark.parametrize("fit", FITS)
def test_too_few_points(fit) -> None:
    with pytest.raises(InputError, match=f"at least {FITS[fit]}; got {FITS[fit] - 1}"):
        fit(RNG.normal(size=(FITS[fit] - 1, 3)))


@pytest.mark.parametrize("fit", FITS)
@pytest.mark.parametrize("bad", [np.nan, np.inf])
def test_not_finite(fit, bad: float) -> None:
    points = RNG.normal(size=(2, 12, 3))
    points[1, 4, 2] = bad
    with pytest.raises(InputError, match=r"value \(1, 4, 2\) must be finite"):
        fit(points)


@pytest.mark.parametrize("fit", FITS)
def test_coincident_points(fit) -> None:
    with pytest.raises(RankError) as info:
        fit(SAME)
    assert info.value.ratio < info.value.threshold
    with pytest.raises(RankError):
        fit(np.stack([SAME, SAME]))


@pytest.mark.parametrize("fit", [fit_plane, fit_circle, fit_sphere, fit_cylinder])
def test_points_on_one_line(fit) -> None:
    with pytest.raises(RankError, match="line"):
        fit(ON_A_LINE)


def test_circle_in_a_plane_on_one_line() -> None:
    with pytest.raises(RankError, match="one line"):
        fit_circle(ON_A_LINE[:, :2])


def test_sphere_through_one_circle() -> None:
    with pytest.raises(RankError, match=r"many spheres pass through one circle.*pole"):
        fit_sphere(RING)


def test_cylinder_from_one_ring() -> None:
    with pytest.raises(RankError, match=r"one plane.*ring of points at another height"):
        fit_cylinder(RING)
    with pytest.raises(RankError, match="ring of points at another height"):
        fit_cylinder(RING + np.random.default_rng(2).normal(0, 0.01, RING.shape))


def test_two_rings_of_four_lie_on_three_cylinders() -> None:
    """Eight corners of a box: the direction of the axis decides, and without it nothing does."""
    with pytest.raises(RankError, match="another cylinder"):
        fit_cylinder(BOX)
    along = fit_cylinder(BOX, toward=[0.1, 0, -1])
    assert np.abs(along.direction - [0, 0, -1]).max() < 1e-12
    assert abs(along.radius_mm - np.sqrt(2)) < 1e-12
    across = fit_cylinder(BOX, toward=[1, 0, 0.2])
    assert abs(across.radius_mm - np.sqrt(5)) < 1e-12


def test_five_points_lie_on_several_cylinders() -> None:
    rng = np.random.default_rng(11)
    a = rng.uniform(0, 2 * np.pi, 5)
    five = np.column_stack([20 * np.cos(a), 20 * np.sin(a), rng.uniform(0, 30, 5)])
    with pytest.raises(RankError, match="another cylinder"):
        fit_cylinder(five)
    guided = fit_cylinder(five, toward=[0, 0, 1])
    assert abs(guided.direction[2]) > 0.7
    assert guided.sum_of_squares_mm2 < 1e-18


def test_toward_in_a_batch_keeps_the_axis() -> None:
    noisy = BOX + np.random.default_rng(3).normal(0, 0.01, (200, 8, 3))
    batch = fit_cylinder(noisy, toward=[0, 0, 1])
    assert np.abs(batch.radius_mm - np.sqrt(2)).max() < 0.05


@pytest.mark.parametrize("fit", [fit_circle, fit_cylinder])
def test_arc_too_short_answers_and_names_the_arc_and_what_would_do(fit) -> None:
    coordinates = slice(2 if fit is fit_circle else 3)
    short = fit(arc(2.0, 0.02)[:, coordinates])
    assert any(
        re.match(r"An arc of .* degrees with residuals of 0.0.* mm.*Measure over about .*", n) for n in short.notes
    )
    assert all(doubt.ratio < doubt.threshold for doubt in short.doubts)
    assert parameter_u(short).u["radius_mm"] > short.radius_mm / 3
    exact = fit(arc(2.0, 0.0)[:, coordinates])
    assert abs(exact.radius_mm - 100) < 1e-6
    assert not exact.notes


def test_a_line_that_bends_less_than_its_noise() -> None:
    """The radius grows without end: no radius of 1e9 mm, but a refusal."""
    x = np.linspace(-50, 50, 40)
    with pytest.raises(RankError, match="a line fits as well"):
        fit_circle(np.column_stack([x, 0.01 * np.sin(x)]))


def test_cap_too_small() -> None:
    xy = np.random.default_rng(4).uniform(-1, 1, (20, 2))
    cap = np.column_stack([xy, np.sqrt(100**2 - (xy * xy).sum(1))])
    assert abs(fit_sphere(cap).radius_mm - 100) < 1e-6
    assert fit_sphere(cap + np.random.default_rng(5).normal(0, 0.02, cap.shape)).notes[0].startswith("A cap of")


def test_arc_that_is_long_enough_is_fitted() -> None:
    """The negative twin of the refusal: ten degrees with the same noise."""
    fit = fit_cylinder(arc(10.0, 0.02))
    assert abs(fit.radius_mm - 100) < 10
    assert not fit.notes


def test_draws_of_a_short_arc_are_not_dropped_for_their_noise() -> None:
    batch = fit_circle(arc(3.0, 0.0)[:, :2] + np.random.default_rng(6).normal(0, 0.02, (50, 30, 2)))
    assert batch.ok.all()


@pytest.mark.parametrize("toward", [[0, 0], [0, 0, 0], [np.nan, 0, 1], np.ones((3, 3))])
def test_bad_toward(toward) -> None:
    with pytest.raises(InputError, match="toward"):
        fit_cylinder(BOX, toward=toward)


@pytest.mark.parametrize("weights", [np.ones(5), -np.ones(12), np.r_[1, 1, np.zeros(10)], np.full(12, np.nan)])
def test_bad_weights(weights) -> None:
    with pytest.raises(InputError, match="weights"):
        fit_plane(RNG.normal(size=(12, 3)), weights=weights)


def test_weights_count() -> None:
    """A weight of 2 is the point twice; a weight of 0 is no point."""
    points = RNG.normal(size=(10, 3)) * [10, 5, 0.1]
    weights = np.r_[2.0, np.ones(8), 0.0]
    twice = fit_plane(np.concatenate([points[:1], points[:9]]))
    weighted = fit_plane(points, weights=weights, toward=twice.normal)
    assert np.abs(weighted.normal - twice.normal).max() < 1e-14
    assert np.abs(weighted.point_mm - twice.point_mm).max() < 1e-14
    assert abs(weighted.sum_of_squares_mm2 - twice.sum_of_squares_mm2) < 1e-14


def test_flatness_of_three_points_is_nothing() -> None:
    assert flatness(np.random.default_rng(7).normal(size=(3, 3))) < 1e-14
