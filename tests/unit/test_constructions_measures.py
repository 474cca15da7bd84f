"""Distances and angles between features. Expected values: analytic."""

import itertools

import numpy as np
import pytest

from trysquare.core.errors import InputError, RankError
from trysquare.geometry import Circle, Cylinder, Line, Plane, Point, angle_between, distance_between


def unit(v):
    return np.asarray(v, float) / np.linalg.norm(v)


FLOOR = Plane(point_mm=[0, 0, 2], normal=[0, 0, 1])
LID = Plane(point_mm=[100, 0, 30], normal=unit([0.01, 0, -1]))
AXIS = Cylinder(point_mm=[5, 0, 12], direction=unit([1, 0, 0.02]), radius_mm=4.0)
EDGE = Line(point_mm=[5, 3, 40], direction=[0, 1, 0])
HOLE = Circle(center_mm=[3, 4, 2], normal=[0, 0, 1], radius_mm=1.0)
POINT = Point(point_mm=[0, 0, -10])


def test_from_points():
    """3, 4, 12 make 13; 12 below a plane is -12; circles count as centres."""
    assert distance_between(POINT, HOLE).value == pytest.approx(13, abs=1e-14)
    assert distance_between(POINT, FLOOR).value == pytest.approx(-12, abs=1e-14)
    assert distance_between(FLOOR, POINT).value == pytest.approx(-12, abs=1e-14)
    assert distance_between(HOLE, FLOOR).value == pytest.approx(0, abs=1e-14)
    assert distance_between(HOLE, EDGE).value == pytest.approx(np.hypot(2, 38), abs=1e-13)


def test_planes_that_are_not_parallel_have_three_distances():
    first, second, mean = (distance_between(FLOOR, LID, take=t) for t in ("from first", "from second", "mean"))
    assert first.value == pytest.approx((28 - 1) / np.sqrt(1.0001), abs=1e-13)  # at x = 0 the lid is 1 lower
    assert second.value == pytest.approx(28, abs=1e-13)
    assert mean.value == pytest.approx((first.value + 28) / 2, abs=1e-13)
    assert "first's reference point, perpendicular to the second" in first.definition
    assert "second's reference point, perpendicular to the first" in second.definition


def test_lines():
    """AXIS and EDGE: the common perpendicular stands in y = 3, where AXIS is a line of slope 0.02 in z."""
    a = distance_between(AXIS, EDGE, take="shortest")
    assert a.value == pytest.approx(28 / np.sqrt(1.0004), abs=1e-12)
    assert distance_between(AXIS, EDGE, take="from first").value == pytest.approx(28, abs=1e-13)
    twin = Line(point_mm=[0, 9, 0], direction=AXIS.direction)
    with pytest.raises(RankError):
        distance_between(AXIS, twin, take="shortest")
    assert distance_between(twin, AXIS, take="mean").value > 0


def test_along_a_direction():
    m = distance_between(POINT, HOLE, take="along", direction=[0, 0, -5])
    assert m.value == -12
    with pytest.raises(InputError, match="direction"):
        distance_between(POINT, HOLE, take="along")
    with pytest.raises(InputError, match="along"):
        distance_between(POINT, HOLE, direction=[0, 0, 1])
    with pytest.raises(InputError, match="above 0"):
        distance_between(POINT, HOLE, take="along", direction=[0, 0, 0])


@pytest.mark.parametrize(("a", "b"), [(FLOOR, LID), (AXIS, EDGE), (AXIS, FLOOR), (FLOOR, AXIS)])
def test_a_choice_is_demanded(a, b):
    with pytest.raises(InputError, match="say which is meant"):
        distance_between(a, b)
    with pytest.raises(InputError, match="take"):
        angle_between(a, b)


def test_shortest_is_for_lines():
    with pytest.raises(InputError, match="from first"):
        distance_between(FLOOR, LID, take="shortest")


def test_every_pair_has_a_definition():
    for a, b in itertools.product((FLOOR, LID, AXIS, EDGE, HOLE, POINT), repeat=2):
        both = POINT in (a, b) or HOLE in (a, b)
        assert len(distance_between(a, b, take=None if both else "from first").definition) > 15


def test_angles():
    """Line at slope 0.02 over a floor; normals that face one another; and as they are seen from a side."""
    slope = np.arctan(0.02)
    assert angle_between(AXIS, FLOOR, take="acute").value == pytest.approx(slope, abs=1e-15)
    down = Line(point_mm=[0, 0, 0], direction=-AXIS.direction)
    assert angle_between(down, FLOOR, take="directed").value == pytest.approx(-slope, abs=1e-15)
    assert angle_between(FLOOR, down, take="directed").value == pytest.approx(-slope, abs=1e-15)
    lid = np.arctan(0.01)
    assert angle_between(FLOOR, LID, take="acute").value == pytest.approx(lid, abs=1e-15)
    assert angle_between(FLOOR, LID, take="directed").value == pytest.approx(np.pi - lid, abs=1e-15)
    ramp = Plane(point_mm=[0, 0, 0], normal=unit([0.3, 0.4, 1]))
    assert angle_between(FLOOR, ramp, take="acute").value == pytest.approx(np.arctan(0.5), abs=1e-15)
    assert angle_between(FLOOR, ramp, take="acute", seen_along=[0, 2, 0]).value == pytest.approx(np.arctan(0.3))


def test_tiny_angles_keep_their_digits():
    """1e-9 rad: an arc cosine would give 0."""
    b = Line(point_mm=[0, 0, 0], direction=[1, 1e-9, 0])
    a = Line(point_mm=[0, 0, 0], direction=[1, 0, 0])
    assert angle_between(a, b, take="acute").value == pytest.approx(1e-9, rel=1e-12)
    assert np.arccos(a.direction @ unit(b.direction)) == 0.0


def test_a_line_seen_end_on_has_no_angle():
    a = Line(point_mm=[0, 0, 0], direction=[1, 0, 0])
    assert np.isnan(angle_between(a, EDGE, take="acute", seen_along=[1, 0, 0]).value)


def test_batches_are_each_member_alone():
    rng = np.random.default_rng(1)
    lines = Line.from_vector(rng.normal(size=(30, 6)))
    planes = Plane.from_vector(rng.normal(size=(30, 6)))
    d = distance_between(lines, planes, take="from first").value
    a = angle_between(lines, planes, take="directed").value
    for i in (0, 17):
        one, face = Line.from_vector(lines.vector[i]), Plane.from_vector(planes.vector[i])
        assert d[i] == pytest.approx(distance_between(one, face, take="from first").value, abs=1e-14)
        assert a[i] == pytest.approx(angle_between(one, face, take="directed").value, abs=1e-14)
