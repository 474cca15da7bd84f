"""Round minimax shapes held by fewer contacts than unknowns: the curvature of the distances decides where they stand.

The shafts are made up, from seeded generators. Expected values say where they are from: analytic (made backwards: the
contacts balance and curve upwards) or independent computation (SLSQP of scipy.optimize, started at the answer).
"""

from dataclasses import replace

import numpy as np
import numpy.typing as npt
import pytest

from trysquare.core.errors import ConvergenceError
from trysquare.geometry import circumscribed_circle, circumscribed_cylinder, circumscribed_sphere, zone_axis
from trysquare.geometry.kernels.round_state import OUTER, TUBE
from trysquare.geometry.zones.results import NO_DECREASE
from trysquare.geometry.zones.round_balance import near_gap
from trysquare.geometry.zones.round_fit import few_of, read
from trysquare.geometry.zones.round_solve import LIMIT, Solved, solve
from trysquare.geometry.zones.round_starts import least_squares
from trysquare.geometry.zones.round_support import Support, look_after

Array = npt.NDArray[np.float64]
RADIUS = 10.0


def _turned(rng: np.random.Generator, P: Array) -> Array:
    return P @ np.linalg.qr(rng.normal(size=(P.shape[1],) * 2))[0] + rng.normal(size=P.shape[1]) * 30.0


def _filled(rng: np.random.Generator, turn: Array, z: Array, n: int = 60) -> Array:
    """A shaft that the points at these angles and heights hold, the others up to 0.02 mm within."""
    inner = rng.uniform(0, 2 * np.pi, n)
    turn, z = np.concatenate([turn, inner]), np.concatenate([z, rng.uniform(-20, 20, n)])
    r = np.concatenate([np.full(len(turn) - n, RADIUS), RADIUS - rng.uniform(1e-3, 0.02, n)])
    return _turned(rng, np.column_stack([r * np.cos(turn), r * np.sin(turn), z]))


def _three(rng: np.random.Generator) -> Array:
    """Two contacts along one side and one opposite, at a height between them: turning about their plane is free but
    for curvature."""
    low, high = -rng.uniform(8, 18), rng.uniform(8, 18)
    turn = rng.uniform(0, 2 * np.pi) + np.array([0.0, 0.0, np.pi])
    return _filled(rng, turn, np.array([low, high, rng.uniform(0.6 * low, 0.6 * high)]))


def _four(rng: np.random.Generator) -> Array:
    """Four contacts with weights that balance their slopes and the slopes' moments; one free step, which curves up."""
    while True:
        turn = rng.uniform(0, 2 * np.pi, 4)
        U = np.array([np.cos(turn), np.sin(turn)])
        kernel = np.linalg.svd(U)[2][2:]
        w = rng.normal(size=2) @ kernel
        if np.abs(w).min() < 0.1 or abs(np.sign(w).sum()) < 4:
            continue
        w = np.abs(w) / np.abs(w).sum()
        z = (rng.normal(size=2) @ kernel) / w
        z *= 18.0 / np.abs(z).max()
        slopes = np.vstack([U, z * U])
        free = np.linalg.svd(slopes.T - slopes.T[:1])[2][3]
        cross, along = -U[1] * free[0] + U[0] * free[1] + z * (-U[1] * free[2] + U[0] * free[3]), U.T @ free[2:]
        if w @ (cross**2 / RADIUS - RADIUS * along**2) > 1e-3:
            return _filled(rng, turn, z)


def _across(P: Array, point: Array, axis: Array) -> Array:
    q = P - point
    return np.asarray(np.linalg.norm(q - (q @ axis)[:, None] * axis, axis=1))


def _slsqp(P: Array, point: Array, axis: Array) -> float:
    """Smallest radius that SLSQP finds from the axis given. Unknowns and radius in units of about the form."""
    from scipy.optimize import minimize

    u = np.linalg.svd(axis[None])[2][1:]
    radius, unit, half = _across(P, point, axis).max(), 1e-3, np.abs((P - point) @ axis).max()

    def distances(x: Array) -> Array:
        tilted = axis + unit / half * (x[2:4] @ u)
        return _across(P, point + unit * (x[:2] @ u), tilted / np.linalg.norm(tilted))

    found = minimize(
        lambda x: x[4], np.zeros(5), method="SLSQP", jac=lambda x: np.eye(5)[4],
        constraints=[{"type": "ineq", "fun": lambda x: x[4] - (distances(x) - radius) / unit}],
        options={"ftol": 1e-15, "maxiter": 200},
    )  # fmt: skip
    return float(distances(found.x).max())


