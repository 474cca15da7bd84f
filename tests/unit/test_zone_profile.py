"""Profile with free motion: zones made backwards, against a general minimax programme, held freedoms, batches."""

import numpy as np
import pytest
from scipy.optimize import linprog

from trysquare.core.errors import InputError
from trysquare.core.frames import Rigid, rotation
from trysquare.geometry import minimum_zone_plane, zone_profile


def nominal(rng: np.random.Generator, n: int) -> tuple[np.ndarray, np.ndarray]:
    """Points and unit normals of a saddle with a step of slope: a surface that fixes all six motions."""
    x, y = rng.uniform(-40, 40, n), rng.uniform(-30, 30, n)
    z = 0.01 * x * x - 0.013 * y * y + 4 * np.tanh(x / 10) + 3 * np.sin(y / 8)
    dx = 0.02 * x + 0.4 / np.cosh(x / 10) ** 2
    dy = -0.026 * y + 3 / 8 * np.cos(y / 8)
    normals = np.column_stack([-dx, -dy, np.ones(n)])
    return np.column_stack([x, y, z]), normals / np.linalg.norm(normals, axis=1)[:, None]


def columns(N: np.ndarray, M: np.ndarray) -> np.ndarray:
    return np.column_stack([M, np.cross(N, M)])


def made(rng: np.random.Generator, n: int, half: float) -> tuple[np.ndarray, np.ndarray, np.ndarray, Rigid]:
    """Points whose smallest zone about the nominal surface is known: seven deviations of +-half whose columns balance
    with positive weights (the alternation in 6 unknowns), the others less; then moved away."""
    N, M = nominal(rng, n)
    J = columns(N, M)
    weights = np.linalg.svd(J[:7].T)[2][-1]  # J[:7]' weights = 0
    d = rng.uniform(-0.9, 0.9, n) * half
    d[:7] = np.sign(weights) * half
    away = Rigid(rotation(rng.normal(0, 0.3, 3)), rng.normal(0, 50, 3))
    return away.apply(N + d[:, None] * M), N, M, away


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("half", [1e-4, 0.02])
def test_made_backwards(half: float, seed: int) -> None:
    """Analytic, by design: the seven contacts prove it, to first order in the turn at no motion."""
    rng = np.random.default_rng(seed)
    P, N, M, away = made(rng, 60, half)
    fit = zone_profile(P, N, M)
    assert abs(fit.width_mm - 2 * half) < 1e-9
    assert sorted(fit.certificate.contacts[:7]) == list(range(7))
    assert 0 <= fit.certificate.gap_mm < 1e-11
    assert fit.certificate.kind == "local, one start"
    assert fit.rank == 6
    back = fit.move.after(away)
    assert np.abs(back.R - np.eye(3)).max() < 1e-9
    assert np.abs(back.t).max() < 1e-8
    d = ((fit.move.apply(P) - N) * M).sum(1)
    assert np.abs(d - fit.residuals_mm).max() < 1e-11
    assert np.array_equal(np.sign(d[fit.certificate.contacts[:7]]), fit.certificate.sides[:7])
    k = 3
    P[k] += away.R @ M[k] * 1e-6 * np.sign(d[k])  # negative twin: a nanometre more at a contact shows
    assert zone_profile(P, N, M).width_mm - 2 * half > 1e-9


