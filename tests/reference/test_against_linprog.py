"""The smallest zone of heights against linear programming (scipy.optimize.linprog, HiGHS): independent computation."""

import numpy as np
import pytest
from scipy.optimize import linprog

from trysquare.core.errors import InputError
from trysquare.geometry import smallest_zone, zone_width

TURN = np.arange(60) * (2 * np.pi / 60)
X, Y = (g.ravel() for g in np.meshgrid(np.linspace(-300, 300, 5), np.linspace(-200, 200, 5)))
COLUMNS = {
    "flatness 5 x 5": np.column_stack([np.ones(25), X, Y]),
    "roundness": np.column_stack([np.ones(60), np.cos(TURN), np.sin(TURN)]),
    "cylinder": np.column_stack([np.ones(60), np.cos(TURN), np.sin(TURN), np.tile([-20, 0, 20], 20) * np.cos(TURN),
                                 np.tile([-20, 0, 20], 20) * np.sin(TURN)]),
    "straightness": np.column_stack([np.ones(25), np.linspace(0, 1000, 25)]),
    "dependent columns": np.column_stack([np.ones(25), X, Y, 3 * X - 2]),
    "no constant": np.column_stack([X, Y]),
}  # fmt: skip


def by_linear_programme(A: np.ndarray, h: np.ndarray) -> float:
    """2 min max |h - A c| with columns and heights scaled to 1."""
    n, p = A.shape
    scale = np.abs(h).max() or 1.0
    S = A / np.abs(A).max(0)
    tight = {"primal_feasibility_tolerance": 1e-10, "dual_feasibility_tolerance": 1e-10}
    answer = linprog(
        np.r_[np.zeros(p), 1], A_ub=np.block([[-S, -np.ones((n, 1))], [S, -np.ones((n, 1))]]),
        b_ub=np.r_[-h, h] / scale, bounds=[(None, None)] * p + [(0, None)], method="highs-ds", options=tight,
    )  # fmt: skip
    return 2 * answer.fun * scale


@pytest.mark.parametrize("name", COLUMNS)
def test_widths(name: str) -> None:
    A = COLUMNS[name]
    rng = np.random.default_rng(1)
    H = rng.normal(0, 0.02, (12, len(A)))
    H[0] = A[:, 0] * A[:, 1]  # a pattern with many ties
    H[1] = np.sign(H[1])
    H[2] = np.round(H[2], 2)
    H[3] = 0.0
    H[4] = A[:, -1]
    found = zone_width(A, H)
    expected = [by_linear_programme(A, h) for h in H]
    assert np.abs(found - expected).max() < 2e-10 * np.abs(H).max()


def test_proof_of_the_optimum_without_another_solver() -> None:
    """The middle of the zone leaves p + 1 deviations of the full half-width: the alternation theorem. Analytic."""
    A = COLUMNS["flatness 5 x 5"]
    H = np.random.default_rng(2).normal(size=(200, 25))
    widths, middle = smallest_zone(A, H)
    left = np.abs(H - middle)
    assert np.abs(2 * left.max(1) - widths).max() < 1e-12
    assert ((left > widths[:, None] / 2 - 1e-10).sum(1) >= 4).all()


def test_one_member_is_a_scalar_and_long_batches_agree() -> None:
    A = COLUMNS["roundness"]
    H = np.random.default_rng(3).normal(size=(3, 70, 60))
    widths = zone_width(A, H)
    assert widths.shape == (3, 70)
    one = zone_width(A, H[2, 69])
    assert np.ndim(one) == 0
    assert one == widths[2, 69]


def test_negative_twin_least_squares_is_wider() -> None:
    A = COLUMNS["flatness 5 x 5"]
    h = np.random.default_rng(4).normal(size=25)
    left = h - A @ np.linalg.lstsq(A, h, rcond=None)[0]
    assert np.ptp(left) > zone_width(A, h) + 1e-3


def test_bad_input() -> None:
    with pytest.raises(InputError, match="same n"):
        zone_width(np.ones((5, 2)), np.ones(4))
    with pytest.raises(InputError, match="finite"):
        zone_width(np.ones((5, 1)), [0, 1, np.nan, 0, 0])
