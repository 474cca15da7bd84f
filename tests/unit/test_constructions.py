"""Constructions. Expected values: analytic, or an independent computation with numpy.linalg or in exact fractions, as
marked."""

from fractions import Fraction

import numpy as np
import pytest

from trysquare.core.errors import InputError, RankError
from trysquare.geometry import (
    Circle,
    Line,
    Plane,
    Point,
    bolt_circle,
    fit_cylinder,
    fit_plane,
    line_of_planes,
    linear_spread,
    mid_line,
    mid_plane,
    mid_point,
    nearest_of_lines,
    parameter_u,
    point_of_line_and_plane,
    point_of_planes,
    project_line_on_plane,
    project_point_on_line,
    project_point_on_plane,
    spread,
)

RNG = np.random.default_rng(7)


def unit(v):
    return np.asarray(v, float) / np.linalg.norm(v)


def plane(point, normal):
    return Plane(point_mm=np.asarray(point, float), normal=unit(normal))


def line(point, direction):
    return Line(point_mm=np.asarray(point, float), direction=unit(direction))


def test_line_of_two_planes_by_hand():
    """z = 2 and x = 3 meet in the line (3, *, 2); analytic."""
    found = line_of_planes(plane([10, 4, 2], [0, 0, 1]), plane([3, -6, 50], [1, 0, 0]))
    assert np.allclose(found.direction, [0, 1, 0], atol=1e-15)
    assert np.allclose(found.point_mm, [3, -1, 2], atol=1e-13)
    assert found.sine == pytest.approx(1.0, abs=1e-15)


def exact_solution(A, b):
    """Cramer's rule for three equations in fractions."""

    def det(M):
        return sum(
            M[0][i] * (M[1][(i + 1) % 3] * M[2][(i + 2) % 3] - M[1][(i + 2) % 3] * M[2][(i + 1) % 3]) for i in range(3)
        )

    return [det([[b[r] if c == k else A[r][c] for c in range(3)] for r in range(3)]) / det(A) for k in range(3)]


def fractions(v):
    return [Fraction(float(x)) for x in v]


def product(a, b):
    return sum(x * y for x, y in zip(a, b))


def test_line_of_two_planes_against_fractions():
    """Independent computation: the two planes and the plane of the middle in exact fractions, 2e4 mm off."""
    for _ in range(20):
        p, q = np.array([1e4, -2e4, 5e3]) + RNG.normal(0, 100, (2, 3))
        n, m = unit(RNG.normal(size=3)), unit(RNG.normal(size=3))
        found = line_of_planes(plane(p, n), plane(q, m))
        P, Q, N, M = map(fractions, (p, q, n, m))
        L = [N[1] * M[2] - N[2] * M[1], N[2] * M[0] - N[0] * M[2], N[0] * M[1] - N[1] * M[0]]
        middle = [(a + b) / 2 for a, b in zip(P, Q)]
        x = exact_solution([N, M, L], [product(N, P), product(M, Q), product(L, middle)])
        worst = max(abs(float(Fraction(float(found.point_mm[i])) - x[i])) for i in range(3))
        assert worst < 1e-11 / float(found.sine)


def test_line_and_plane_and_axis():
    """x = 1 + t, y = t, z = 5 - t meets z = 0 at t = 5; an axis serves as well; analytic."""
    base = plane([0, 0, 0], [0, 0, 1])
    found = point_of_line_and_plane(line([1, 0, 5], [1, 1, -1]), base)
    assert np.allclose(found.point_mm, [6, 5, 0], atol=1e-14)
    assert found.sine == pytest.approx(1 / np.sqrt(3))
    a = np.linspace(0, 2 * np.pi, 12, endpoint=False)
    ring = np.column_stack([3 + 4 * np.cos(a), -2 + 4 * np.sin(a), 10 + 0 * a])
    bore = fit_cylinder(np.concatenate([ring, ring + np.array([0, 0, 20])]))
    assert np.allclose(point_of_line_and_plane(bore, base).point_mm, [3, -2, 0], atol=1e-12)


def test_three_planes_against_a_solver():
    """Independent computation: numpy.linalg.solve on the equations themselves."""
    P, N = RNG.normal(0, 50, (40, 3, 3)), RNG.normal(size=(40, 3, 3))
    N /= np.linalg.norm(N, axis=-1, keepdims=True)
    found = point_of_planes(*(Plane(point_mm=P[:, k], normal=N[:, k]) for k in range(3)))
    expected = np.linalg.solve(N, (P * N).sum(-1)[..., None])[..., 0]
    assert np.abs(found.point_mm - expected).max() < 1e-11 / found.sine.min()
    assert np.allclose(found.sine, np.linalg.norm(np.linalg.inv(N), 2, axis=(-2, -1)) ** -1)


