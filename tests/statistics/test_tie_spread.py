"""What a tie says of its own spread, against repeated simulated ties (seeded)."""

import numpy as np
import pytest
from scipy.stats import chi2, kstest

from trysquare.core.frames import Rigid, rotation
from trysquare.networks import tie

pytestmark = pytest.mark.statistics
RNG = np.random.default_rng(12)
POINTS = RNG.uniform([0, 0, 0], [3000, 2000, 1500], (7, 3))
NAMES = [tuple("ABCDEFG")] * 3
POSES = [
    Rigid.identity(),
    Rigid(rotation(np.array([0.02, 0.01, 1.9])), np.array([3500.0, 900, 20])),
    Rigid(rotation(np.array([-0.01, 0.02, -2.3])), np.array([-2500.0, 3100, 40])),
]
ROOTS = RNG.normal(0, 0.01, (3, 7, 3, 3))
BLOCKS = [a @ np.swapaxes(a, 1, 2) + 2e-5 * np.eye(3) for a in ROOTS]
TRUE = [pose.inverse().apply(POINTS) for pose in POSES]


def _noise(count):
    return [(np.linalg.cholesky(C) @ RNG.normal(size=(count, 7, 3, 1)))[..., 0] for C in BLOCKS]


def test_covariance_of_poses_and_chi_square():
    value = tie(TRUE, NAMES, BLOCKS)
    drawn = tie([p + e for p, e in zip(TRUE, _noise(8000))], NAMES, BLOCKS, about=value)
    shift = np.concatenate([drawn.poses[k].t for k in (1, 2)], axis=1)
    rows = [0, 1, 2, 6, 7, 8]
    stated = value.pose_covariance[np.ix_(rows, rows)]
    scale = np.sqrt(np.outer(np.diag(stated), np.diag(stated)))
    assert np.abs((np.cov(shift.T) - stated) / scale).max() < 0.06
    turn = drawn.poses[2].R @ POSES[2].R.T
    angles = np.stack([turn[:, 2, 1] - turn[:, 1, 2], turn[:, 0, 2] - turn[:, 2, 0], turn[:, 1, 0] - turn[:, 0, 1]], 1)
    np.testing.assert_allclose((angles / 2).std(0), np.sqrt(np.diag(value.pose_covariance)[9:12]), rtol=0.04)
    assert kstest(drawn.chi_square, chi2(value.dof).cdf).pvalue > 1e-3
    assert kstest(drawn.chi_square, chi2(value.dof + 1).cdf).pvalue < 1e-6  # negative twin: one freedom more is seen


def test_a_good_tie_seldom_names_a_suspect():
    """One in a thousand is stated; three of 400 would be too many (binomial, p below 0.01)."""
    noise = _noise(400)
    named = sum(
        bool(tie([p + e[i] for p, e in zip(TRUE, noise)], NAMES, BLOCKS).suspects) for i in range(400)
    )  # fmt: skip
    assert named < 4


def test_a_point_bumped_between_stations_is_named():
    noise = _noise(40)
    found = []
    for i in range(40):
        seen = [p + e[i] for p, e in zip(TRUE, noise)]
        seen[2][4] += np.array([0.15, 0.1, -0.1])
        suspects = tie(seen, NAMES, BLOCKS).suspects
        found.append(bool(suspects) and suspects[0].point == "E" and suspects[0].station == "3")
    assert sum(found) >= 38
