"""Datums that touch: seats by tangent planes and by the largest or smallest cylinder, against brute force.

Every check looks at the seated points: those of a touched plane lie inside with one on the plane, and no admissible
motion that a dense search or SciPy finds does better.
"""

import numpy as np
import pytest
from scipy.optimize import linprog, minimize

from trysquare.core.errors import NumericalError
from trysquare.core.frames import Rigid, rotation
from trysquare.tolerances.contact import contact_seat, refusal
from trysquare.tolerances.nominal import Nominal
from trysquare.tolerances.seating import seat

X, Y, Z = np.eye(3)
A = Nominal("plane", np.array([100.0, 60, 0]), -Z, size_mm=(200.0, 120.0))
B = Nominal("plane", np.array([100.0, 0, 30]), -Y, size_mm=(200.0, 60.0))
C = Nominal("plane", np.array([0.0, 60, 30]), -X, size_mm=(120.0, 60.0))
HOLE = Nominal("cylinder", np.array([50.0, 40, 15]), Z, 20.0, 30.0, inside=True)
HOLE_2 = Nominal("cylinder", np.array([150.0, 40, 15]), Z, 20.0, 30.0, inside=True)
SHAFT = Nominal("cylinder", np.array([0.0, 0, 50]), Z, 40.0, 100.0)
BALL = Nominal("sphere", np.array([0.0, 0, 0]), None, 30.0)


def _touched(nominal, rng, n=20, noise=0.02):
    u, v, w = nominal.frame()
    if nominal.kind == "plane":
        half = np.array(nominal.size_mm) / 2
        flat = nominal.point_mm + (rng.uniform(-1, 1, (n, 2)) * half) @ np.stack([u, v])
        return flat + noise * rng.normal(size=(n, 1)) * w
    r = nominal.diameter_mm / 2 + noise * rng.normal(size=n)
    if nominal.kind == "sphere":
        d = rng.normal(size=(n, 3))
        return nominal.point_mm + r[:, None] * d / np.linalg.norm(d, axis=1, keepdims=True)
    a, h = (np.arange(n) + rng.uniform(0, 0.5, n)) * 2 * np.pi / n, rng.uniform(-0.5, 0.5, n) * nominal.length_mm
    return nominal.point_mm + r[:, None] * (np.cos(a)[:, None] * u + np.sin(a)[:, None] * v) + h[:, None] * w


def _away(rng):
    return Rigid(rotation(1e-3 * rng.normal(size=3)), 0.2 * rng.normal(size=3))


def _least_reach(points, nominal):
    """Independent computation: the least largest distance of points under a plane by a linear programme (SciPy)."""
    u, v, w = nominal.frame()
    d = points - nominal.point_mm
    h, one = d @ w, np.ones((len(d), 1))
    tilt = np.column_stack([d @ u, d @ v, one])
    G = np.block([[-tilt, np.zeros_like(one)], [tilt, -one]])  # h <= plane, plane - h <= t
    return linprog([0, 0, 0, 1], A_ub=G, b_ub=np.concatenate([-h, h]), bounds=[(None, None)] * 4).fun


@pytest.mark.parametrize("seed", range(3))
def test_three_touching_planes_against_brute_force(seed):
    rng = np.random.default_rng(seed)
    away = _away(rng)
    points = [away.apply(_touched(n, rng)) for n in (A, B, C)]
    found = contact_seat(points, [A, B, C], ["minimax"] * 3, together=[1, 1, 1])
    assert found.rank == 6
    a, b, c = (found.T_datum_part.apply(p) for p in points)
    for nominal, seated in ((A, a), (B, b), (C, c)):
        assert nominal.distance(seated).max() == pytest.approx(0.0, abs=1e-8)
    assert -A.distance(a).min() <= _least_reach(a, A) + 1e-8
    turns = np.linspace(-2e-3, 2e-3, 4001)  # the secondary may only turn about the primary's normal
    spread = np.ptp(b[:, 1] + turns[:, None] * b[:, 0], axis=1)
    assert -B.distance(b).min() <= spread.min() + 1e-5


def test_least_squares_datums_do_not_touch():
    """Negative twin: the same points seated by least squares stick out of their planes."""
    rng = np.random.default_rng(0)
    points = [_touched(n, rng) for n in (A, B, C)]
    T = seat(points, [A, B, C]).T_datum_part
    assert min(n.distance(T.apply(p)).max() for n, p in zip((A, B, C), points, strict=True)) > 0.01


