"""Constructions move with their parents, grow with them, and do not depend on what is called first. Properties."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from trysquare.core.frames import Rigid, rotation
from trysquare.geometry import (
    Cone,
    Line,
    Plane,
    Point,
    angle_between,
    bolt_circle,
    cone_cut,
    distance_between,
    line_of_planes,
    mid_line,
    mid_plane,
    nearest_of_lines,
    point_of_line_and_plane,
    point_of_planes,
    project_line_on_plane,
)

SETTINGS = settings(derandomize=True, max_examples=40, deadline=None)
PLACES = ("point_mm", "center_mm")
SIZES = ("radius_mm", "semi_major_mm", "semi_minor_mm")
WAYS = ("direction", "normal", "major_direction")


def moved(element, T, scale):
    """The element after a rigid motion and a change of scale."""
    fields = {name: np.asarray(getattr(element, name)) for name in element.PARAMETERS}
    for name, value in fields.items():
        if name in PLACES:
            fields[name] = T.apply(scale * value[None])[0]
        elif name in WAYS:
            fields[name] = T.turn(value[None])[0]
        elif name in SIZES:
            fields[name] = scale * value
    return type(element)(**fields)


@st.composite
def scenes(draw):
    """Three planes, two lines and a cone, none near parallel, and a motion with a scale."""
    rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    turn = rotation(rng.normal(size=3))
    normals = turn @ (np.eye(3) + 0.2 * rng.uniform(-1, 1, (3, 3)))
    planes = [Plane.from_vector(np.r_[rng.normal(0, 50, 3), normals[:, k]]) for k in range(3)]
    lines = [Line.from_vector(np.r_[rng.normal(0, 50, 3), turn @ d]) for d in ([1, 0.3, 0.5], [0.4, 1, -0.2])]
    n = planes[0].normal
    cone = Cone(point_mm=planes[0].point_mm + 5 * n, direction=n, radius_mm=12.0, half_angle_rad=0.4)
    T = Rigid(rotation(rng.normal(0, 2, 3)), rng.normal(0, 300, 3))
    return planes, lines, cone, T, 10 ** draw(st.floats(-2, 2))


def answers(planes, lines, cone):
    a, b, c = planes
    return [
        line_of_planes(a, b), point_of_planes(a, b, c), point_of_line_and_plane(lines[0], c),
        nearest_of_lines(*lines).point, mid_line(*lines), mid_plane(a, b, take="sum"),
        project_line_on_plane(lines[1], a), cone_cut(cone, a),
    ]  # fmt: skip


@SETTINGS
@given(scenes())
def test_they_move_and_grow_with_their_parents(scene):
    planes, lines, cone, T, scale = scene
    before = answers(planes, lines, cone)
    after = answers([moved(p, T, scale) for p in planes], [moved(x, T, scale) for x in lines], moved(cone, T, scale))
    for one, two in zip(before, after):
        expected = moved(one, T, scale)
        size = 1e-11 * max(1.0, np.abs(two.vector).max(), 1000 * scale)
        if "major_direction" in one.PARAMETERS:  # a nearly square cut: the long axis is known by the difference of both
            assert abs(one.semi_major_mm * scale - two.semi_major_mm) < size
            assert np.abs(expected.center_mm - two.center_mm).max() < size
        else:
            assert np.abs(expected.vector - two.vector).max() < size


@SETTINGS
@given(scenes())
def test_distances_grow_and_angles_stay(scene):
    planes, lines, _, T, scale = scene
    features = [*planes, *lines, Point(point_mm=planes[2].point_mm + 1.0)]
    others = [moved(f, T, scale) for f in features]
    for i in range(len(features) - 1):
        d = [distance_between(x[i], x[i + 1], take="from first").value for x in (features, others)]
        assert abs(d[0] * scale - d[1]) < 1e-11 * max(1.0, 1000 * scale)
        if i < len(features) - 2:
            a = [angle_between(x[i], x[i + 1], take="directed").value for x in (features, others)]
            assert abs(a[0] - a[1]) < 1e-13


@SETTINGS
@given(scenes())
def test_order_of_the_parents(scene):
    planes, lines, *_ = scene
    a, b, c = planes
    one, two = point_of_planes(a, b, c).point_mm, point_of_planes(c, a, b).point_mm
    assert np.abs(one - two).max() < 1e-10
    assert np.allclose(line_of_planes(a, b).direction, -line_of_planes(b, a).direction, atol=1e-14)
    assert np.allclose(nearest_of_lines(*lines).middle_mm, nearest_of_lines(*lines[::-1]).middle_mm, atol=1e-10)
    assert np.abs(point_of_line_and_plane(line_of_planes(a, b), c).point_mm - one).max() < 1e-10


@SETTINGS
@given(st.integers(0, 2**32 - 1), st.integers(3, 12))
def test_bolt_circle_moves_along(seed, k):
    rng = np.random.default_rng(seed)
    a = 2 * np.pi * np.arange(k) / k
    P = np.column_stack([70 * np.cos(a), 70 * np.sin(a), 0 * a]) + rng.normal(0, 0.02, (k, 3))
    T = Rigid(rotation(rng.normal(0, 2, 3)), rng.normal(0, 300, 3))
    one, two = bolt_circle(P, toward=[0, 0, 1]), bolt_circle(T.apply(P), toward=T.R[:, 2])
    assert np.abs(one.radial_mm - two.radial_mm).max() < 1e-10
    assert np.abs(one.angular_rad - two.angular_rad).max() < 1e-12
    assert abs(one.angular_rad.sum()) < 1e-13
