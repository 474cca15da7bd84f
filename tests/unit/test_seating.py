"""Seating: datum systems by lexicographic least squares, and the rough placement of a part."""

import numpy as np
import pytest

from trysquare.core.errors import RankError
from trysquare.core.frames import Rigid, rotation
from trysquare.geometry import fit_line
from trysquare.tolerances.nominal import Nominal
from trysquare.tolerances.orientation import locked_directions
from trysquare.tolerances.placing import place
from trysquare.tolerances.seating import seat

X, Y, Z = np.eye(3)


def _plane(point, normal):
    return Nominal("plane", np.array(point, float), np.array(normal, float))


def _hole(point, diameter=20.0, length=30.0):
    return Nominal("cylinder", np.array(point, float), Z, diameter, length, inside=True)


def _on_plane(nominal, rng, n=9, size=300.0):
    u, v, _ = nominal.frame()
    ab = rng.uniform(-size, size, (n, 2))
    return nominal.point_mm + ab @ np.stack([u, v])


def _on_hole(nominal, rng, n=12):
    u, v, w = nominal.frame()
    a, s = np.arange(n) * 2 * np.pi / n, rng.uniform(-10, 10, n)
    r = nominal.diameter_mm / 2
    return nominal.point_mm + r * (np.cos(a)[:, None] * u + np.sin(a)[:, None] * v) + s[:, None] * w


THREE_PLANES = [_plane([300, 200, 0], -Z), _plane([300, 0, 50], -Y), _plane([0, 200, 50], -X)]
PLANE_TWO_HOLES = [_plane([300, 200, 0], -Z), _hole([50, 50, 10]), _hole([550, 350, 10])]


@pytest.mark.parametrize("nominals", [THREE_PLANES, PLANE_TWO_HOLES], ids=["three planes", "plane and two holes"])
def test_perfect_features_come_back_exactly(nominals):
    """Analytic: perfect points moved by a known motion are brought back, all six freedoms fixed."""
    rng = np.random.default_rng(3)
    points = [_on_plane(n, rng) if n.kind == "plane" else _on_hole(n, rng) for n in nominals]
    away = Rigid(rotation(np.array([2e-3, -1e-3, 3e-3])), np.array([0.5, -0.2, 0.3]))
    found = seat([away.apply(p) for p in points], nominals)
    back = found.T_datum_part.after(away)
    assert found.rank == 6
    assert len(found.open_turns) == 0
    np.testing.assert_allclose(back.R, np.eye(3), atol=1e-12)
    np.testing.assert_allclose(back.t, 0, atol=1e-9)


def test_precedence_the_primary_keeps_its_own_least_squares_plane():
    """Analytic: with a tilted secondary, the primary's normal and offset are those of its own fit, untouched."""
    rng = np.random.default_rng(4)
    primary, secondary, third = THREE_PLANES
    tilt = rotation(np.array([0.0, 0.0, 0.0]) + 1e-3 * X)
    a = _on_plane(primary, rng)
    b = (_on_plane(secondary, rng) - secondary.point_mm) @ tilt.T + secondary.point_mm
    c = _on_plane(third, rng)
    found = seat([a, b, c], THREE_PLANES)
    np.testing.assert_allclose(primary.distance(found.T_datum_part.apply(a)), 0, atol=1e-10)
    swapped = seat([b, a, c], [secondary, primary, third])
    np.testing.assert_allclose(secondary.distance(swapped.T_datum_part.apply(b)), 0, atol=1e-10)
    assert np.abs(primary.distance(swapped.T_datum_part.apply(a))).max() > 1e-2


def test_draws_equal_single_calls():
    """Batch and loop agree: a draw is nothing but a value."""
    rng = np.random.default_rng(5)
    points = [_on_plane(n, rng) if n.kind == "plane" else _on_hole(n, rng) for n in PLANE_TWO_HOLES]
    noisy = [p + 0.02 * rng.normal(size=(20, *p.shape)) for p in points]
    batch = seat(noisy, PLANE_TWO_HOLES).T_datum_part
    for m in range(20):
        one = seat([p[m] for p in noisy], PLANE_TWO_HOLES).T_datum_part
        np.testing.assert_allclose(batch.R[m], one.R, atol=1e-11)
        np.testing.assert_allclose(batch.t[m], one.t, atol=1e-8)


