"""No value depends on where the part stands, which way it lies, in which unit it is written or the order of points.

A move by 1e5 mm rounds the coordinates themselves by 1e-11 mm; the promise is 1e-7 mm for every value. Every shape and
method of geometry_ways.py is held to it. Nor does a point count more for being given twice where the method is a zone.
"""

import inspect

import numpy as np
import pytest
from geometry_ways import LEAST_SQUARES, WAYS, axis, numbers, place, rotation
from hypothesis import given, settings
from hypothesis import strategies as st

import trysquare.geometry as geometry

SEED = st.integers(0, 2**31)
FAST = settings(max_examples=8, derandomize=True, deadline=None)


def taking(option: str) -> list[str]:
    """Names of the ways whose function has the option."""
    return [name for name, way in WAYS.items() if option in inspect.signature(getattr(geometry, way.name)).parameters]


#: a cone's direction is towards its wider end whatever is asked
TURNED = [name for name in taking("toward") if WAYS[name].name != "fit_cone" and not WAYS[name].flat]
WEIGHTED = [name for name in taking("weights") if not WAYS[name].robust]


@pytest.mark.parametrize("name", WAYS)
@FAST
@given(seed=SEED, far=st.sampled_from([0.0, 100.0, 1e5]))
def test_rigid_motion(name: str, seed: int, far: float) -> None:
    way = WAYS[name]
    rng = np.random.default_rng(seed)
    points = way.make(rng)
    dims = points.shape[1]
    R, shift = rotation(rng, dims), far * rng.uniform(-1, 1, dims)
    before, after = way(points), way.along(R)(points @ R.T + shift)
    assert np.abs(numbers(before) - numbers(after)).max() < 1e-7
    assert np.abs((place(after) - shift) @ R - place(before)).max() < 1e-7
    if axis(before) is not None:
        a, b = axis(after) @ R, axis(before)
        assert np.linalg.norm(a - (a @ b) * b) < 1e-9


@pytest.mark.parametrize("name", WAYS)
@FAST
@given(seed=SEED, factor=st.sampled_from([1 / 1000, 1 / 25.4, 1000.0, 1e-6]))
def test_change_of_unit(name: str, seed: int, factor: float) -> None:
    way = WAYS[name]
    points = way.make(np.random.default_rng(seed))
    points = points + np.array([300.0, -200.0, 100.0])[: points.shape[1]]
    before, after = way(points), way.scaled(factor)(points * factor)
    assert np.abs(place(after) / factor - place(before)).max() < 1e-7
    scale = np.where(np.arange(len(numbers(before))) == angle_at(before), 1.0, factor)
    assert np.abs(numbers(after) / scale - numbers(before)).max() < 1e-7


def angle_at(fit) -> int:
    """Where among `numbers` the one angle is, -1 where there is none."""
    return 1 if getattr(fit, "half_angle_rad", None) is not None else -1


@pytest.mark.parametrize("name", WAYS)
@FAST
@given(seed=SEED)
def test_order_of_points(name: str, seed: int) -> None:
    way = WAYS[name]
    rng = np.random.default_rng(seed)
    points = way.make(rng)
    order = rng.permutation(len(points))
    before, after = way(points), way(points[order])
    assert np.abs(np.abs(before.residuals_mm)[order] - np.abs(after.residuals_mm)).max() < 1e-8


@pytest.mark.parametrize("name", [name for name, way in WAYS.items() if not way.robust])
@FAST
@given(seed=SEED, times=st.integers(2, 4))
def test_points_given_twice(name: str, seed: int, times: int) -> None:
    """All of them as often: nothing changes. A few of them: nothing changes for a zone, and a little for squares."""
    way = WAYS[name]
    rng = np.random.default_rng(seed)
    points = way.make(rng)
    before, after = way(points), way(np.tile(points, (times, 1)))
    assert np.abs(np.tile(np.abs(before.residuals_mm), times) - np.abs(after.residuals_mm)).max() < 1e-8
    assert np.abs(place(after) - place(before)).max() < 1e-7
    if way.squares is None or (way.name == "zone_circle" and not way.flat):
        return  # that circle lies in the plane of least squares, which a few of them move
    some = way(np.concatenate([points, points[rng.integers(0, len(points), 3)]]))
    change = np.abs(some.residuals_mm[: len(points)] - before.residuals_mm).max()
    assert change > 1e-8 if way.squares else change < 1e-8


@pytest.mark.parametrize("name", WEIGHTED)
@FAST
@given(seed=SEED)
def test_a_weight_is_so_many_points(name: str, seed: int) -> None:
    way = WAYS[name]
    rng = np.random.default_rng(seed)
    points = way.make(rng)
    times = rng.integers(0, 4, len(points))
    times[:14] = np.maximum(times[:14], 1)
    before, after = way(points, weights=times), way(np.repeat(points, times, axis=0))
    assert np.abs(place(after) - place(before)).max() < 1e-8
    assert np.abs(np.abs(np.repeat(before.residuals_mm, times)) - np.abs(after.residuals_mm)).max() < 1e-8
    assert abs(before.sum_of_squares_mm2 - after.sum_of_squares_mm2) < 1e-10


@pytest.mark.parametrize("name", TURNED)
@FAST
@given(seed=SEED)
def test_toward_turns_the_axis_and_nothing_else(name: str, seed: int) -> None:
    way = WAYS[name]
    rng = np.random.default_rng(seed)
    points = way.make(rng) @ rotation(rng).T
    found = axis(way(points))
    if found is None:
        return
    for sense in (found, -found):
        turned = way(points, toward=sense)
        assert axis(turned) @ sense > 0.999999
        assert np.abs(numbers(turned) - numbers(way(points))).max() < 1e-8


@pytest.mark.parametrize("name", LEAST_SQUARES)
def test_negative_twin_another_shape_shows(name: str) -> None:
    """A point moved by a micrometre is no rigid motion, and the check sees it."""
    way = WAYS[name]
    points = way.make(np.random.default_rng(0))
    other = points.copy()
    other[3] += 1e-3 / np.sqrt(points.shape[1])
    assert np.abs(numbers(way(points)) - numbers(way(other))).max() > 1e-5


@pytest.mark.parametrize("name", ["line", "line in a plane", "plane", "circle", "sphere", "cylinder", "cone", "torus"])
@FAST
@given(seed=SEED, factor=st.sampled_from([1.0, 0.04, 1000.0]))
def test_weights_by_area(name: str, seed: int, factor: float) -> None:
    """The area that a point stands for depends on neither place, unit nor order; points at one place share it."""
    way = WAYS[name]
    rng = np.random.default_rng(seed)
    points = way.make(rng)
    shape = way.name.removeprefix("fit_")
    before = geometry.area_weights(points, shape=shape)
    R, order = rotation(rng, points.shape[1]), rng.permutation(len(points))
    after = geometry.area_weights((points @ R.T * factor + 30 * factor)[order], shape=shape)
    assert np.abs(after - before[order]).max() < 1e-6
    twice = geometry.area_weights(np.concatenate([points, points[:3]]), shape=shape)
    shared = (twice[:3] + twice[-3:]) / twice.sum()
    assert np.abs(shared - before[:3] / before.sum()).max() < 1e-3  # the fit itself moves a little
