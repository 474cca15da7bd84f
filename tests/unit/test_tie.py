"""Ties of stations: shapes, names, messages."""

import numpy as np
import pytest

from trysquare.core.errors import ConvergenceError, InputError, RankError
from trysquare.core.frames import Rigid, rotation
from trysquare.networks import block_covariance, suspects, tie

POINTS = np.array([[0, 0, 0], [2000, 0, 100], [0, 1500, 300], [1800, 1600, 900], [900, 700, 1400.0]])
NAMES = ("T1", "T2", "T3", "T4", "T5")
POSES = [Rigid.identity(), Rigid(rotation(np.array([0.01, -0.02, 2.5])), np.array([4000.0, -500, 30]))]
POSES.append(Rigid(rotation(np.array([-0.01, 0.01, -1.2])), np.array([-3000.0, 2500, 60])))
NOISE = 1e-4 * np.eye(3)


def _seen(k, chosen):
    return POSES[k].inverse().apply(POINTS[list(chosen)]), tuple(NAMES[i] for i in chosen)


def _tie(*chosen, shift=0.0, **options):
    seen = [_seen(k, c) for k, c in enumerate(chosen)]
    covariances = [np.broadcast_to(NOISE, (len(c), 3, 3)) for c in chosen]
    return tie([p + shift for p, _ in seen], [n for _, n in seen], covariances, **options)


def test_perfect_sightings_give_the_poses_back():
    result = _tie(range(5), range(5), range(5))
    for found, true in zip(result.poses, POSES):
        np.testing.assert_allclose(found.R, true.R, atol=1e-13)
        np.testing.assert_allclose(found.t, true.t, atol=1e-9)
    np.testing.assert_allclose(result.points_mm, POINTS, atol=1e-9)
    assert result.dof == 3 * 15 - 12 - 15
    assert float(result.chi_square) < 1e-12
    assert result.suspects == ()
    np.testing.assert_allclose(result.place("T3"), POINTS[2], atol=1e-9)


def test_stations_reach_the_first_by_any_path():
    """Station 2 shares points only with station 3, which shares points with station 1."""
    result = _tie((0, 1, 2), (2, 3, 4, 0), (0, 1, 2, 3, 4))
    np.testing.assert_allclose(result.poses[1].t, POSES[1].t, atol=1e-9)
    apart = np.vstack([POINTS, POINTS[:3] + np.array([500, 300, -200])])
    index = [(0, 1, 2), (5, 6, 7), (0, 1, 2, 5, 6, 7)]
    p = [POSES[k].inverse().apply(apart[list(i)]) for k, i in enumerate(index)]
    names = [tuple(f"P{j}" for j in i) for i in index]
    chain = tie(p, names, [np.broadcast_to(NOISE, (len(i), 3, 3)) for i in index])
    np.testing.assert_allclose(chain.poses[1].t, POSES[1].t, atol=1e-9)


def test_a_point_seen_once_changes_nothing_but_is_carried():
    with_it, without = _tie((0, 1, 2, 3, 4), (0, 1, 2, 3)), _tie((0, 1, 2, 3), (0, 1, 2, 3))
    np.testing.assert_allclose(with_it.poses[1].t, without.poses[1].t, atol=1e-10)
    assert with_it.dof == without.dof
    lone = [m for m in with_it.misfits if m.point == "T5"]
    assert [m.checked for m in lone] == [0]
    assert not lone[0].suspect


def test_draws_are_leading_axes():
    rng = np.random.default_rng(1)
    seen = [_seen(k, range(5)) for k in range(2)]
    covariances = [np.broadcast_to(NOISE, (5, 3, 3))] * 2
    drawn = tie([p + rng.normal(0, 0.01, (7, 5, 3)) for p, _ in seen], [n for _, n in seen], covariances)
    assert drawn.points_mm.shape == (7, 5, 3)
    assert drawn.poses[0].R.shape == (7, 3, 3)
    assert drawn.poses[1].t.shape == (7, 3)
    assert drawn.chi_square.shape == (7,)
    assert drawn.pose_covariance is None
    assert drawn.residuals_mm[1].shape == (7, 5, 3)
    assert drawn.poses[1][2].apply(seen[1][0]).shape == (5, 3)


