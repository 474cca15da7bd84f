"""Minimum zones between planes: thick sets against every face and pair of edges of the hull, ties, bad input."""

import itertools

import numpy as np
import pytest

from trysquare.core.errors import InputError, RankError
from trysquare.geometry import fit_plane, flatness, minimum_zone_plane
from trysquare.geometry.zones.results import ZoneFit


def by_every_face_and_edge(points: np.ndarray) -> float:
    """Least width of the hull: it is found at a face or across two edges. Independent computation (Qhull)."""
    from scipy.spatial import ConvexHull

    hull = ConvexHull(points)
    normals = [hull.equations[:, :3]]
    edges = {tuple(sorted(pair)) for face in hull.simplices for pair in itertools.combinations(face, 2)}
    d = np.array([points[j] - points[i] for i, j in edges])
    d = d / np.linalg.norm(d, axis=1)[:, None]
    for i in range(len(d) - 1):
        cross = np.cross(d[i], d[i + 1 :])
        length = np.linalg.norm(cross, axis=1)
        normals.append(cross[length > 1e-9] / length[length > 1e-9][:, None])
    heights = points @ np.concatenate(normals).T
    return float(np.ptp(heights, axis=0).min())


def check(points: np.ndarray, zone: ZoneFit) -> None:
    """A result that agrees with itself: residuals, contacts, sides, gap."""
    h = (points - zone.point_mm) @ zone.normal
    assert np.abs(h - zone.residuals_mm).max() < 1e-11
    assert abs(np.ptp(h) - zone.width_mm) < 1e-11
    assert abs(h.max() + h.min()) < 1e-11
    held = zone.certificate.contacts >= 0
    at = zone.residuals_mm[zone.certificate.contacts[held]]
    assert np.abs(at - zone.certificate.sides[held] * zone.width_mm / 2).max() < 1e-10
    centroid = points.mean(0)
    assert np.abs(np.cross(centroid - zone.point_mm, zone.normal)).max() < 1e-9  # the point lies under the centroid


@pytest.mark.parametrize("seed", range(12))
def test_thick_sets_against_the_hull(seed: int) -> None:
    rng = np.random.default_rng(seed)
    n = int(rng.integers(6, 22))
    points = rng.normal(size=(n, 3)) * [1, rng.uniform(0.5, 1), rng.uniform(0.3, 1)]
    if seed % 3 == 0:
        points /= np.linalg.norm(points, axis=1)[:, None]  # on a ball: many zones of nearly one width
    zone = minimum_zone_plane(points * 10)
    assert zone.certificate.kind == "global"
    assert zone.certificate.gap_mm < 1e-9
    assert abs(zone.width_mm - 10 * by_every_face_and_edge(points)) < 1e-10
    check(points * 10, zone)


def test_thick_draws_are_each_proven() -> None:
    points = np.random.default_rng(4).uniform(-1, 1, (40, 12, 3))
    zone = minimum_zone_plane(points)
    assert (zone.certificate.kind == "global").all()
    expected = [by_every_face_and_edge(member) for member in points]
    assert np.abs(zone.width_mm - expected).max() < 1e-11


def test_a_cube_has_three_zones_of_one_width() -> None:
    """Ties everywhere: four contacts on each side. Analytic."""
    cube = np.array(list(itertools.product([0.0, 1.0], repeat=3)))
    R = np.linalg.qr(np.random.default_rng(1).normal(size=(3, 3)))[0]
    for points in (cube, cube @ R.T * 30 + 1000):
        zone = minimum_zone_plane(points)
        assert abs(zone.width_mm - (1 if points is cube else 30)) < 1e-11
        assert zone.certificate.kind == "global"
        assert zone.certificate.gap_mm < 1e-9


def test_regular_tetrahedron_and_octahedron() -> None:
    """Width of a tetrahedron of edge a: a / sqrt 2, across two opposite edges; of an octahedron: a sqrt(2/3), a face.
    Analytic."""
    four = np.array([[1, 1, 1], [1, -1, -1], [-1, 1, -1], [-1, -1, 1]], float)
    assert abs(flatness(four) - 2.0) < 1e-12  # edge 2 sqrt 2
    eight = np.concatenate([np.eye(3), -np.eye(3)])
    assert abs(flatness(eight) - 2 / np.sqrt(3)) < 1e-12  # edge sqrt 2


