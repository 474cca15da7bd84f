"""Rocking primary planes: every seat on which a convex feature can stand, and what that does to a value."""

import numpy as np
import pytest
from scipy.optimize import linprog
from scipy.spatial import ConvexHull, Delaunay
from shaft_job import shaft_job

from trysquare.jobs.judge import judge
from trysquare.jobs.loading.load import load
from trysquare.tolerances.nominal import Nominal
from trysquare.tolerances.rocking import crown, stable_seats

UP = Nominal("plane", np.zeros(3), np.array([0.0, 0, 1]))
SQUARE = (
    'position = { zone = "diameter 0.1", datums = ["A-B"] }',
    'perpendicularity = { zone = "diameter 0.05", datums = ["C"] }',
)


def _face(rows, xs):
    return np.array([(x, y, z) for x, z in zip(xs, rows, strict=True) for y in (-30.0, 0.0, 30.0)])


def _slopes(seats):
    """Slopes along x of seats (k, n, 3)."""
    return sorted(float(np.polyfit(s[:, 0], s[:, 2], 1)[0]) for s in seats)


def _middle_of(outline):
    """Middle of the area, from triangles."""
    corners = outline[Delaunay(outline).simplices]
    areas = np.abs(np.linalg.det(corners[:, 1:] - corners[:, :1]))
    return (corners.mean(1) * areas[:, None]).sum(0) / areas.sum()


def test_a_flat_face_has_one_seat():
    """Analytic; however many triangles its hull is cut into."""
    seats = stable_seats(_face([0.0] * 4, [-30.0, -10, 10, 30]), UP)
    np.testing.assert_allclose(_slopes(seats), [0.0], atol=1e-12)


def test_a_roof_stands_on_either_side_of_its_ridge():
    """Analytic: a ridge across the middle leaves the two slopes of the roof."""
    seats = stable_seats(_face([0.0, 0.02, 0.0], [-30.0, 0, 30]), UP)
    np.testing.assert_allclose(_slopes(seats), [-0.02 / 30, 0.02 / 30], atol=1e-12)


def test_a_hollow_face_stands_on_its_rim():
    """Negative twin of the roof: turned round it does not rock."""
    seats = stable_seats(_face([0.0, -0.02, 0.0], [-30.0, 0, 30]), UP)
    np.testing.assert_allclose(_slopes(seats), [0.0], atol=1e-12)


def test_a_bevel_at_the_edge_is_no_seat():
    """Analytic: a facet outside the middle third is none; one that reaches into it is."""
    xs = [-30.0, 20, 30]
    assert _slopes(stable_seats(_face([0.0, 0.0, -0.02], xs), UP)) == pytest.approx([0.0], abs=1e-12)
    assert len(stable_seats(_face([0.0, 0.0, -0.02], [-30.0, 5, 30]), UP)) == 2


@pytest.mark.parametrize("seed", range(3))
def test_seats_are_those_that_forces_find(seed):
    """Independent computation: under a force at a point of the middle third the part stands where the hull is there,
    which is the plane above all points that is lowest at that point (linear programme, SciPy)."""
    rng = np.random.default_rng(seed)
    xy = rng.uniform(-30, 30, (25, 2))
    points = np.column_stack([xy, -1e-5 * (xy**2).sum(1) + 0.002 * rng.normal(size=25)])
    M = np.column_stack([np.ones(25), xy])
    outline = xy[ConvexHull(xy).vertices]
    middle = _middle_of(outline)
    found = set()
    edges = np.linspace(outline, np.roll(outline, -1, axis=0), 40).reshape(-1, 2)
    spread = rng.dirichlet(np.full(len(outline), 0.3), 600) @ outline
    for at in middle + 0.999 * (np.concatenate([edges, spread]) - middle) / 3:
        plane = linprog([1, *at], A_ub=-M, b_ub=-points[:, 2], bounds=[(None, None)] * 3).x
        found.add(tuple(np.round(plane[1:] * 1e6).astype(int)))
    seats = stable_seats(points, UP)
    slopes = {tuple(np.round(np.linalg.lstsq(M, s[:, 2], rcond=None)[0][1:] * 1e6).astype(int)) for s in seats}
    assert len(slopes) > 1
    assert found == slopes