def test_batches_of_draws_change_no_digit():
    rng = np.random.default_rng(2)
    seen = [_seen(k, range(5)) for k in range(2)]
    names, covariances = [n for _, n in seen], [np.broadcast_to(NOISE, (5, 3, 3))] * 2
    noisy = [p + rng.normal(0, 0.01, (9, 5, 3)) for p, _ in seen]
    value = tie([p for p, _ in seen], names, covariances)
    whole = tie(noisy, names, covariances, about=value).points_mm
    parts = [tie([q[a:b] for q in noisy], names, covariances, about=value).points_mm for a, b in ((0, 2), (2, 9))]
    assert np.array_equal(whole, np.concatenate(parts))


def test_a_wrong_point_is_the_first_suspect():
    seen = [_seen(k, range(5)) for k in range(3)]
    moved = seen[1][0].copy()
    moved[3, 2] += 0.4
    rng = np.random.default_rng(3)
    p = [q + rng.normal(0, 0.01, (5, 3)) for q in (seen[0][0], moved, seen[2][0])]
    covariances = [np.broadcast_to(NOISE, (5, 3, 3))] * 3
    value = tie(p, [n for _, n in seen], covariances)
    assert (value.suspects[0].station, value.suspects[0].point) == ("2", "T4")
    assert str(value.suspects[0]).startswith('station "2", tie point "T4": misses by ')
    noise = [rng.normal(0, 0.01, (300, 5, 3)) for _ in range(3)]
    drawn = tie([q + e for q, e in zip(p, noise)], [n for _, n in seen], covariances, about=value)
    assert (suspects(value, drawn)[0].station, suspects(value, drawn)[0].point) == ("2", "T4")
    # where the sources explain such a residual, it is no suspect
    wide = tie([q + 20 * e for q, e in zip(p, noise)], [n for _, n in seen], covariances, about=value)
    assert suspects(value, wide) == ()


def test_suspects_needs_draws():
    value = _tie(range(5), range(5))
    with pytest.raises(InputError, match="be at least 100; got 1"):
        suspects(value, value)


@pytest.mark.parametrize(
    ("chosen", "found"),
    [
        (((0, 1, 2), (3, 4)), "none: nothing connects it"),
        (((0, 1, 2, 3), (2, 3, 4)), '2 ("T3", "T4")'),
    ],
)
def test_too_few_common_points(chosen, found):
    with pytest.raises(InputError) as caught:
        _tie(*chosen, stations=("north", "south"))
    error = caught.value
    assert (error.where, error.rule, error.found) == ('tie of station "south" to "north"', "be at least 3", found)
    assert "Measure at least 3" in error.way_out


def test_points_on_a_line():
    line = np.array([[0, 0, 0], [1000, 10, 5], [2000, 20, 10], [3000, 30, 15.0]])
    line[1, 2] += 0.05
    p = [line, POSES[1].inverse().apply(line)]
    with pytest.raises(RankError) as caught:
        tie(p, [NAMES[:4]] * 2, [np.broadcast_to(NOISE, (4, 3, 3))] * 2)
    error = caught.value
    assert error.ratio < error.threshold
    assert error.where == 'tie of station "2" to "1"'
    assert error.what == 'the tie points "T1", "T2", "T3", "T4"'
    assert error.rule == "not lie on one line"
    assert "mm across a line of 1118 mm" in error.found
    assert "well off that line" in error.way_out


def test_points_barely_off_a_line_are_judged_by_their_noise():
    bent = np.array([[0, 0, 0], [1000, 0, 0], [2000, 0, 0], [3000, 0, 30.0]])
    p = [bent, POSES[1].inverse().apply(bent)]
    fine = tie(p, [NAMES[:4]] * 2, [np.broadcast_to(NOISE, (4, 3, 3))] * 2)
    np.testing.assert_allclose(fine.points_mm, bent, atol=1e-9)
    with pytest.raises(RankError):
        tie(p, [NAMES[:4]] * 2, [np.broadcast_to(4 * np.eye(3), (4, 3, 3))] * 2)


def test_all_points_in_one_place():
    p = [np.ones((3, 3)), np.ones((3, 3))]
    with pytest.raises(RankError) as caught:
        tie(p, [NAMES[:3]] * 2, [np.broadcast_to(NOISE, (3, 3, 3))] * 2)
    assert caught.value.ratio == 0