@pytest.mark.parametrize("pitch", [1.0, 0.1])
def test_a_grid_with_ties(pitch: float) -> None:
    """Heights of few values on a grid, as read from a rounded list: contacts are many and the basis degenerate."""
    rng = np.random.default_rng(2)
    x, y = (g.ravel() for g in np.meshgrid(np.arange(8.0), np.arange(6.0)))
    for _ in range(10):
        points = np.column_stack([x * 20, y * 20, rng.integers(-2, 3, x.size) * 0.01 * pitch])
        zone = minimum_zone_plane(points)
        assert zone.certificate.kind == "global"
        assert zone.certificate.gap_mm < 1e-9
        check(points, zone)


def test_three_points_and_exact_planes_are_flat() -> None:
    rng = np.random.default_rng(3)
    for n in (3, 4, 50):
        points = np.column_stack([rng.uniform(-50, 50, (n, 2)), np.zeros(n)])
        R = np.linalg.qr(rng.normal(size=(3, 3)))[0]
        zone = minimum_zone_plane(points @ R.T + 100, toward=R[:, 2])
        assert zone.width_mm < 1e-12
        assert zone.certificate.kind == "global"
        assert np.abs(zone.normal - R[:, 2]).max() < 1e-12


def test_twice_the_same_points_change_nothing() -> None:
    points = np.random.default_rng(5).normal(size=(30, 3)) * [100, 60, 0.02]
    one, two = minimum_zone_plane(points), minimum_zone_plane(np.concatenate([points, points[::-1]]))
    assert abs(one.width_mm - two.width_mm) < 1e-14
    assert np.abs(one.normal - two.normal).max() < 1e-15


@pytest.mark.parametrize("offset", [0.0, 1e5])
@pytest.mark.parametrize("width", [1e-6, 1.0])
def test_far_from_the_origin_and_thin(offset: float, width: float) -> None:
    """Made backwards: two points on each plane, crossed in plan. Analytic; coordinates carry 1e-11 mm at 1e5 mm."""
    plan = np.array([[100, 80], [-90, -70], [80, -80], [-100, 70], [0, 0], [10, 5]], float)
    points = np.column_stack([plan, np.array([0.5, 0.5, -0.5, -0.5, 0.1, -0.2]) * width])
    R = np.linalg.qr(np.random.default_rng(6).normal(size=(3, 3)))[0]
    zone = minimum_zone_plane(points @ R.T + offset)
    assert abs(zone.width_mm - width) < (1e-12 if offset == 0 else 1e-10)
    assert zone.certificate.kind == "global"
    moved = points.copy()
    moved[0, 2] += 1e-6  # negative twin: a nanometre more at one contact shows
    assert abs(flatness(moved @ R.T + offset) - width) > 1e-7


@pytest.mark.parametrize("order", ["as measured", "by height", "in columns"])
def test_many_points_are_reduced_exactly(order: str) -> None:
    """Against all points at once, and a nanometre more at a contact, or at a point that no block kept, shows."""
    from trysquare.geometry.zones.flat import solve_flat

    rng = np.random.default_rng(11)
    x, y = rng.uniform(0, 800, 30_000), rng.uniform(0, 500, 30_000)
    points = np.column_stack([x, y, 0.03 * np.sin(x / 130) * np.cos(y / 90) + rng.normal(0, 0.004, x.size)])
    points = points[
        {"as measured": np.arange(x.size), "by height": points[:, 2].argsort(), "in columns": x.argsort()}[order]
    ]
    zone = minimum_zone_plane(points)
    whole = solve_flat(points[None], np.array([[0.0, 0.0, 1.0]]))
    check(points, zone)
    assert zone.certificate.kind == "global"
    assert zone.certificate.gap_mm < 1e-11
    assert abs(zone.width_mm - whole.widths[0]) < 1e-12
    assert sorted(zone.certificate.contacts) == sorted(whole.contacts[0])
    for k in (zone.certificate.contacts[0], 12_345):
        twin = points.copy()
        out = zone.width_mm / 2 + 1e-6 - abs(zone.residuals_mm[k])
        twin[k] += zone.normal * out * np.sign(zone.residuals_mm[k])
        assert flatness(twin) > zone.width_mm + 1e-8