@pytest.mark.parametrize("make", [_three, _four])
@pytest.mark.parametrize("seed", range(5))
def test_shaft_on_few_contacts(make, seed: int) -> None:
    """Expected value: analytic. Negative twin: a contact moved out by 1e-6 mm is seen."""
    P = make(np.random.default_rng(seed))
    count = 3 if make is _three else 4
    shape = circumscribed_cylinder(P)
    assert abs(shape.radius_mm - RADIUS) < 1e-12
    assert set(shape.certificate.contacts) - {-1} == set(range(count))
    assert shape.iterations <= 20
    assert shape.certificate.gap_mm < 1e-8
    assert abs(_slsqp(P, shape.point_mm, shape.direction) - RADIUS) < 1e-11
    assert abs(zone_axis(P).width_mm - 2 * RADIUS) < 2e-12
    out = P[0] - shape.point_mm
    out -= (out @ shape.direction) * shape.direction
    P[0] += 1e-6 * out / np.linalg.norm(out)
    assert 1e-8 < circumscribed_cylinder(P).radius_mm - RADIUS < 1e-6


@pytest.mark.parametrize("dims", [2, 3])
def test_two_opposite_points(dims: int) -> None:
    """Expected value: analytic, half their distance."""
    rng = np.random.default_rng(dims)
    for _ in range(5):
        u = rng.normal(size=(40, dims))
        P = u / np.linalg.norm(u, axis=1)[:, None] * (RADIUS - rng.uniform(0.01, 0.1, (40, 1)))
        P[1] = -P[0]
        P[:2] *= RADIUS / np.linalg.norm(P[0])
        shape = (circumscribed_circle if dims == 2 else circumscribed_sphere)(_turned(rng, P))
        assert abs(shape.radius_mm - RADIUS) < 1e-13
        assert set(shape.certificate.contacts) - {-1} == {0, 1}
        assert shape.certificate.kind == "global"
        assert shape.iterations <= 20


def _ringed(seed: int) -> Array:
    """A shaft in rings with two high points opposite each other in one section: they alone hold a saddle, and others
    take over with weights of a ten-thousandth."""
    rng = np.random.default_rng(seed)
    turn, z = np.tile(np.arange(8) * np.pi / 4, 8), np.repeat(np.linspace(-20, 20, 8), 8)
    r = RADIUS + rng.uniform(-0.01, 0.01, 64)
    ring = 8 * int(rng.integers(2, 6))
    r[[ring + 1, ring + 5]] = RADIUS + 0.02
    return _turned(rng, np.column_stack([r * np.cos(turn), r * np.sin(turn), z]))


@pytest.mark.parametrize("seed", range(6))
def test_any_order_ends_soon_at_the_same_optimum(seed: int) -> None:
    """Independent computation: SLSQP finds nothing better. Negative twin: it does from an axis turned by 1e-5 rad."""
    P, rng = _ringed(seed), np.random.default_rng(100 + seed)
    shapes = [circumscribed_cylinder(P[order]) for order in [np.arange(64), *(rng.permutation(64) for _ in range(6))]]
    radii = np.array([shape.radius_mm for shape in shapes])
    assert np.ptp(radii) < 1e-12
    assert max(shape.iterations for shape in shapes) <= 20
    first = shapes[0]
    assert _slsqp(P, first.point_mm, first.direction) > radii[0] - 1e-11
    tilted = first.direction + 1e-5 * np.linalg.svd(first.direction[None])[2][1]
    off = tilted / np.linalg.norm(tilted)
    assert _slsqp(P, first.point_mm, off) < _across(P, first.point_mm, off).max() - 1e-9


def _stopped(solved: Solved) -> npt.NDArray[np.int64]:
    support = Support("shaft", 1)
    look_after(solved, support)
    return support.codes(solved)


def test_last_step_at_an_optimum_is_an_end() -> None:
    """The largest number of steps is no error where the contacts balance. Negative twins: a point beyond the cylinder,
    and contacts off balance."""
    given = read(_ringed(0), 5, "shaft")
    few = few_of(given.P, given.base)
    solved = replace(solve(TUBE, OUTER, given.P, given.base, least_squares(TUBE, few)), codes=np.array([LIMIT]))
    assert near_gap(solved)[0] < 1e-7
    assert _stopped(solved)[0] == NO_DECREASE
    beyond = given.P.copy()
    beyond[0, solved.contacts.max()] += 1e-3 * (beyond[0, solved.contacts.max()] - given.base[0])
    for worse in (replace(solved, P=beyond), replace(solved, weights=solved.weights * 1.01)):
        with pytest.raises(ConvergenceError, match="the search"):
            _stopped(worse)
