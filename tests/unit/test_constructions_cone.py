"""Sections of cones. Expected values: analytic, or the equations of the surfaces themselves put to the result."""

import numpy as np
import pytest

from trysquare.core.errors import InputError, RankError
from trysquare.geometry import (
    Circle,
    Cone,
    Cylinder,
    Line,
    Plane,
    Point,
    cone_circle,
    cone_cut,
    distance_between,
    fit_cone,
    gauge_circle,
    linear_spread,
    parameter_u,
    point_of_line_and_plane,
    spread,
    turned_meeting,
)

RNG = np.random.default_rng(3)


def unit(v):
    return np.asarray(v, float) / np.linalg.norm(v)


TAPER = Cone(point_mm=[0, 0, 10], direction=[0, 0, 1], radius_mm=20.0, half_angle_rad=np.arctan(7 / 48))


def test_gauge_circle_of_a_7_24_taper():
    """Taper 7:24 means that the diameter grows by 7 in 24: from 40 to 44.45 mm (gauge line of size 40, ISO 7388-1, from
    memory) it takes 4.45 * 24 / 7 mm; analytic.
    """
    found = gauge_circle(TAPER, diameter_mm=44.45)
    assert np.allclose(found.center_mm, [0, 0, 10 + 4.45 * 24 / 7], atol=1e-13)
    assert found.radius_mm == 22.225
    assert np.allclose(TAPER.apex_mm, [0, 0, 10 - 40 * 24 / 7], atol=1e-12)


def test_gauge_circle_refuses_a_cylinder_and_a_wrong_diameter():
    with pytest.raises(RankError, match="gauge line"):
        gauge_circle(Cylinder(point_mm=[0, 0, 0], direction=[0, 0, 1], radius_mm=5.0), diameter_mm=10)
    with pytest.raises(InputError, match="above 0"):
        gauge_circle(TAPER, diameter_mm=-1)
    with pytest.raises(InputError, match="cone or cylinder"):
        gauge_circle(Line(point_mm=[0, 0, 0], direction=[0, 0, 1]), diameter_mm=10)


def test_circle_at_a_plane():
    """Where the axis meets the plane, leant or not; analytic. Beyond the tip there is none."""
    found = cone_circle(TAPER, Plane(point_mm=[3, 3, 34], normal=[0, 0, -1]))
    assert np.allclose(found.center_mm, [0, 0, 34], atol=1e-13)
    assert found.radius_mm == pytest.approx(23.5, abs=1e-13)
    leant = cone_circle(TAPER, Plane(point_mm=[0, 0, 34], normal=unit([0.1, 0, 1])))
    assert leant.radius_mm == pytest.approx(23.5, abs=1e-13)
    assert leant.sine == pytest.approx(1 / np.sqrt(1.01))
    with pytest.raises(RankError):
        cone_circle(TAPER, Plane(point_mm=[0, 0, -1000], normal=[0, 0, 1]))


def _on_both(found, cone, plane):
    """Largest distance from plane, and from the cone's surface, of 100 points on the ellipse."""
    t = np.linspace(0, 2 * np.pi, 100)[:, None]
    minor = np.cross(found.normal, found.major_direction)
    P = found.center_mm + found.semi_major_mm * np.cos(t) * found.major_direction
    P = P + found.semi_minor_mm * np.sin(t) * minor
    d = P - cone.point_mm
    h = d @ cone.direction
    slope = np.tan(getattr(cone, "half_angle_rad", 0.0))
    rho = np.linalg.norm(d - h[:, None] * cone.direction, axis=1)
    off = np.abs(rho - cone.radius_mm - h * slope).max()
    return max(np.abs((P - plane.point_mm) @ plane.normal).max(), off)


@pytest.mark.parametrize("kind", ["cone", "cylinder"])
def test_points_of_the_cut_lie_on_plane_and_surface(kind):
    for _ in range(30):
        axis, normal = unit(RNG.normal(size=3)), RNG.normal(size=3)
        normal = unit(axis * RNG.choice([-1, 1]) + 0.4 * normal)
        common = {"point_mm": RNG.normal(0, 30, 3), "direction": axis, "radius_mm": 12.0}
        body = Cone(**common, half_angle_rad=0.3) if kind == "cone" else Cylinder(**common)
        plane = Plane(point_mm=common["point_mm"] + RNG.normal(0, 3, 3), normal=normal)
        found = cone_cut(body, plane)
        assert _on_both(found, body, plane) < 1e-12 * 100
        assert found.semi_major_mm >= found.semi_minor_mm
        assert found.normal @ axis > 0
        wrong = Plane(point_mm=plane.point_mm + 1e-6 * axis, normal=normal)  # the twin
        assert _on_both(found, body, wrong) > 1e-7


def test_a_square_cut_is_a_circle_and_a_steep_one_is_refused():
    square = cone_cut(TAPER, Plane(point_mm=[0, 0, 34], normal=[0, 0, 1]))
    assert square.semi_major_mm == pytest.approx(23.5, abs=1e-13)
    assert square.semi_minor_mm == pytest.approx(23.5, abs=1e-13)
    assert np.allclose(square.center_mm, [0, 0, 34])
    steep = np.pi / 2 - np.arctan(7 / 48)  # along a generator: a parabola
    for tilt in (steep, steep + 0.1):
        with pytest.raises(RankError, match="every generator"):
            cone_cut(TAPER, Plane(point_mm=[0, 0, 34], normal=[np.sin(tilt), 0, np.cos(tilt)]))
    cone_cut(TAPER, Plane(point_mm=[0, 0, 34], normal=[np.sin(steep - 1e-4), 0, np.cos(steep - 1e-4)]))