@pytest.mark.parametrize("offset", [False, True])
def test_against_successive_programmes(offset: bool) -> None:
    """Rough form: linear programmes (HiGHS) about each new place, independent computation; no motion near is better."""
    rng = np.random.default_rng(8)
    N, M = nominal(rng, 50)
    P = N + M * rng.normal(0, 0.3, (50, 1)) + rng.normal(0, 0.05, (50, 3))
    fit = zone_profile(P, N, M, offset=offset)
    place = Rigid.identity()
    for _ in range(30):
        q = place.apply(P)
        d = ((q - N) * M).sum(1)
        J = np.column_stack([M, np.cross(q, M) / 40, np.ones(50) * offset])
        side = np.ones((50, 1))
        step = linprog(
            [0] * 7 + [1], A_ub=np.block([[J, -side], [-J, -side]]), b_ub=np.r_[-d, d],
            bounds=[(None, None)] * 8, method="highs-ds",
        ).x  # fmt: skip
        place = Rigid(rotation(step[3:6] / 40), step[:3]).after(place)
    d = ((place.apply(P) - N) * M).sum(1)
    width = np.ptp(d) if offset else 2 * np.abs(d).max()
    assert abs(fit.width_mm - width) < 1e-9
    assert fit.certificate.gap_mm < 1e-11
    assert abs(np.abs(fit.residuals_mm).max() * 2 - fit.width_mm) < 1e-12
    assert (fit.offset_mm != 0) == offset
    for _ in range(100):
        near = Rigid(rotation(rng.normal(0, 1e-4, 3)), rng.normal(0, 1e-3, 3)).after(fit.move)
        d = ((near.apply(P) - N) * M).sum(1)
        assert (np.ptp(d) if offset else 2 * np.abs(d).max()) > fit.width_mm


def test_a_plane_is_flatness() -> None:
    """With the offset free a plane's profile is its flatness; three motions are fixed, three stay. Analytic."""
    rng = np.random.default_rng(1)
    N = np.column_stack([rng.uniform(-50, 50, (40, 2)), np.zeros(40)])
    M = np.tile([0.0, 0.0, 1.0], (40, 1))
    P = N + np.array([0, 0, 1]) * rng.normal(0, 0.01, (40, 1))
    fit = zone_profile(P, N, M)
    assert fit.rank == 3
    assert abs(fit.width_mm - minimum_zone_plane(P).width_mm) < 1e-10
    held = zone_profile(P, N, M, free=("tz",))
    assert abs(held.width_mm - np.ptp(P[:, 2])) < 1e-13
    assert held.certificate.kind == "global"
    fixed = zone_profile(P, N, M, free=())
    assert abs(fixed.width_mm - 2 * np.abs(P[:, 2]).max()) < 1e-14
    assert np.array_equal(fixed.move.R, np.eye(3))


def test_held_turns_stay_exact_and_turn_about_the_point_named() -> None:
    """A surface turned about a pin: only that turn is free, and it is found. Analytic."""
    rng = np.random.default_rng(2)
    N, M = nominal(rng, 50)
    pin = np.array([12.0, -7.0, 3.0])
    turn = Rigid(rotation(np.array([0, 0, 0.2])), np.zeros(3))
    P = turn.apply(N - pin) + pin
    fit = zone_profile(P, N, M, free=("rz",), about_mm=pin)
    assert fit.width_mm < 1e-12
    assert np.abs(fit.move.apply(pin[None]) - pin).max() < 1e-13
    assert np.abs(fit.move.R @ turn.R - np.eye(3)).max() < 1e-13
    assert zone_profile(P, N, M, free=("rz",)).width_mm > 0.1  # negative twin: about the origin it does not fit
    two = zone_profile(P, N, M, free=("rx", "rz", "tx"), about_mm=pin)
    assert two.width_mm < 1e-11


def test_draws() -> None:
    rng = np.random.default_rng(3)
    P, N, M, _ = made(rng, 60, 0.02)
    draws = P + rng.normal(0, 0.002, (2, 5, 60, 3))
    batch = zone_profile(draws, N, M)
    assert batch.width_mm.shape == (2, 5)
    assert batch.move.R.shape == (2, 5, 3, 3)
    one = zone_profile(draws[1, 2], N, M)
    assert one.width_mm == batch.width_mm[1, 2]
    assert np.array_equal(one.residuals_mm, batch.residuals_mm[1, 2])
    assert batch.ok.all()


def test_bad_input() -> None:
    N, M = nominal(np.random.default_rng(4), 10)
    with pytest.raises(InputError, match="one for each"):
        zone_profile(N[:9], N, M)
    with pytest.raises(InputError, match="length 1"):
        zone_profile(N, N, 2 * M)
    with pytest.raises(InputError, match="name some of"):
        zone_profile(N, N, M, free=("x",))
    with pytest.raises(InputError, match="finite"):
        zone_profile(np.where(np.arange(30).reshape(10, 3) == 4, np.inf, N), N, M)
