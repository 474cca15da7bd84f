"""Straightness in a plane: every edge of the hull, sets made backwards, views, held directions, many points."""

import numpy as np
import pytest

from trysquare.core.errors import InputError, RankError
from trysquare.geometry import ZoneFit, zone_line


def by_every_edge(points: np.ndarray) -> float:
    """Least width over the edges of the hull, each in turn: rotating calipers without the calipers (Qhull)."""
    from scipy.spatial import ConvexHull

    normals = ConvexHull(points).equations[:, :2]
    return float(np.ptp(points @ normals.T, axis=0).min())


def check(points: np.ndarray, zone: ZoneFit) -> None:
    left = np.array([-zone.direction[1], zone.direction[0]])
    h = (points - zone.point_mm) @ left
    assert np.abs(h - zone.residuals_mm).max() < 1e-11
    assert abs(np.ptp(h) - zone.width_mm) < 1e-11
    assert abs(h.max() + h.min()) < 1e-11
    held = zone.certificate.contacts >= 0
    at = zone.residuals_mm[zone.certificate.contacts[held]]
    assert np.abs(at - zone.certificate.sides[held] * zone.width_mm / 2).max() < 1e-11
    assert abs((points.mean(0) - zone.point_mm) @ zone.direction) < 1e-9
    assert zone.certificate.kind == "global"
    assert 0 <= zone.certificate.gap_mm < 2e-11


@pytest.mark.parametrize("seed", range(10))
@pytest.mark.parametrize("height", [1e-3, 0.5, 1.0])
def test_against_every_edge_of_the_hull(seed: int, height: float) -> None:
    rng = np.random.default_rng(seed)
    points = rng.normal(size=(int(rng.integers(4, 60)), 2)) * [30, 30 * height]
    if seed % 3 == 0:
        points /= np.linalg.norm(points, axis=1)[:, None] / 10  # on a circle: many zones of nearly one width
    zone = zone_line(points)
    check(points, zone)
    assert abs(zone.width_mm - by_every_edge(points)) < 1e-11


@pytest.mark.parametrize("width", [1e-6, 0.01, 5.0])
def test_made_backwards(width: float) -> None:
    """Two points on one line with one between them on the other: the alternation that proves it. Analytic."""
    rng = np.random.default_rng(1)
    inner = np.column_stack([rng.uniform(-50, 50, 30), rng.uniform(-0.49, 0.49, 30) * width])
    points = np.concatenate([[[-40, width / 2], [35, width / 2], [3, -width / 2]], inner])
    turn = 0.7
    R = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    zone = zone_line(points @ R.T + [500, -300])
    assert abs(zone.width_mm - width) < 1e-12
    assert sorted(zone.certificate.contacts[:3]) == [0, 1, 2]
    assert np.abs(np.abs(zone.direction) - R[:, 0]).max() < 1e-12
    points[2, 1] -= 1e-6  # negative twin: a nanometre more at a contact shows in full
    assert abs(zone_line(points @ R.T + [500, -300]).width_mm - width - 1e-6) < 1e-11


def test_in_space_along_a_view() -> None:
    rng = np.random.default_rng(2)
    flat = np.column_stack([rng.uniform(-50, 50, 25), 0.1 * rng.normal(size=25)])
    R = np.linalg.qr(rng.normal(size=(3, 3)))[0]
    R *= np.linalg.det(R)
    space = np.column_stack([flat, rng.uniform(-5, 5, 25)]) @ R.T + 70
    one, other = zone_line(flat, toward=[1, 0]), zone_line(space, view=3 * R[:, 2], toward=R[:, 0])
    assert abs(one.width_mm - other.width_mm) < 1e-13
    assert np.abs(other.direction - R[:, :2] @ one.direction).max() < 1e-13
    assert np.abs(other.residuals_mm - one.residuals_mm).max() < 1e-12
    assert other.certificate.sides.tolist() == one.certificate.sides.tolist()
    batch = zone_line(np.array([space, space[::-1]]), view=[R[:, 2], -R[:, 2]], toward=R[:, 0])
    assert np.abs(batch.width_mm - one.width_mm).max() < 1e-13
    assert np.abs(batch.residuals_mm[1][::-1] + one.residuals_mm).max() < 1e-12  # seen from behind


def test_held_to_a_direction() -> None:
    points = np.random.default_rng(3).normal(size=(30, 2)) * [40, 3]
    level = zone_line(points, parallel_to=[-2, 0])
    assert abs(level.width_mm - np.ptp(points[:, 1])) < 1e-14
    assert level.direction.tolist() == [1, 0]
    check(points, level)
    upright = zone_line(points, perpendicular_to=[1, 0])
    assert abs(upright.width_mm - np.ptp(points[:, 0])) < 1e-14
    check(points, upright)
    assert zone_line(points).width_mm < level.width_mm


def test_many_points_and_draws() -> None:
    rng = np.random.default_rng(4)
    points = np.column_stack([rng.uniform(0, 900, 200_000), rng.normal(0, 0.004, 200_000)])
    zone = zone_line(points)
    check(points, zone)
    assert abs(zone.width_mm - by_every_edge(points)) < 1e-11
    draws = points[:300] + rng.normal(0, 0.001, (50, 300, 2))
    batch = zone_line(draws)
    assert np.abs(batch.width_mm - [by_every_edge(member) for member in draws]).max() < 1e-12


def test_few_points_failures_and_bad_input() -> None:
    two = zone_line([[0.0, 0.0], [3.0, 4.0]])
    assert two.width_mm < 1e-15
    assert np.abs(two.direction - [0.6, 0.8]).max() < 1e-15
    mixed = zone_line([[[0, 0], [1, 0], [2, 1]], [[5, 5], [5, 5], [5, 5]]])
    assert mixed.ok.tolist() == [True, False]
    assert np.isnan(mixed.direction[1]).all()
    with pytest.raises(RankError, match="coincide"):
        zone_line(np.ones((4, 2)))
    with pytest.raises(RankError, match="coincide"):
        zone_line([[0, 0, 0], [0, 0, 5.0], [0, 0, 9]], view=[0, 0, 1])
    with pytest.raises(InputError, match="looked along"):
        zone_line(np.eye(3))
    with pytest.raises(InputError, match="across the direction"):
        zone_line(np.eye(3), view=[0, 0, 1], parallel_to=[0, 0, 2])