def test_nearest_points_of_lines():
    """The x-axis, and a line along y at z = 7: the common perpendicular stands at x = 4; analytic."""
    found = nearest_of_lines(line([-9, 0, 0], [1, 0, 0]), line([4, 20, 7], [0, 1, 0]))
    assert np.allclose(found.on_first_mm, [4, 0, 0], atol=1e-14)
    assert np.allclose(found.on_second_mm, [4, 0, 7], atol=1e-14)
    assert np.allclose(found.point.point_mm, [4, 0, 3.5], atol=1e-14)
    assert found.distance_mm == pytest.approx(7, abs=1e-14)


def test_nearest_points_against_least_squares():
    """Independent computation: numpy.linalg.lstsq on p + t d = q + s e."""
    for _ in range(20):
        p, q, d, e = RNG.normal(size=(4, 3)) * [[40], [40], [1], [1]]
        d, e = unit(d), unit(e)
        t, s = np.linalg.lstsq(np.column_stack([d, -e]), q - p, rcond=None)[0]
        found = nearest_of_lines(line(p, d), line(q, e))
        assert np.abs(found.on_first_mm - (p + t * d)).max() < 1e-12 / found.sine**2
        assert found.distance_mm == pytest.approx(np.linalg.norm(p + t * d - q - s * e), abs=1e-11)


@pytest.mark.parametrize("make", [
    lambda lean: line_of_planes(plane([0, 0, 0], [0, 0, 1]), plane([0, 0, 5], [lean, 0, 1])),
    lambda lean: point_of_line_and_plane(line([0, 0, 1], [1, 0, lean]), plane([0, 0, 0], [0, 0, 1])),
    lambda lean: point_of_planes(
        plane([0, 0, 0], [0, 0, 1]), plane([0, 0, 5], [lean, 0, 1]), plane([0, 0, 0], [0, 1, 0])),
    lambda lean: nearest_of_lines(line([0, 0, 0], [1, 0, 0]), line([0, 0, 5], [1, lean, 0])),
    lambda lean: project_line_on_plane(line([0, 0, 0], [lean, 0, 1]), plane([0, 0, 0], [0, 0, 1])),
    lambda lean: mid_line(line([0, 0, 0], [1, 0, 0]), line([0, 0, 5], [lean, 1, 0])),
    lambda lean: mid_plane(plane([0, 0, 0], [0, 0, 1]), plane([0, 0, 5], [1, 0, lean])),
    lambda lean: mid_plane(plane([0, 0, 0], [0, 0, 1]), plane([0, 0, 5], [lean, 0, 1]), take="across"),
])  # fmt: skip
def test_near_parallel_is_refused_with_its_sine(make):
    """A lean of 1e-7 is refused and its sine told; the negative twin with 1e-5 is answered."""
    with pytest.raises(RankError) as caught:
        make(1e-7)
    assert 3e-8 < caught.value.ratio < 1.1e-7
    assert caught.value.threshold == 1e-6
    make(1e-5)


def test_near_parallel_draws_are_nan_with_their_sine():
    lean = np.array([0.5, 1e-8, 0.1])
    tilted = Plane.from_vector(np.column_stack([np.zeros((3, 2)), np.full(3, 5.0), lean, np.zeros(3), np.ones(3)]))
    found = line_of_planes(plane([0, 0, 0], [0, 0, 1]), tilted)
    assert np.isnan(found.point_mm[1]).all()
    assert np.isfinite(found.point_mm[[0, 2]]).all()
    assert found.sine[1] == pytest.approx(1e-8)


def test_projections():
    """Analytic."""
    base = plane([5, 5, 2], [0, 0, -1])
    assert np.allclose(project_point_on_plane(Point(point_mm=[3, 4, 9]), base).point_mm, [3, 4, 2], atol=1e-15)
    axis = line([0, 0, 0], [1, 1, 0])
    assert np.allclose(project_point_on_line(Point(point_mm=[4, 0, 7]), axis).point_mm, [2, 2, 0], atol=1e-14)
    shadow = project_line_on_plane(line([1, 2, 9], [3, 0, 4]), base)
    assert np.allclose(shadow.direction, [1, 0, 0], atol=1e-15)
    assert np.allclose(shadow.point_mm, [1, 2, 2], atol=1e-15)
    assert shadow.sine == pytest.approx(0.6)