def test_many_points_that_fail_say_so() -> None:
    line = np.arange(30_000.0)[:, None] * [1.0, 2.0, 3.0]
    with pytest.raises(RankError, match="line"):
        minimum_zone_plane(line)
    lifted = np.column_stack([np.arange(40_000.0), np.arange(40_000.0) % 7, np.zeros(40_000)])
    lifted[31_234, 1] = np.nan
    with pytest.raises(InputError, match=r"value \(31234, 1\)"):
        minimum_zone_plane(lifted)
    lifted[31_234, 1] = 3.0
    assert flatness(lifted) < 1e-12


def test_held_to_a_direction() -> None:
    """Square to z: the range of z. Parallel to z: the least width of the plan. Analytic and by a fine search."""
    points = np.random.default_rng(7).normal(size=(40, 3)) * [50, 20, 5]
    square = minimum_zone_plane(points, perpendicular_to=[0, 0, -2.0])
    assert abs(square.width_mm - np.ptp(points[:, 2])) < 1e-13
    assert square.normal.tolist() == [0, 0, 1]
    check(points, square)
    along = minimum_zone_plane(points, parallel_to=[0, 0, 3.0])
    turn = np.linspace(0, np.pi, 200_001)
    widths = np.ptp(points[:, :2] @ np.array([np.cos(turn), np.sin(turn)]), axis=0)
    assert 0 <= widths.min() - along.width_mm < 1e-3
    assert abs(along.normal[2]) < 1e-15
    assert along.certificate.kind == "global"
    check(points, along)
    assert flatness(points) <= min(square.width_mm, along.width_mm)


def test_each_draw_may_have_its_own_direction() -> None:
    rng = np.random.default_rng(8)
    points = rng.normal(size=(5, 30, 3)) * [50, 20, 5]
    directions = rng.normal(size=(5, 3))
    for name in ("parallel_to", "perpendicular_to"):
        batch = minimum_zone_plane(points, **{name: directions})
        for k in range(5):
            one = minimum_zone_plane(points[k], **{name: directions[k]})
            assert abs(one.width_mm - batch.width_mm[k]) < 1e-12


def test_failed_members_are_named_and_spare_the_others() -> None:
    points = np.random.default_rng(9).normal(size=(4, 30, 3)) * [50, 20, 0.01]
    points[0] = 7.0
    points[2] = np.arange(30)[:, None] * [1.0, 2.0, 3.0]
    zone = minimum_zone_plane(points)
    assert zone.ok.tolist() == [False, True, False, True]
    assert zone.certificate.kind.tolist() == ["none", "global", "none", "global"]
    assert zone.stopped[2] == "directions left open"
    assert np.isnan(zone.width_mm[[0, 2]]).all()
    assert np.isnan(zone.residuals_mm[0]).all()
    assert np.isinf(zone.certificate.gap_mm[2])
    assert (zone.certificate.contacts[0] == -1).all()
    assert abs(zone.width_mm[3] - flatness(points[3])) < 1e-13


def test_bad_input() -> None:
    line = np.arange(9)[:, None] * [1.0, 2.0, 3.0]
    with pytest.raises(RankError, match="line"):
        minimum_zone_plane(line)
    with pytest.raises(RankError, match="coincide"):
        minimum_zone_plane(np.ones((5, 3)))
    with pytest.raises(InputError, match="3 coordinates"):
        minimum_zone_plane(np.ones((5, 2)))
    with pytest.raises(InputError, match="at least 3"):
        minimum_zone_plane(np.ones((2, 3)))
    with pytest.raises(InputError, match=r"value \(3, 1\)"):
        minimum_zone_plane([[0, 0, 0], [1, 0, 0], [0, 1, 0], [0, np.nan, 0]])
    with pytest.raises(InputError, match="both"):
        minimum_zone_plane(np.eye(3), parallel_to=[0, 0, 1], perpendicular_to=[1, 0, 0])
    with pytest.raises(InputError, match="length above 0"):
        minimum_zone_plane(np.eye(3), parallel_to=[0, 0, 0])


def test_negative_twin_least_squares_is_wider() -> None:
    points = np.random.default_rng(10).normal(size=(60, 3)) * [50, 20, 0.01]
    assert fit_plane(points).form_mm > flatness(points) + 1e-4