def test_the_spread_over_the_seats_stands_beside_the_value(tmp_path):
    """Analytic: a ridge across the middle, slopes of 0.001 and -0.0015 on its sides; an axis of 40 mm leans by 40 s.

    Between them the outer plane of least largest distance has -0.00025, well within the zone.
    """
    touching = ("[datum]", '[association]\nall = "outer minimax"\n[datum]')
    roof = ((-20.0, 0.0), (0.0, 0.02), (10.0, 0.004), (20.0, -0.01))
    judged = judge(load(shaft_job(tmp_path / "roof", {}, touching, SQUARE, rows_mm=roof))).requirements[0]
    assert judged.value == pytest.approx(0.01, abs=1e-6)
    note = next(n for n in judged.notes if "facets" in n)
    assert "2 facets" in note
    assert "from 0.0400 to 0.0600 mm" in note
    assert "stands out" not in note
    assert "hang on how the part is set down" in note
    assert judged.verdict == "undecided"


def test_a_ridge_near_the_edge_is_no_rocking(tmp_path):
    """Negative twin: only the long side of the ridge reaches into the middle third; and least squares does not rock."""
    touching = ("[datum]", '[association]\nall = "outer minimax"\n[datum]')
    near = ((-20.0, 0.0), (-10.0, 0.02), (10.0, 0.0), (20.0, 0.0))
    for folder, edits in (("near", (touching, SQUARE)), ("squares", (SQUARE,))):
        judged = judge(load(shaft_job(tmp_path / folder, {}, *edits, rows_mm=near))).requirements[0]
        assert not any("facets" in note for note in judged.notes)


def _domed(rng, noise, height=0.0, n=25):
    half = np.concatenate([[[30, 30], [30, -30]], rng.uniform(-30, 30, (n // 2 - 2, 2))])
    xy = np.concatenate([half, -half, np.zeros((n - 2 * len(half), 2))])
    along = xy @ np.array([0.6, 0.8])
    return np.column_stack([xy, -height * (along / 30) ** 2 + noise * rng.normal(size=n)])


def test_the_crown_is_that_of_the_surface():
    """Analytic: a cylinder's back across a direction of its own, 0.03 mm over 30 mm; turned round it is a hollow."""
    rng = np.random.default_rng(2)
    points, errors = _domed(rng, 0.0, 0.03), 0.002 * rng.normal(size=(200, 25))
    found = crown(points, errors, UP)
    assert found.height_mm == pytest.approx(0.03, rel=1e-9)
    assert found.clear
    assert not crown(points * [1, 1, -1], errors, UP).clear
    assert crown(points[:6], errors[:, :6], UP) is None


def test_noise_is_no_crown():
    """Statistics: few of 300 flat faces with noise pass for crowned, most of 100 with a crown ten times the noise."""
    rng = np.random.default_rng(3)
    errors = 0.005 * rng.normal(size=(200, 25))
    flat = sum(crown(_domed(rng, 0.005), errors, UP).clear for _ in range(300))
    high = sum(crown(_domed(rng, 0.005, 0.05), errors, UP).clear for _ in range(100))
    assert flat <= 12
    assert high >= 95


HIGH_ROOF = ((-20.0, 0.0), (-5.0, 0.29), (0.0, 0.3), (5.0, 0.24), (20.0, -0.15))


@pytest.mark.parametrize(("zone", "words"), [("0.7", "hang on how the part is set down"), ("20", "")])
def test_a_crowned_face_by_least_squares_says_what_rocking_would_do(tmp_path, zone, words):
    """The verdict is that of least squares, which has one seat; the note tells the spread where it matters."""
    square = (SQUARE[0], SQUARE[1].replace("0.05", zone))
    result = judge(load(shaft_job(tmp_path, {}, square, rows_mm=HIGH_ROOF)))
    judged = result.requirements[0]
    notes = [n for n in judged.notes if "stands out in the middle" in n]
    assert judged.interval is not None
    assert bool(notes) == bool(words)
    assert all(words in note and "least squares, the datum judged by, has one seat" in note for note in notes)


def test_a_flat_face_by_least_squares_says_nothing(tmp_path):
    """Negative twin."""
    judged = judge(load(shaft_job(tmp_path, {}, SQUARE))).requirements[0]
    assert not any("facets" in note for note in judged.notes)
