"""Placing a part from anywhere: its features need not be touched round their nominal points. Expected: analytic."""

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from trysquare.core.errors import RankError
from trysquare.core.frames import Rigid
from trysquare.tolerances.nominal import Nominal
from trysquare.tolerances.placing import place

X, Y, Z = np.eye(3)
TOP = Nominal("plane", np.zeros(3), Z, size_mm=(300.0, 200.0), along=X)
HOLES = [Nominal("cylinder", np.array([x, 0.0, -10.0]), Z, 20.0, 20.0, True) for x in (-100.0, 100.0)]


def anywhere(k):
    rng = np.random.default_rng(k)
    return Rigid(Rotation.random(random_state=k).as_matrix(), 1000 * rng.normal(size=3))


def in_hole(n):
    u, v, w = n.frame()
    a = np.arange(4) * np.pi / 2
    ring = 10.0 * (np.outer(np.cos(a), u) + np.outer(np.sin(a), v))
    return n.point_mm + np.concatenate([ring + s * w for s in (-8.0, 8.0)])


def in_corner(rng, low, high, count=12):
    """Points of the top, far from its middle."""
    return np.column_stack([rng.uniform(low, high, (count, 2)), np.zeros(count)])


@pytest.mark.parametrize("corner", [((40, 30), (140, 90)), ((-140, -90), (140, 90)), ((-140, 30), (-60, 90))])
def test_a_plane_and_two_holes_on_its_middle_line(corner):
    """The plane is touched on one side only: it may lie anywhere, but the holes go down from it."""
    for k in range(25):
        points = [in_corner(np.random.default_rng(k), *corner), *map(in_hole, HOLES)]
        away = anywhere(k)
        back = place([away.apply(p) for p in points], [TOP, *HOLES], where="test").after(away)
        np.testing.assert_allclose(back.R, np.eye(3), atol=1e-9)
        np.testing.assert_allclose(back.t, 0.0, atol=1e-6)


PLANES = [
    Nominal("plane", np.array(p, float), n) for p, n in (((300, 200, 0), -Z), ((0, 200, 60), -X), ((300, 0, 60), -Y))
]


def three_planes():
    """Touched near the corner where they meet: what is a point of each says little."""
    ab = np.array([[a, b] for a in (20.0, 60.0, 90.0) for b in (15.0, 45.0, 70.0)])
    zero = np.zeros(len(ab))
    return [np.column_stack(c) for c in ((ab[:, 0], ab[:, 1], zero), (zero, *ab.T), (ab[:, 0], zero, ab[:, 1]))]


def test_planes_face_the_station_that_saw_them():
    for k in range(10):
        away = anywhere(k)
        station = away.apply(np.array([[-2000.0, -1500.0, -900.0]]))
        points = [away.apply(p) for p in three_planes()]
        back = place(points, PLANES, where="test", seen_from=[station] * 3).after(away)
        np.testing.assert_allclose(back.R, np.eye(3), atol=1e-9)


def test_two_ways_that_fit_alike_are_refused():
    """A plane through the middles of two holes: upside down it is the same, if nobody says from where it was seen."""
    holes = [Nominal("cylinder", n.point_mm * [1, 1, 0], Z, 20.0, 20.0, True) for n in HOLES]
    middle = Nominal("plane", np.zeros(3), Z)
    square = np.array([[x, y, 0.0] for x in (-50, 0, 50) for y in (-40, 0, 40)])
    points = [square, *map(in_hole, holes)]
    with pytest.raises(RankError, match="one way only"):
        place(points, [middle, *holes], where="test")
    for side in (1.0, -1.0):
        seen = [np.array([[0.0, 0.0, side * 900.0]])] * 3
        assert place(points, [middle, *holes], where="test", seen_from=seen).R[2, 2] == pytest.approx(side, abs=1e-9)


@pytest.mark.parametrize("side", [1.0, -1.0])
def test_a_plane_alone_faces_its_station(side):
    """Where nothing hangs on the frame of the part, freedoms may stay open."""
    points = in_corner(np.random.default_rng(1), (-100, -50), (100, 50))
    found = place([points], [TOP], where="test", seen_from=[np.array([[0.0, 0.0, side * 900.0]])], whole=False)
    assert found.R[2, 2] == pytest.approx(side, abs=1e-12)
    with pytest.raises(RankError, match="six freedoms"):
        place([points], [TOP], where="test")
    assert abs(place([points], [TOP], where="test", whole=False).R[2, 2]) == pytest.approx(
        1, abs=1e-12
    )  # either will do