def test_mid_line_of_crossing_parallel_and_skew_lines():
    """Analytic: bisector through the crossing; half way between parallels, whichever way they point; skew: middle."""
    crossing = mid_line(line([0, 0, 0], [1, 0, 0]), line([0, 0, 0], [3, 4, 0]))
    assert np.allclose(crossing.direction, unit([2, 1, 0]), atol=1e-15)
    assert np.allclose(np.cross(crossing.point_mm, crossing.direction), 0, atol=1e-14)
    parallel = mid_line(line([0, 0, 0], [1, 0, 0]), line([30, 4, 0], [-1, 0, 0]))
    assert np.allclose(parallel.point_mm, [15, 2, 0], atol=1e-14)
    a, b = line([1, 2, 0], [1, 0, 0]), line([-7, 0, 6], [1, 1, 0])
    skew, middle = mid_line(a, b), nearest_of_lines(a, b).middle_mm
    assert np.allclose(np.cross(skew.point_mm - middle, skew.direction), 0, atol=1e-13)


def test_mid_planes_hold_points_at_equal_distances():
    """Every point of a bisector is as far from one plane as from the other: the definition itself."""
    a, b = plane([1, 2, 3], [0.1, -0.2, 1]), plane([4, 0, -9], [-0.15, 0.1, -1])
    for take in ("between", "across", "sum", "difference"):
        m = mid_plane(a, b, take=take)
        free = RNG.normal(0, 30, (50, 3))
        on = free - ((free - m.point_mm) @ m.normal)[:, None] * m.normal
        one, two = np.abs((on - a.point_mm) @ a.normal), np.abs((on - b.point_mm) @ b.normal)
        assert np.abs(one - two).max() < 1e-12 / m.sine
    assert np.allclose(mid_plane(a, b).normal, unit(a.normal - b.normal))
    assert np.allclose(mid_plane(a, b, take="sum").normal, mid_plane(a, b, take="across").normal)


def test_mid_plane_of_parallel_planes_and_mid_point():
    m = mid_plane(plane([0, 0, 0], [0, 0, -1]), plane([8, 0, 10], [0, 0, 1]))
    assert np.allclose(m.point_mm, [4, 0, 5], atol=1e-14)
    assert m.sine == 1.0
    assert np.allclose(mid_point(Point(point_mm=[0, 0, 1]), Point(point_mm=[2, 4, 1])).point_mm, [1, 2, 1])


def test_wrong_kinds_are_told():
    with pytest.raises(InputError, match="a plane"):
        line_of_planes(Point(point_mm=[0, 0, 0]), plane([0, 0, 0], [0, 0, 1]))
    with pytest.raises(InputError, match="a line or an axis"):
        nearest_of_lines(Point(point_mm=[0, 0, 0]), line([0, 0, 0], [1, 0, 0]))
    with pytest.raises(InputError, match="three coordinates"):
        Point(point_mm=[1, 2])
    with pytest.raises(InputError, match="between, across"):
        mid_plane(plane([0, 0, 0], [0, 0, 1]), plane([0, 0, 1], [0, 0, 1]), take="half")


def _pattern(k=6, radius=80.0):
    a = 2 * np.pi * np.arange(k) / k + 0.3
    return a, np.column_stack([radius * np.cos(a) + 5, radius * np.sin(a) - 2, np.full(k, 40.0)])


def test_bolt_circle_gives_back_what_was_put_in():
    """Deviations orthogonal to what a circle and a turn can take up come back as they were; analytic to second order,
    so that a deviation of 1e-6 mm leaves 1e-12.
    """
    a, _ = _pattern()
    off = 1e-6 * np.array([1, -1, 1, -1, 1, -1.0])  # third harmonic: no centre, no radius, no turn
    r, t = 80 + off, a + off / 80
    P = np.column_stack([r * np.cos(t) + 5, r * np.sin(t) - 2, np.full(6, 40.0)])
    for options in ({"toward": [0, 0, 1]}, {"normal": [0, 0, 1]}):
        found = bolt_circle(P, **options)
        assert np.allclose(found.circle.center_mm, [5, -2, 40], atol=1e-11)
        assert found.circle.radius_mm == pytest.approx(80, abs=1e-11)
        assert np.abs(found.radial_mm - off).max() < 2e-12 * 80
        assert np.abs(found.along_mm - off).max() < 2e-12 * 80
        assert np.allclose(found.angles_rad[1:], np.arange(1, 6) * np.pi / 3, atol=1e-7)


