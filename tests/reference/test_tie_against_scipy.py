"""The tie against an independent computation: SciPy's least_squares on the raw observations, each draw from cold."""

import numpy as np
import pytest
from scipy.optimize import least_squares
from scipy.spatial.transform import Rotation

from trysquare.networks import tie


def _scene(stations, points, seed, seen=1.0):
    rng = np.random.default_rng(seed)
    X = rng.uniform([0, 0, 0], [3000, 2000, 1500], (points, 3))
    p, names, covariances, truth = [], [], [], []
    for _ in range(stations):
        R = Rotation.from_euler("zyx", [rng.uniform(-3, 3), rng.normal(0, 0.02), rng.normal(0, 0.02)]).as_matrix()
        t = rng.uniform([-4000, -4000, 0], [6000, 6000, 2000])
        index = np.sort(rng.permutation(points)[: max(4, int(seen * points))])
        root = rng.normal(size=(len(index), 3, 3)) * 0.01
        C = root @ np.swapaxes(root, 1, 2) + 1e-5 * np.eye(3)
        e = (np.linalg.cholesky(C) @ rng.normal(size=(len(index), 3, 1)))[..., 0]
        p.append((X[index] - t) @ R + e)
        names.append(tuple(f"T{i}" for i in index))
        covariances.append(C)
        truth.append((R, t))
    return p, names, covariances, truth


def _cold(p, names, covariances, known, truth):
    """Own parametrisation (rotation vectors and positions), starting 5 mm and 5 mrad off the truth."""
    places = {name: i for i, name in enumerate(known)}
    roots = [np.linalg.cholesky(np.linalg.inv(C)) for C in covariances]
    R1, t1 = truth[0]
    x0 = []
    for R, t in truth[1:]:
        relative = Rotation.from_matrix(R1.T @ R) * Rotation.from_rotvec([0.005, -0.003, 0.004])
        x0 += [*(1000 * relative.as_rotvec()), *(R1.T @ (t - t1) + 5.0)]
    X0 = np.zeros((len(known), 3))
    for q, seen, (R, t) in zip(p, names, truth):
        X0[[places[n] for n in seen]] = (q @ R.T + t - t1) @ R1 + 1.0
    split = len(x0)

    def missed(x):
        X = x[split:].reshape(-1, 3)
        out = []
        for k, (q, seen) in enumerate(zip(p, names)):
            here = X[[places[n] for n in seen]]
            if k:
                turn = Rotation.from_rotvec(x[6 * k - 6 : 6 * k - 3] / 1000).as_matrix()
                here = (here - x[6 * k - 3 : 6 * k]) @ turn
            out.append(np.einsum("mji,mj->mi", roots[k], q - here).ravel())
        return np.concatenate(out)

    fit = least_squares(missed, np.r_[x0, X0.ravel()], jac="3-point", method="lm", xtol=1e-15, ftol=1e-15, gtol=1e-15)
    return fit, split


@pytest.mark.parametrize(("stations", "points", "seen"), [(2, 4, 1.0), (2, 8, 1.0), (3, 9, 0.8), (4, 10, 0.7)])
def test_value_against_scipy(stations, points, seen):
    p, names, C, truth = _scene(stations, points, 11 * stations + points, seen)
    ours = tie(p, names, C)
    fit, split = _cold(p, names, C, ours.names, truth)
    # independent computation (MINPACK with finite differences, good to about 1e-7 mm at these lengths)
    np.testing.assert_allclose(ours.points_mm, fit.x[split:].reshape(-1, 3), atol=2e-6, rtol=0)
    np.testing.assert_allclose(float(ours.chi_square), 2 * fit.cost, rtol=1e-9)
    for k in range(1, stations):
        np.testing.assert_allclose(ours.poses[k].t, fit.x[6 * k - 3 : 6 * k], atol=5e-6, rtol=0)


def test_covariance_of_poses_against_scipy():
    p, names, C, truth = _scene(3, 8, 5)
    ours = tie(p, names, C)
    fit, split = _cold(p, names, C, ours.names, truth)
    full = np.linalg.inv(fit.jac.T @ fit.jac)[:split, :split]
    shifts = [i for k in (1, 2) for i in range(6 * k - 3, 6 * k)]
    mine = [i for k in (1, 2) for i in range(6 * k - 6, 6 * k - 3)]
    ours_shift = ours.pose_covariance[np.ix_(mine, mine)]
    scale = np.abs(ours_shift).max()
    np.testing.assert_allclose(ours_shift, full[np.ix_(shifts, shifts)], atol=1e-4 * scale, rtol=0)


def test_draws_reach_their_own_optimum():
    """Each draw equals a tie of that draw alone, renewed at each step, within 1e-9 mm; so does a cold SciPy fit."""
    p, names, C, truth = _scene(3, 8, 21)
    rng = np.random.default_rng(4)
    noisy = [q + rng.normal(0, 0.1, (40, *q.shape)) for q in p]
    value = tie(p, names, C)
    drawn = tie(noisy, names, C, about=value)
    for i in range(40):
        alone = tie([q[i] for q in noisy], names, C)
        np.testing.assert_allclose(drawn.points_mm[i], alone.points_mm, atol=1e-9, rtol=0)
        for a, b in zip(drawn.poses, alone.poses):
            np.testing.assert_allclose(a.t[i], b.t, atol=2e-9, rtol=0)
    fit, split = _cold([q[0] for q in noisy], names, C, value.names, truth)
    np.testing.assert_allclose(drawn.points_mm[0], fit.x[split:].reshape(-1, 3), atol=2e-6, rtol=0)


def test_one_step_is_not_enough_twin():
    """Negative twin: a single step (first order) misses the optimum by more than the tolerance asked for."""
    from trysquare.networks import adjust, network

    p, names, C, _ = _scene(3, 8, 21)
    rng = np.random.default_rng(4)
    noisy = [q + rng.normal(0, 1.0, q.shape) for q in p]
    value, alone = tie(p, names, C), tie(noisy, names, C)
    net = network.network(names, C, None)
    state = adjust.State(
        np.stack([pose.R for pose in value.poses])[None], np.stack([pose.t for pose in value.poses])[None],
        value.points_mm[None],
    )  # fmt: skip
    slope = adjust.gradient(state, [q[None] for q in noisy], net, 1000.0)
    step = -(adjust.inverse_normal(state, net, 1000.0) @ slope[..., None])[..., 0]
    once = adjust.move(state, step, net, 1000.0)
    assert np.abs(once.X[0] - alone.points_mm).max() > 1e-6