def test_cylinder_cut_by_hand():
    """A plane at 60 degrees to the square cut of a cylinder: semi axes r and r / cos 60 = 2 r, centre on the axis."""
    found = cone_cut(
        Cylinder(point_mm=[0, 0, 0], direction=[0, 0, 1], radius_mm=5.0),
        Plane(point_mm=[0, 0, 7], normal=[np.sin(np.pi / 3), 0, 0.5]),
    )
    assert (found.semi_major_mm, found.semi_minor_mm) == pytest.approx((10, 5), abs=1e-13)
    assert np.allclose(found.center_mm, [0, 0, 7], atol=1e-14)


def test_turned_surfaces_meet():
    """A chamfer of 45 degrees, radius 10 at z = 0, opens along z; a bore of radius 12: they meet at z = 2. Two tapers
    back to back, radius 10 at z = 0 and at z = 8, both of 45 degrees: they meet at z = 4 with radius 14. Analytic.
    """
    chamfer = Cone(point_mm=[0, 0, 0], direction=[0, 0, 1], radius_mm=10.0, half_angle_rad=np.pi / 4)
    bore = Cylinder(point_mm=[0, 0, -30], direction=[0, 0, -1], radius_mm=12.0)
    edge = turned_meeting(chamfer, bore)
    assert np.allclose(edge.center_mm, [0, 0, 2], atol=1e-13)
    assert edge.radius_mm == pytest.approx(12, abs=1e-13)
    back = Cone(point_mm=[0, 0, 8], direction=[0, 0, -1], radius_mm=10.0, half_angle_rad=np.pi / 4)
    both = turned_meeting(chamfer, back)
    assert np.allclose(both.center_mm, [0, 0, 4], atol=1e-13)
    assert both.radius_mm == pytest.approx(14, abs=1e-13)
    off = Cylinder(point_mm=[0.2, 0, 5], direction=[0, 0, 1], radius_mm=12.0)
    assert np.allclose(turned_meeting(chamfer, off).center_mm, [0.1, 0, 2], atol=1e-13)
    with pytest.raises(RankError, match="different slope"):
        turned_meeting(bore, off)
    with pytest.raises(InputError, match=r"0\.01 rad"):
        turned_meeting(chamfer, Cylinder(point_mm=[0, 0, 0], direction=unit([0.1, 0, 1]), radius_mm=12.0))


def test_draws_of_a_cone():
    """A batch is each member alone; a member without an answer is NaN."""
    cones = Cone(
        point_mm=RNG.normal(0, 1, (20, 3)), direction=np.tile([0.0, 0, 1], (20, 1)),
        radius_mm=RNG.normal(10, 0.1, 20), half_angle_rad=np.r_[RNG.normal(0.4, 0.01, 19), 0.0],
    )  # fmt: skip
    found = gauge_circle(cones, diameter_mm=25)
    assert isinstance(found, Circle)
    assert np.isnan(found.center_mm[19]).all()
    one = gauge_circle(Cone.from_vector(cones.vector[4]), diameter_mm=25)
    assert np.allclose(found.center_mm[4], one.center_mm, atol=1e-13)
    plane = Plane(point_mm=[0, 0, 6], normal=unit([0.2, 0.1, 1]))
    many, alone = cone_cut(cones, plane), cone_cut(Cone.from_vector(cones.vector[4]), plane)
    assert np.allclose(many.vector[4], alone.vector, atol=1e-12)


def test_a_result_serves_as_a_feature():
    """Gauge lines of two tapers, and the distance of their centres; analytic."""
    other = Cone(point_mm=[0, 0, 90], direction=[0, 0, -1], radius_mm=20.0, half_angle_rad=np.arctan(7 / 48))
    a, b = gauge_circle(TAPER, diameter_mm=40), gauge_circle(other, diameter_mm=40)
    assert distance_between(a, b).value == pytest.approx(80, abs=1e-12)


def test_a_fitted_cone_serves():
    """Points of a 7:24 taper give its gauge line, tip and axis back; its draws give the spread that one fit states
    (JCGM 102), within 8 % (five standard deviations of a standard deviation from 2 000 draws).
    """
    rng = np.random.default_rng(5)
    a, z = (g.ravel() for g in np.meshgrid(2 * np.pi * np.arange(12) / 12, [-30, -10, 10, 30.0]))
    slope = 7 / 48
    r = 20 + (z - 10) * slope
    P = np.column_stack([r * np.cos(a), r * np.sin(a), z])
    fit = fit_cone(P)
    assert np.allclose(gauge_circle(fit, diameter_mm=44.45).center_mm, [0, 0, 10 + 4.45 * 24 / 7], atol=1e-9)
    assert np.allclose(fit.apex_mm, TAPER.apex_mm, atol=1e-8)
    floor = Plane(point_mm=[5, 0, 0], normal=[0, 0, 1])
    assert np.allclose(point_of_line_and_plane(fit, floor).point_mm, 0, atol=1e-9)
    assert distance_between(fit, Point(point_mm=[3, 4, 7])).value == pytest.approx(5, abs=1e-9)
    across = np.column_stack([np.cos(a), np.sin(a), np.full(a.size, -slope)]) / np.hypot(1, slope)
    u = 1e-3
    draws = gauge_circle(fit_cone(P + rng.normal(0, u, (2000, len(P), 1)) * across), diameter_mm=44.45).center_mm
    cone = Cone(
        point_mm=fit.point_mm, direction=fit.direction, radius_mm=fit.radius_mm, half_angle_rad=fit.half_angle_rad
    )
    _, covariance = linear_spread(
        lambda v: gauge_circle(Cone.from_vector(v), diameter_mm=44.45).center_mm,
        [(cone.vector, parameter_u(fit, u_mm=u).covariance)],
    )
    assert np.abs(spread(draws).u / np.sqrt(np.diagonal(covariance)) - 1).max() < 0.08