def test_bolt_circle_with_wanted_angles_and_in_any_order():
    wanted = np.radians([10, 50, 130, 200, 290])
    order = np.array([3, 0, 4, 1, 2])
    P = np.column_stack([30 * np.cos(wanted), 30 * np.sin(wanted), 0 * wanted])
    assert np.abs(bolt_circle(P, normal=[0, 0, 1], wanted_rad=wanted).angular_rad).max() < 1e-14
    assert np.abs(bolt_circle(P, normal=[0, 0, 1]).angular_rad).max() > 0.1  # the twin: they are not equally spaced
    _, even = _pattern(5)
    assert np.abs(bolt_circle(even[order], toward=[0, 0, 1]).angular_rad).max() < 1e-14


def test_bolt_circle_draws_and_bad_input():
    _, P = _pattern()
    draws = P + RNG.normal(0, 0.01, (50, 6, 3))
    many, one = bolt_circle(draws, toward=[0, 0, 1]), bolt_circle(draws[7], toward=[0, 0, 1])
    for name in ("radial_mm", "axial_mm", "angular_rad", "angles_rad"):
        assert np.allclose(getattr(many, name)[7], getattr(one, name), atol=1e-12)
    with pytest.raises(InputError):
        bolt_circle(P[:2])
    with pytest.raises(InputError, match="one per hole"):
        bolt_circle(P, wanted_rad=[0, 1])
    with pytest.raises(RankError):
        bolt_circle([[0, 0, 0], [1, 0, 0], [2, 0, 0.0]])


def _two_faces():
    xy = np.stack(np.meshgrid([0, 25, 50.0], [0, 20, 40.0]), -1).reshape(-1, 2)
    floor = np.column_stack([xy, np.zeros(9)])
    wall = np.column_stack([np.full(9, 50.0) + 0.3 * xy[:, 1], xy])
    return floor, wall


def test_draws_and_linear_covariance_agree():
    """20 000 draws of points with 2 um noise across the surfaces (as `parameter_u` takes it) against the law of
    propagation: within 3 % on each standard uncertainty (five standard deviations of one are 2.5 %).
    """
    floor, wall = _two_faces()
    u = 2e-3
    fits = fit_plane(floor), fit_plane(wall)

    def build(a, b):
        return line_of_planes(Plane.from_vector(a), Plane.from_vector(b)).vector

    inputs = [(Plane(point_mm=f.point_mm, normal=f.normal).vector, parameter_u(f, u_mm=u).covariance) for f in fits]
    value, covariance = linear_spread(build, inputs)
    noise = RNG.normal(0, u, (2, 20_000, 9, 1))
    noisy = [fit_plane(P + e * f.normal, toward=f.normal) for P, e, f in zip((floor, wall), noise, fits)]
    draws = line_of_planes(*noisy).vector
    drawn = spread(draws - value)
    assert drawn.left_out == 0
    sd = np.sqrt(np.diagonal(covariance))
    moving = sd > 1e-9
    assert moving.sum() >= 4
    assert np.abs(drawn.u[moving] / sd[moving] - 1).max() < 0.03
    scale = np.outer(sd, sd)[np.ix_(moving, moving)]
    assert np.abs((drawn.covariance - covariance)[np.ix_(moving, moving)] / scale).max() < 0.05
    # the twin: half the noise is told apart
    _, half = linear_spread(build, [(v, C / 4) for v, C in inputs])
    assert np.abs(drawn.u[moving] / np.sqrt(np.diagonal(half))[moving] - 1).min() > 0.5


def test_linear_covariance_of_a_known_function():
    """f = x y: C = y^2 u_x^2 + x^2 u_y^2; analytic."""
    value, variance = linear_spread(lambda x, y: x[..., 0] * y[..., 0], [([3.0], [[0.01]]), ([4.0], [[0.04]])])
    assert value == pytest.approx(12)
    assert variance == pytest.approx(16 * 0.01 + 9 * 0.04, rel=1e-10)
    with pytest.raises(InputError, match="negative eigenvalue"):
        linear_spread(lambda x: x, [([0.0, 0.0], [[1.0, 2.0], [2.0, 1.0]])])
    with pytest.raises(InputError, match="covariance"):
        linear_spread(lambda x: x, [([0.0, 0.0], [[1.0]])])


def test_spread_counts_what_has_no_answer():
    out = spread([1.0, 2.0, np.nan, 3.0])
    assert (out.used, out.left_out) == (3, 1)
    assert out.mean[0] == 2.0
    assert out.covariance[0, 0] == 1.0
    with pytest.raises(RankError):
        spread([np.nan, np.nan, 1.0])


def test_elements_go_to_vectors_and_back():
    c = Circle(center_mm=[1, 2, 3], normal=[0, 0, 1], radius_mm=5.0)
    again = Circle.from_vector(c.vector)
    assert np.array_equal(again.vector, c.vector)
    assert c.vector.shape == (7,)
