"""No value depends on where the part stands, which way it lies, in which unit it is written or the order of points.

A move by 1e5 mm rounds the coordinates themselves by 1e-11 mm; the promise is 1e-7 mm for every value.
"""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from trysquare.geometry import fit_circle, fit_cylinder, fit_line, fit_plane, fit_sphere, minimum_zone_plane

Array = np.ndarray[Any, np.dtype[np.float64]]
SEED = st.integers(0, 2**31)
FAST = settings(max_examples=15, derandomize=True, deadline=None)


def _angles(rng: np.random.Generator, n: int) -> Array:
    return rng.uniform(0, rng.uniform(0.6, 2 * np.pi), n)


def make_cylinder(rng: np.random.Generator) -> Array:
    a, z = _angles(rng, 30), rng.uniform(-20, 20, 30)
    return np.column_stack([25 * np.cos(a), 25 * np.sin(a), z]) + rng.normal(0, 0.005, (30, 3))


def make_circle(rng: np.random.Generator) -> Array:
    a = _angles(rng, 20)
    return np.column_stack([40 * np.cos(a), 40 * np.sin(a), 0 * a]) + rng.normal(0, 0.005, (20, 3))


def make_sphere(rng: np.random.Generator) -> Array:
    d = rng.normal(size=(25, 3))
    d[:, 2] = np.abs(d[:, 2])
    return 15 * d / np.linalg.norm(d, axis=1)[:, None] + rng.normal(0, 0.005, (25, 3))


def make_plane(rng: np.random.Generator) -> Array:
    return rng.uniform(-1, 1, (30, 3)) * [300, 200, 0.02]


def make_line(rng: np.random.Generator) -> Array:
    return rng.uniform(-1, 1, (15, 3)) * [0.02, 0.02, 400]


SHAPES: dict[str, tuple[Callable[[np.random.Generator], Array], Callable[..., Any]]] = {
    "cylinder": (make_cylinder, fit_cylinder),
    "circle": (make_circle, fit_circle),
    "sphere": (make_sphere, fit_sphere),
    "plane": (make_plane, fit_plane),
    "line": (make_line, fit_line),
    "minimum zone": (make_plane, minimum_zone_plane),
}


def sizes(fit: Any) -> Array:
    """What does not depend on the frame: size, form and every residual (without the sense of the normal)."""
    form = fit.width_mm if hasattr(fit, "width_mm") else fit.form_mm
    return np.r_[getattr(fit, "radius_mm", 0.0), form, np.abs(fit.residuals_mm)]


def rotation(rng: np.random.Generator) -> Array:
    R = np.linalg.qr(rng.normal(size=(3, 3)))[0]
    return R * np.sign(np.linalg.det(R))


@pytest.mark.parametrize("name", SHAPES)
@FAST
@given(seed=SEED, far=st.sampled_from([0.0, 100.0, 1e5]))
def test_rigid_motion(name: str, seed: int, far: float) -> None:
    make, fit = SHAPES[name]
    rng = np.random.default_rng(seed)
    points = make(rng)
    R, shift = rotation(rng), far * rng.uniform(-1, 1, 3)
    before, after = fit(points), fit(points @ R.T + shift)
    assert np.abs(sizes(before) - sizes(after)).max() < 1e-7
    place = "center_mm" if hasattr(before, "center_mm") else "point_mm"
    moved = (getattr(after, place) - shift) @ R
    assert np.abs(moved - getattr(before, place)).max() < 1e-7
    for axis in ("normal", "direction"):
        if hasattr(before, axis):
            assert np.linalg.norm(np.cross(getattr(after, axis) @ R, getattr(before, axis))) * 100 < 1e-7


@pytest.mark.parametrize("name", SHAPES)
@FAST
@given(seed=SEED, factor=st.sampled_from([1 / 1000, 1 / 25.4, 1000.0, 1e-6]))
def test_change_of_unit(name: str, seed: int, factor: float) -> None:
    make, fit = SHAPES[name]
    points = make(np.random.default_rng(seed)) + np.array([300.0, -200.0, 100.0])
    assert np.abs(sizes(fit(points * factor)) / factor - sizes(fit(points))).max() < 1e-7


@pytest.mark.parametrize("name", SHAPES)
@FAST
@given(seed=SEED)
def test_order_of_points(name: str, seed: int) -> None:
    make, fit = SHAPES[name]
    rng = np.random.default_rng(seed)
    points = make(rng)
    order = rng.permutation(len(points))
    before, after = fit(points), fit(points[order])
    assert np.abs(np.abs(before.residuals_mm)[order] - np.abs(after.residuals_mm)).max() < 1e-8


@pytest.mark.parametrize("name", [name for name in SHAPES if name != "sphere"])
@FAST
@given(seed=SEED)
def test_toward_turns_the_axis_and_nothing_else(name: str, seed: int) -> None:
    make, fit = SHAPES[name]
    rng = np.random.default_rng(seed)
    points = make(rng) @ rotation(rng).T
    axis = "normal" if name in ("plane", "circle", "minimum zone") else "direction"
    found = getattr(fit(points), axis)
    for sense in (found, -found):
        turned = fit(points, toward=sense)
        assert getattr(turned, axis) @ sense > 0.999999
        assert np.abs(sizes(turned) - sizes(fit(points))).max() < 1e-9


def test_negative_twin_another_shape_shows() -> None:
    """Stretching one axis is no rigid motion, and the check sees it."""
    points = make_cylinder(np.random.default_rng(0))
    assert np.abs(sizes(fit_cylinder(points)) - sizes(fit_cylinder(points * [1.0001, 1, 1]))).max() > 1e-5