@pytest.mark.parametrize("norm", ["sum", "squares"])
def test_other_norms_make_their_own_sum_least(norm):
    """Independent computation: linear programme for the sum, SLSQP from six starts for the squares (SciPy)."""
    rng = np.random.default_rng(7)
    points = _away(rng).apply(_touched(A, rng, 12))
    p = contact_seat([points], [A], [norm], together=[1]).T_datum_part.apply(points)
    d = p - A.point_mm
    M, h = np.column_stack([np.ones(len(d)), d[:, :2] / 100]), d @ -Z
    if norm == "sum":
        found = linprog(M.sum(0), A_ub=-M, b_ub=-h, bounds=[(None, None)] * 3)
        assert -A.distance(p).sum() == pytest.approx(found.fun - h.sum(), abs=1e-7)
        return
    feasible = {"type": "ineq", "fun": lambda x: M @ x - h}
    starts = [h.max() * np.eye(3)[0] + 0.01 * np.eye(3)[k % 3] for k in range(6)]
    options = {"ftol": 1e-14, "maxiter": 300}
    tries = [
        minimize(lambda x: 1e2 * np.sum((M @ x - h) ** 2), x, method="SLSQP", options=options, constraints=feasible)
        for x in starts
    ]
    sound = [t.fun / 1e2 for t in tries if (M @ t.x - h).min() > -1e-9]
    assert sound
    assert (A.distance(p) ** 2).sum() == pytest.approx(min(sound), abs=1e-7)


@pytest.mark.parametrize("seed", range(3))
def test_a_hole_square_to_its_primary_plane(seed):
    """Independent computation: no centre on a dense grid, nor SciPy's best, leaves a wider hole along the normal."""
    rng = np.random.default_rng(seed)
    away = _away(rng)
    points = [away.apply(_touched(n, rng)) for n in (A, HOLE, HOLE_2)]
    T = contact_seat(points, [A, HOLE, HOLE_2], ["squares"] * 3, together=[1, 1, 1]).T_datum_part
    a, hole, other = (T.apply(p) for p in points)
    assert A.distance(a).max() == pytest.approx(0.0, abs=1e-8)

    def radius(p, at):
        return np.linalg.norm(p[:, :2] - at, axis=1).min()

    grid = np.linspace(-0.05, 0.05, 41)
    ours = radius(hole, HOLE.point_mm[:2])
    assert ours >= max(radius(hole, HOLE.point_mm[:2] + np.array([x, y])) for x in grid for y in grid) - 1e-9
    start = minimize(lambda c: -radius(other, c), HOLE_2.point_mm[:2], method="Nelder-Mead", options={"xatol": 1e-9})
    assert start.x[1] == pytest.approx(HOLE_2.point_mm[1], abs=1e-5)  # turned into line; its distance stays as made


def _widest(v, p):
    """The largest distance from an axis through v[:2], leaning by v[2:] over 50 mm."""
    return np.linalg.norm(p[:, :2] - v[:2] - np.outer(p[:, 2] / 50, v[2:]), axis=1).max()


def test_a_shaft_in_its_smallest_cylinder_and_a_ball_in_its_smallest_sphere():
    """Independent computation: SciPy finds no smaller one near by."""
    rng = np.random.default_rng(4)
    shaft = _away(rng).apply(_touched(SHAFT, rng, 24))
    p = contact_seat([shaft], [SHAFT], ["minimax"], together=[1]).T_datum_part.apply(shaft) - SHAFT.point_mm
    ours = np.linalg.norm(p[:, :2], axis=1).max()
    options = {"xatol": 1e-8, "fatol": 1e-10, "maxiter": 4000}
    tries = [minimize(_widest, 0.01 * rng.normal(size=4), (p,), "Nelder-Mead", options=options).fun for _ in range(4)]
    assert ours <= min(tries) + 1e-6
    ball = _touched(BALL, rng) + np.array([0.1, 0.2, -0.1])
    q = contact_seat([ball], [BALL], ["minimax"], together=[1]).T_datum_part.apply(ball)
    best = minimize(lambda c: np.linalg.norm(q - c, axis=1).max(), np.zeros(3), method="Nelder-Mead").fun
    assert np.linalg.norm(q, axis=1).max() <= best + 1e-7


SYSTEMS = {
    "three planes": [A, B, C], "plane and two holes": [A, HOLE, HOLE_2], "shaft and face": [SHAFT, A], "ball": [BALL],
}  # fmt: skip


