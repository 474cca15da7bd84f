"""Sizes of widths. Expected values: analytic, or an independent computation with Qhull or SciPy, as marked."""

import numpy as np
import pytest
from scipy.optimize import linprog, minimize
from scipy.spatial import ConvexHull

from trysquare.core.errors import InputError, RankError
from trysquare.geometry import (
    envelope_of_width,
    opposite_planes,
    rank_order,
    width_size,
    width_two_point_sizes,
)

S, L = 0.002, 20.0  # slope of each face, half its length


def wedge():
    """Two faces that open along x: z = -(5 + S x) and 5 + S x, on a grid of 9 by 5 points."""
    x, y = (g.ravel() for g in np.meshgrid(np.linspace(-L, L, 9), np.linspace(-8, 8, 5)))
    return np.column_stack([x, y, -5 - S * x]), np.column_stack([x, y, 5 + S * x])


def rough(seed, n=40, width=10.0, form=0.02, reach=30.0):
    rng = np.random.default_rng(seed)
    xy = rng.uniform(-reach, reach, (2, n, 2))
    turn = np.linalg.qr(rng.normal(size=(3, 3)))[0]
    A = np.column_stack([xy[0], rng.normal(0, form, n)])
    B = np.column_stack([xy[1], rng.normal(width, form, n)])
    return A @ turn.T + 100.0, B @ turn.T + 100.0


def test_wedge():
    """Analytic. Least squares and minimax lie along the bisector; the largest block in it touches at the narrow end
    (10 - 2 S L); the smallest gap around it lies flush on one face: (10 + 2 S L) / sqrt(1 + S^2).
    """
    A, B = wedge()
    expected = {"GG": 10.0, "GC": 10.0, "GX": 10 - 2 * S * L, "GN": (10 + 2 * S * L) / np.hypot(1, S)}
    for modifier, width in expected.items():
        assert width_size(A, B, modifier).size_mm == pytest.approx(width, abs=1e-13)
    assert opposite_planes(A, B, "GC").gap_mm < 1e-15
    proofs = {m: width_size(A, B, m).proof for m in expected}
    assert proofs == {"GG": "", "GC": "local, one start", "GX": "global", "GN": "local, one start"}
    # the twin: a point that stands out by 1e-6 mm at the narrow end is felt
    B[0] -= [0, 0, 1e-6]
    assert width_size(A, B, "GX").size_mm == pytest.approx(10 - 2 * S * L - 1e-6, abs=1e-10)


def test_far_from_the_origin():
    """1e5 mm off, coordinates carry 1.5e-11 mm."""
    A, B = (face + np.array([1e5, -1e5, 1e5]) for face in wedge())
    for modifier in ("GG", "GX", "GN", "GC"):
        near, far = width_size(*wedge(), modifier).size_mm, width_size(A, B, modifier).size_mm
        assert far == pytest.approx(near, abs=1e-10)


def test_wedge_two_point_sizes():
    """10 + 2 S x across the mid-plane; analytic: x is even about 0, so mean and median are 10."""
    lp = width_two_point_sizes(*wedge(), reach_mm=0.01)
    assert lp.size_mm.shape == (45,)
    x = np.linspace(-L, L, 9)
    expected = {"SX": 10 + 2 * S * L, "SN": 10 - 2 * S * L, "SA": 10, "SM": 10, "SD": 10, "SR": 4 * S * L,
                "SQ": 2 * S * np.sqrt(np.mean(x * x))}  # fmt: skip
    for rank, value in expected.items():
        assert rank_order(lp, rank).size_mm == pytest.approx(value, abs=1e-13)
    assert "45 local sizes" in rank_order(lp, "SX").definition
    assert rank_order(lp, "SR").name == "range of sizes of the two-point sizes"


def test_envelope_of_tab_and_slot():
    A, B = wedge()
    tab = envelope_of_width(A, B, external=True, reach_mm=0.01)
    assert tab.mating.modifier == "GN"
    assert (tab.mating.size_mm, tab.local.size_mm) == pytest.approx(
        ((10 + 2 * S * L) / np.hypot(1, S), 10 - 2 * S * L), abs=1e-13
    )
    slot = envelope_of_width(A, B, external=False, reach_mm=0.01)
    assert (slot.mating.modifier, slot.local.modifier) == ("GX", "LP SX")
    assert (slot.mating.size_mm, slot.local.size_mm) == pytest.approx((10 - 2 * S * L, 10 + 2 * S * L), abs=1e-13)


@pytest.mark.parametrize("seed", range(6))
def test_smallest_gap_against_qhull(seed):
    """Independent computation: the width along n is the support of all differences b - a; its local minima are facets
    of their hull, so the least facet about the face's normal is the answer.
    """
    A, B = rough(seed)
    found = opposite_planes(A, B, "GN")
    facets = ConvexHull((B[:, None] - A[None]).reshape(-1, 3)).equations
    about = facets[:, :3] @ found.normal > 0.9
    assert found.width_mm == pytest.approx((-facets[about, 3]).min(), abs=1e-11)
    assert found.gap_mm < 1e-12