def _broken(kind):
    p = [_seen(k, range(4))[0] for k in range(2)]
    names, C, options = [NAMES[:4]] * 2, [np.broadcast_to(NOISE, (4, 3, 3)).copy() for _ in range(2)], {}
    if kind == "name twice":
        names = [NAMES[:4], ("T1", "T2", "T2", "T4")]
    elif kind == "station twice":
        options = {"stations": ("a", "a")}
    elif kind == "one station":
        p, names, C = p[:1], names[:1], C[:1]
    elif kind == "counts":
        C = C[:1]
    elif kind == "arrays":
        p = p[:1]
    elif kind == "points":
        p[1] = p[1][:3]
    elif kind == "nan":
        p[1][2, 1] = np.nan
    elif kind == "shape":
        C[1] = C[1][:3]
    elif kind == "indefinite":
        C[1][2, 2, 2] = -1.0
    elif kind == "draws":
        p = [np.zeros((2, 4, 3)), np.zeros((3, 4, 3))]
    return lambda: tie(p, names, C, **options)


@pytest.mark.parametrize(
    ("kind", "message"),
    [
        ("name twice", 'station "2": the tie point "T2" must appear once; got 2 times. Average its repeats first'),
        ("station twice", 'tie: the station "a" must appear once; got 2 times.'),
        ("one station", "tie: the number of stations must be at least 2; got 1. One station needs no tie."),
        ("counts", "tie: stations, names and covariances must be equal in number; got 2, 2 and 1."),
        ("arrays", "tie: points must be given for 2 stations; got 1."),
        ("points", 'station "2": the tie points must be 4, as many as names; got 3.'),
        ("nan", 'station "2", tie points: value (2, 1) must be finite; got nan.'),
        ("shape", 'station "2": the covariances must have the shape (4, 3, 3); got (3, 3, 3).'),
        ("indefinite", 'station "2", tie point "T3": the covariance must be symmetric and positive definite; got a'),
        ("draws", "tie: the draws of all stations must be equal in number; got [(2,), (3,)]. Draw once."),
    ],
)
def test_messages(kind, message):
    with pytest.raises(InputError) as caught:
        _broken(kind)()
    assert str(caught.value).startswith(message)


def test_contradiction_stops_with_a_message():
    seen = [_seen(k, range(5)) for k in range(2)]
    names, covariances = [n for _, n in seen], [np.broadcast_to(NOISE, (5, 3, 3))] * 2
    value = tie([p for p, _ in seen], names, covariances)
    wild = np.random.default_rng(6).normal(0, 3000, (20, 5, 3))
    with pytest.raises(ConvergenceError, match=r"tie: the steps must fall below 1e-10 mm within 20; got \d+ draws"):
        tie([seen[0][0] + wild, seen[1][0] - wild], names, covariances, about=value)


class _Polar:
    def points(self, obs):
        az, el, r = obs[..., 0], obs[..., 1], obs[..., 2]
        return np.stack([r * np.cos(el) * np.cos(az), r * np.cos(el) * np.sin(az), r * np.sin(el)], -1)


def test_block_covariance_of_a_polar_reading_is_analytic():
    """At azimuth 0 and elevation 0 the block is diagonal: range, then range times angle, twice (analytic)."""
    block = block_covariance(_Polar(), np.array([[0.0, 0.0, 8000.0]]), np.array([[2e-6, 3e-6, 0.004]]))
    np.testing.assert_allclose(block, [np.diag([0.004**2, 0.016**2, 0.024**2])], rtol=1e-8, atol=1e-14)


def test_block_covariance_against_draws():
    rng = np.random.default_rng(5)
    obs, spread = np.array([[1.1, 0.6, 5000.0], [-2.0, -0.3, 900.0]]), np.array([[2e-6, 3e-6, 0.004]] * 2)
    cloud = _Polar().points(obs + rng.normal(size=(200_000, 2, 3)) * spread)
    for j in range(2):
        expected = np.cov(cloud[:, j].T)
        scale = np.sqrt(np.outer(np.diag(expected), np.diag(expected)))
        assert np.abs((block_covariance(_Polar(), obs, spread)[j] - expected) / scale).max() < 0.015


def test_limits_of_suspects_are_those_of_chi_square():
    """Expected: scipy.stats, one in a thousand over ten sightings."""
    from scipy.stats import chi2

    limits = {m.limit for m in _tie(range(5), range(5)).misfits}
    np.testing.assert_allclose(sorted(limits), [np.sqrt(chi2.isf(1e-4, 3))], rtol=1e-9)