def test_a_hole_keeps_its_own_radius():
    """Analytic: a datum hole 0.5 mm too large moves nothing."""
    rng = np.random.default_rng(6)
    points = [_on_plane(PLANE_TWO_HOLES[0], rng)] + [
        _on_hole(_hole(n.point_mm, 20.5), rng) for n in PLANE_TWO_HOLES[1:]
    ]
    found = seat(points, PLANE_TWO_HOLES).T_datum_part
    np.testing.assert_allclose(found.t, 0, atol=1e-9)


def test_open_turns_and_what_they_hold():
    """Analytic: a plane alone leaves the turn about its normal; a face square to it is then held one way only."""
    rng = np.random.default_rng(7)
    found = seat([_on_plane(THREE_PLANES[0], rng)], THREE_PLANES[:1])
    assert found.rank == 3
    np.testing.assert_allclose(np.abs(found.open_turns @ Z), [1.0])
    assert len(locked_directions(Z, found.open_turns)) == 2
    held = locked_directions(Y, found.open_turns)
    np.testing.assert_allclose(np.abs(held), [[0, 0, 1]], atol=1e-12)


def test_placement_needs_no_first_guess():
    """Analytic: a part standing anywhere, upside down, is placed from its named features alone."""
    rng = np.random.default_rng(8)
    nominals = THREE_PLANES + PLANE_TWO_HOLES[1:]
    points = [_on_plane(n, rng) if n.kind == "plane" else _on_hole(n, rng) for n in nominals]
    away = Rigid(rotation(np.array([2.5, -1.0, 1.3])), np.array([4000.0, -2500.0, 900.0]))
    back = place([away.apply(p) for p in points], nominals, where="test").after(away)
    np.testing.assert_allclose(back.R, np.eye(3), atol=1e-10)
    np.testing.assert_allclose(back.t, 0, atol=1e-7)


def test_placement_says_when_features_leave_a_freedom_open():
    nominals = [_hole([0, 0, 0]), _hole([100, 0, 0]), _hole([200, 0, 0])]
    rng = np.random.default_rng(9)
    with pytest.raises(RankError, match="six freedoms"):
        place([_on_hole(n, rng) for n in nominals], nominals, where="placing the part")


def test_held_directions_do_not_hang_on_how_the_open_turns_are_written():
    """Analytic: the same open turn, of either sign and with the noise of real datums, holds the same direction."""
    rng = np.random.default_rng(10)
    for w in (Y, X, Z):
        expected = locked_directions(w, Z[None])
        for _ in range(20):
            turn = rng.choice([-1.0, 1.0]) * (Z + 1e-4 * rng.normal(size=3))
            np.testing.assert_allclose(locked_directions(w, turn[None]), expected, atol=1e-3)


@pytest.mark.parametrize("noise", [0.0, 0.01])
@pytest.mark.parametrize("line_first", [True, False])
def test_a_line_as_datum_comes_to_lie_on_its_nominal(noise, line_first):
    """Analytic: least squares bring the line's own fit onto its nominal, as far as the freedoms left allow."""
    rng = np.random.default_rng(11)
    line, plane = Nominal("line", np.array([200.0, 0, 0]), X, None, 400.0), _plane([200, 100, 0], Z)
    away = Rigid(rotation(np.array([1e-4, -2e-4, 3e-4])), np.array([0.05, -0.1, 0.03]))
    on_line = np.column_stack([np.linspace(10, 390, 9), np.zeros((9, 2))])
    errors = [noise * rng.normal(size=(20, n, 3)) for n in (9, 12)]
    touched = [away.apply(on_line) + errors[0], away.apply(_on_plane(plane, rng, 12, 100.0)) + errors[1]]
    order = slice(None, None, 1 if line_first else -1)
    found = seat(touched[order], [line, plane][order])
    back = fit_line(found.T_datum_part.apply(touched[0]), toward=X)
    across = slice(1, None) if line_first else slice(1, 2)
    np.testing.assert_allclose(back.direction[:, across], 0, atol=1e-11)
    np.testing.assert_allclose(back.point_mm[:, across], 0, atol=1e-9)
    assert found.rank == 5