@pytest.mark.parametrize("name", SYSTEMS)
def test_draws_equal_single_calls_and_order_of_points_does_not_matter(name):
    system = SYSTEMS[name]
    rng = np.random.default_rng(8)
    points = [_touched(n, rng)[None] + 0.01 * rng.normal(size=(6, 20, 3)) for n in system]
    norms, together = ["minimax"] * len(system), [1] * len(system)
    batch = contact_seat(points, system, norms, together=together).T_datum_part
    order = rng.permutation(20)
    for m in range(6):
        one = contact_seat([p[m][order] for p in points], system, norms, together=together).T_datum_part
        for nominal, p in zip(system, points, strict=True):  # what no open freedom changes
            np.testing.assert_allclose(
                nominal.distance(batch[m].apply(p[m])), nominal.distance(one.apply(p[m])), atol=1e-7
            )


def test_the_seat_goes_along_with_a_motion_of_the_readings():
    """Invariance: readings moved as a whole change nothing but the motion that brings them back."""
    rng = np.random.default_rng(9)
    points, away = [_touched(n, rng) for n in (A, B, C)], _away(rng)
    for norm in ("minimax", "squares", "sum"):
        still = contact_seat(points, [A, B, C], [norm] * 3, together=[1, 1, 1]).T_datum_part
        moved = contact_seat([away.apply(p) for p in points], [A, B, C], [norm] * 3, together=[1, 1, 1]).T_datum_part
        np.testing.assert_allclose(moved.after(away).t, still.t, atol=1e-6)


def test_perfect_features_seat_alike_whatever_the_association():
    """Analytic: without form or noise touching and least squares are the same."""
    rng = np.random.default_rng(10)
    away = _away(rng)
    points = [away.apply(_touched(n, rng, noise=0.0)) for n in (A, HOLE, HOLE_2)]
    T = contact_seat(points, [A, HOLE, HOLE_2], ["minimax", None, "minimax"], together=[1, 1, 1]).T_datum_part
    np.testing.assert_allclose(T.after(away).t, 0, atol=1e-7)


def test_two_pads_touch_as_one_plane():
    rng = np.random.default_rng(11)
    pads = [Nominal("plane", np.array([x, 0.0, 0]), -Z, size_mm=(40.0, 60.0)) for x in (-150.0, 150.0)]
    points = [_touched(n, rng, 9) for n in pads]
    T = contact_seat(points, pads, ["minimax"], together=[2]).T_datum_part
    p = T.apply(np.concatenate(points))
    assert pads[0].distance(p).max() == pytest.approx(0.0, abs=1e-9)
    assert -pads[0].distance(p).min() <= _least_reach(p, pads[0]) + 1e-8


def test_draws_that_cannot_be_laid_are_lost_and_no_others():
    """A bore whose points leave a side open has no largest cylinder: that draw is NaN; alone it is an error."""
    rng = np.random.default_rng(12)
    a, hole = _touched(A, rng), _touched(HOLE, rng)
    half = np.abs(hole - [100.0, 0, 0]) * [-1, 1, 1] + [100.0, 0, 0]
    half[:, 0] = HOLE.point_mm[0] + np.abs(half[:, 0] - HOLE.point_mm[0]) + 6.0
    system, norms = [A, HOLE], ["minimax"] * 2
    batch = contact_seat([np.stack([a, a, a]), np.stack([hole, half, hole])], system, norms, together=[1, 1])
    assert np.isfinite(batch.T_datum_part.t).all(1).tolist() == [True, False, True]
    with pytest.raises(NumericalError):
        contact_seat([a, half], system, norms, together=[1, 1])


@pytest.mark.parametrize(
    ("system", "at", "words"),
    [
        ([[A], [B], [C]], None, ""),
        ([[A], [HOLE], [HOLE_2]], None, ""),
        ([[A], [HOLE], [C]], 2, "at a distance"),
        ([[A], [Nominal("plane", np.zeros(3), np.array([0.6, 0, 0.8]))]], 1, "in part"),
        ([[A], [Nominal("cylinder", np.zeros(3), X, 10.0, 50.0)]], 1, "in part"),
        ([[HOLE, HOLE_2]], 0, "not one plane"),
    ],
)
def test_what_cannot_be_laid_is_refused(system, at, words):
    found = refusal(system, ["minimax"] * len(system))
    assert (found is None) == (at is None)
    if found is not None:
        assert found[0] == at
        assert words in found[1]
    assert refusal(system, [None] * len(system)) is None
