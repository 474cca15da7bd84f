"""Where features are touched. Expected values: analytic, from the shapes themselves."""

from dataclasses import replace

import numpy as np
import pytest

from trysquare.core.errors import InputError
from trysquare.jobs.job import Feature
from trysquare.jobs.simulated.plan_points import DEFAULT_POINTS, dense_points, normals_at, opposite, plan_points
from trysquare.tolerances.features import AT_LEAST, associate
from trysquare.tolerances.measurand import Surface, opposite_points
from trysquare.tolerances.nominal import Nominal

AT = np.array([120.0, -80.0, 300.0])
LEAN = np.array([0.6, 0.0, 0.8])
SHAPES = {
    "plane": Nominal("plane", AT, LEAN, size_mm=(600.0, 200.0), along=np.array([0.0, 1.0, 0.0])),
    "cylinder": Nominal("cylinder", AT, LEAN, 90.0, 40.0, inside=True),
    "circle": Nominal("circle", AT, LEAN, 90.0),
    "sphere": Nominal("sphere", AT, None, 60.0),
    "line": Nominal("line", AT, LEAN, None, 500.0),
    "point": Nominal("point", AT, LEAN),
}


def feature(kind, points=None):
    return Feature("f", SHAPES[kind], "body", points, None, None)


@pytest.mark.parametrize("kind", SHAPES)
def test_points_lie_on_the_feature_and_carry_its_fit(kind):
    touches = plan_points(feature(kind))
    assert len(touches) == DEFAULT_POINTS[kind]
    assert touches.labels[0] == "p1"
    np.testing.assert_allclose(SHAPES[kind].distance(touches.points_mm), 0.0, atol=1e-9)
    fitted = associate(touches.points_mm, SHAPES[kind], where="test")
    np.testing.assert_allclose(fitted.residuals_mm, 0.0, atol=1e-9)


@pytest.mark.parametrize("kind", ["plane", "sphere", "line", "point"])
@pytest.mark.parametrize("count", [4, 5, 7, 12, 23, 40])
def test_the_count_asked_for_is_planned(kind, count):
    assert len(plan_points(feature(kind, count))) == count


@pytest.mark.parametrize("kind", ["cylinder", "circle"])
@pytest.mark.parametrize("count", [6, 7, 16, 25])
def test_round_features_are_touched_in_opposite_pairs(kind, count):
    points = plan_points(feature(kind), count=count).points_mm
    assert len(points) == count + count % 2
    d = points - AT
    along = d @ LEAN
    across = d - np.outer(along, LEAN)
    mirrored = AT + np.outer(along, LEAN) - across
    apart = np.linalg.norm(points[:, None] - mirrored, axis=-1)
    np.testing.assert_allclose(apart.min(axis=1), 0.0, atol=1e-9)


def test_the_chain_finds_the_pairs():
    points = plan_points(feature("cylinder", 16)).points_mm
    assert len(opposite_points(Surface(points, associate(points, SHAPES["cylinder"], where="test")))) == 8


def test_rings_of_a_cylinder_are_turned_against_each_other():
    points = plan_points(feature("cylinder", 16)).points_mm
    u, v, w = SHAPES["cylinder"].frame()
    d = points - AT
    low = d @ w < 0
    angles = np.arctan2(d @ v, d @ u)
    nearest = np.abs(np.angle(np.exp(1j * (angles[low][:, None] - angles[~low])))).min()
    assert nearest == pytest.approx(np.pi / 8)


def test_a_plane_is_touched_within_its_margin_and_along_its_long_side():
    points = plan_points(feature("plane", 12)).points_mm
    u, v, _ = SHAPES["plane"].frame()
    x, y = (points - AT) @ u, (points - AT) @ v
    np.testing.assert_allclose([x.min(), x.max(), y.min(), y.max()], [-270.0, 270.0, -90.0, 90.0], atol=1e-9)
    assert len(np.unique(y.round(6))) == 3


@pytest.mark.parametrize(("size", "rows"), [((400, 120), 3), ((120, 400), 4), ((300, 20), 2), ((300, 300), 3)])
def test_a_plane_is_touched_in_three_rows_at_least_unless_it_is_a_strip(size, rows):
    """In two rows of points, or in twos along it, a plane that is bowed across looks flat."""
    plane = Nominal("plane", np.zeros(3), np.array([0.0, 0.0, 1.0]), size_mm=size, along=np.array([1.0, 0.0, 0.0]))
    points = plan_points(replace(feature("plane", 12), nominal=plane)).points_mm
    assert len(np.unique(points[:, 1].round(6))) == rows
    quadratic = np.column_stack([points[:, :2] ** 2, points[:, :1] * points[:, 1:2], points[:, :2], np.ones(12)])
    assert np.linalg.matrix_rank(quadratic / np.abs(quadratic).max(0)) == (5 if rows == 2 else 6)


@pytest.mark.parametrize("count", [3, 4, 5])
def test_few_points_on_a_plane_do_not_lie_on_one_line(count):
    associate(plan_points(feature("plane", count)).points_mm, SHAPES["plane"], where="test")


@pytest.mark.parametrize("kind", [k for k in SHAPES if AT_LEAST[k] > 1])
def test_too_few_points_are_refused(kind):
    with pytest.raises(InputError, match="at least"):
        plan_points(feature(kind, AT_LEAST[kind] - 1))


def test_dense_points_reach_the_edges():
    u, v, _ = SHAPES["plane"].frame()
    d = dense_points(SHAPES["plane"]) - AT
    np.testing.assert_allclose([np.ptp(d @ u), np.ptp(d @ v)], [600.0, 200.0], atol=1e-9)
    along = (dense_points(SHAPES["cylinder"]) - AT) @ LEAN
    np.testing.assert_allclose([along.min(), along.max()], [-20.0, 20.0], atol=1e-9)


def test_normals_point_out_of_the_material():
    points = dense_points(SHAPES["cylinder"])
    towards_axis = (AT - points) - np.outer((AT - points) @ LEAN, LEAN)
    normals = normals_at(SHAPES["cylinder"], points)
    np.testing.assert_allclose(normals, towards_axis / np.linalg.norm(towards_axis, axis=1)[:, None], atol=1e-12)


def test_ends_of_a_diameter():
    ends = opposite(SHAPES["cylinder"], 0.7, 12.0)
    assert np.linalg.norm(ends[1] - ends[0]) == pytest.approx(90.0, abs=1e-12)
    np.testing.assert_allclose((ends.mean(0) - AT) @ LEAN, 12.0, atol=1e-12)