@pytest.mark.parametrize(("seed", "form"), [*((seed, 0.1) for seed in range(6)), (6, 3.0), (7, 3.0), (8, 4.0)])
def test_largest_block_against_slsqp(seed, form):
    """Independent computation: SciPy's SLSQP finds no wider pair of planes, and one within 1e-7 mm. The proof here is
    exact: two points of the hulls at the same distance. Faces as rough as a quarter of their extent among them.
    """
    A, B = rough(seed, width=40.0 if form > 1 else 8.0, form=form, reach=10.0 if form > 1 else 30.0)
    found = opposite_planes(A, B, "GX")
    middle = 0.5 * (A.mean(0) + B.mean(0))
    a, b = A - middle, B - middle
    start = np.r_[found.normal + 0.01, 0, found.width_mm - 0.1]
    best = minimize(
        lambda x: -x[4], start, method="SLSQP", options={"ftol": 1e-14, "maxiter": 500},
        constraints=[
            {"type": "ineq", "fun": lambda x: b @ x[:3] - x[3] - x[4] / 2},
            {"type": "ineq", "fun": lambda x: x[3] - x[4] / 2 - a @ x[:3]},
            {"type": "eq", "fun": lambda x: x[:3] @ x[:3] - 1},
        ],
    )  # fmt: skip
    n = best.x[:3] / np.linalg.norm(best.x[:3])
    theirs = (b @ n).min() - (a @ n).max()
    assert theirs - 1e-12 < found.width_mm < theirs + 1e-7
    assert found.gap_mm < 1e-12
    assert found.proof == "global"


@pytest.mark.parametrize("seed", range(4))
def test_minimax_against_linprog(seed):
    """Independent computation: SciPy's linprog (HiGHS) over the normal found cannot lower the largest distance."""
    A, B = rough(seed)
    found = opposite_planes(A, B, "GC")
    n = found.normal
    u = np.linalg.svd(n[None])[2][1:]
    middle = 0.5 * (A.mean(0) + B.mean(0))
    rows, heights = [], []
    for k, X in enumerate((A, B)):
        X = X - middle
        h = X @ n
        base = np.column_stack([X @ u.T, np.full(len(X), k == 0), np.full(len(X), k == 1)]).astype(float)
        for sign in (1, -1):
            rows.append(np.column_stack([-sign * base, -np.ones(len(X))]))
            heights.append(-sign * h)
    out = linprog([0, 0, 0, 0, 1], np.concatenate(rows), np.concatenate(heights), bounds=[(None, None)] * 5)
    spread = max(np.ptp(A @ n), np.ptp(B @ n)) / 2
    assert spread == pytest.approx(out.fun, abs=1e-9)
    assert found.gap_mm < 1e-12
    looser = max(np.ptp(X @ (n + 1e-4 * u[0])) for X in (A, B)) / 2
    assert looser > spread + 1e-6  # the twin


def test_least_squares_width_against_its_definition():
    """Independent computation: SciPy minimises the squares over normal and both places."""
    A, B = rough(3, form=0.2)
    found = opposite_planes(A, B, "GG")

    def squares(x):
        n = found.normal + x[0] * np.array([1.0, 0, 0]) + x[1] * np.array([0, 1.0, 0])
        n = n / np.linalg.norm(n)
        return sum(((X @ n - (X @ n).mean()) ** 2).sum() for X in (A, B))

    best = minimize(squares, [1e-3, -1e-3], method="BFGS", options={"gtol": 1e-12})
    assert squares([0, 0]) <= best.fun * (1 + 1e-12)
    assert found.width_mm == pytest.approx(found.normal @ (B.mean(0) - A.mean(0)), abs=1e-12)


def test_no_block_fits_between_faces_that_run_into_one_another():
    A, B = rough(2, width=0.05, form=0.1)
    size = width_size(A, B, "GX")
    assert "no room" in size.reason
    assert np.isnan(size.size_mm)
    assert width_size(A, B, "GN").size_mm > 0


def test_draws_are_each_member_alone_and_keep_the_pairs():
    A, B = wedge()
    rng = np.random.default_rng(5)
    As, Bs = A + rng.normal(0, 0.003, (30, *A.shape)), B + rng.normal(0, 0.003, (30, *B.shape))
    value = width_two_point_sizes(A, B, reach_mm=0.01)
    draws = width_two_point_sizes(As, Bs, reach_mm=0.01, pairs=value.pairs)
    assert draws.size_mm.shape == (30, 45)
    one = width_two_point_sizes(As[7], Bs[7], reach_mm=0.01, pairs=value.pairs)
    assert np.abs(draws.size_mm[7] - one.size_mm).max() < 1e-13
    for modifier in ("GG", "GX", "GN", "GC"):
        many = width_size(As, Bs, modifier).size_mm
        assert many[7] == pytest.approx(width_size(As[7], Bs[7], modifier).size_mm, abs=1e-13)


def test_faces_that_are_not_opposite_have_no_size():
    """One face beside the other: no block between them, no points opposite. The least-squares size is defined."""
    A, B = wedge()
    B = B + np.array([60.0, 0, 0])
    for modifier in ("GX", "GN"):
        beside = width_size(A, B, modifier)
        assert not beside.defined
        assert "do not stand opposite" in beside.reason
        assert np.isnan(beside.size_mm)
    lp = width_two_point_sizes(A, B, reach_mm=0.5)
    assert lp.size_mm.shape == (0,)
    assert "opposite" in lp.reason
    most = rank_order(lp, "SX")
    assert most.reason == lp.reason
    assert np.isnan(most.size_mm)
    assert width_size(A, B, "GG").defined


def test_bad_input():
    A, B = wedge()
    with pytest.raises(InputError, match="GG, GX, GN, GC"):
        width_size(A, B, "CC")
    with pytest.raises(InputError, match="leading axes"):
        width_size(A[None], B, "GG")
    with pytest.raises(InputError, match="above 0"):
        width_two_point_sizes(A, B, reach_mm=0)
    with pytest.raises(RankError, match="span two planes"):
        width_size(A[:3], A[:3] + np.array([0, 0, 1.0]), "GG")
    with pytest.raises(InputError, match="local"):
        rank_order(width_size(A, B, "GG"), "SX")
    with pytest.raises(InputError, match="SX"):
        rank_order(width_two_point_sizes(A, B, reach_mm=0.01), "LP")
