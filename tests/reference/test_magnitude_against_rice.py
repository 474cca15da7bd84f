"""Magnitude intervals against closed forms of the Rice distribution.

Independent computation: scipy.stats.ncx2 (non-central chi-square) and brentq. The table at 0 to 4 standard
uncertainties, 2.448, 1.940, 1.842, 1.924, 1.942, is analytic: the 95 % quantile of |T - x|, T Rice distributed.
"""

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.stats import chi2, ncx2

from trysquare.chance.kernels import nearest, signed_roots
from trysquare.chance.magnitude import magnitude

_TABLE = {0.0: 2.448, 1.0: 1.940, 2.0: 1.842, 3.0: 1.924, 4.0: 1.942}


def _below(t: float, x: float) -> float:
    """P(T <= t) of |(x, 0) + standard normal|."""
    if t <= 0:
        return 0.0
    return float(chi2.cdf(t * t, 2) if x == 0 else ncx2.cdf(t * t, 2, x * x))


def _half_width(x: float) -> float:
    return float(brentq(lambda c: _below(x + c, x) - _below(x - c, x) - 0.95, 0.5, 5.0))


def _signed_root(d, variances, x):
    out = np.empty(len(d))
    signed_roots(np.ascontiguousarray(d), np.asarray(variances), x, out)
    return out


@pytest.mark.parametrize(("x", "expected"), _TABLE.items())
def test_table_of_the_isotropic_case(x, expected):
    assert _half_width(x) == pytest.approx(expected, abs=6e-4)
    e = np.random.default_rng(5).normal(size=(400_000, 2))
    root = _signed_root(e + np.array([x, 0.0]), [1.0, 1.0], x)
    assert np.quantile(np.abs(root), 0.95) == pytest.approx(expected, abs=0.01)


@pytest.mark.parametrize("reading", [0.0, 0.7, 1.5, 2.5, 4.0, 9.0])
def test_interval_is_the_isotropic_one(reading):
    """Every x with |reading - x| <= c(x); 40 000 draws put the ends within about 0.03."""
    e = np.random.default_rng(6).normal(size=(40_000, 2))
    lower, upper = magnitude([0.0, reading], e + np.array([0.0, reading])).interval
    x = np.linspace(0.0, reading + 4.0, 401)
    held = x[[abs(reading - v) <= _half_width(v) for v in x]]
    assert lower == pytest.approx(held.min(), abs=0.04)
    assert upper == pytest.approx(held.max(), abs=0.04)


@pytest.mark.parametrize("reading", [3.0, 5.0, 9.0])
def test_confidence_is_the_inverted_rice_distribution(reading):
    """Lower tail, not capped: P(T >= reading; x) = p, solved by brentq."""
    e = np.random.default_rng(7).normal(size=(40_000, 2))
    s = magnitude([reading, 0.0], e + np.array([reading, 0.0]))
    for p in (0.05, 0.25):
        if 1.0 - _below(reading, 0.0) < p:
            x = brentq(lambda v, p=p: 1.0 - _below(reading, v) - p, 1e-6, reading + 3.0)
            assert s.quantile(p) == pytest.approx(x, abs=0.05)


@pytest.mark.parametrize("variances", [(1.0, 1.0), (9.0, 1.0), (100.0, 1.0), (4.0, 2.0, 0.01), (1e8, 1.0)])
def test_nearest_point_against_a_search_over_the_sphere(variances):
    """Independent computation: bounded search over directions, scipy.optimize.minimize from many starts."""
    from scipy.optimize import minimize

    rng, k = np.random.default_rng(8), len(variances)
    for _ in range(5):
        d, x = rng.normal(size=k) * np.sqrt(variances), float(rng.uniform(0.2, 3.0))

        def distance(w, d=d, x=x):
            return float((((d - x * w / np.linalg.norm(w)) ** 2) / variances).sum())

        starts = [*np.eye(k), *-np.eye(k), d, *rng.normal(size=(8, k))]
        best = min(minimize(distance, w, method="Nelder-Mead", options={"xatol": 1e-10, "fatol": 1e-12}).fun
                   for w in starts)  # fmt: skip
        root = _signed_root(d[None], variances, x)[0]
        point = np.empty(k)
        nearest(d, np.asarray(variances), x, point)
        assert np.linalg.norm(point) == pytest.approx(x, rel=1e-9)
        assert root**2 == pytest.approx((((d - point) ** 2) / variances).sum(), rel=1e-6, abs=1e-9)
        assert root**2 <= best * (1 + 1e-6) + 1e-9
        assert root**2 == pytest.approx(best, rel=1e-3, abs=1e-6)
        assert (root > 0) == (np.linalg.norm(d) > x)


def test_the_check_can_fail():
    """Negative twin: with errors twice too small the table is missed by far."""
    e = 0.5 * np.random.default_rng(5).normal(size=(20_000, 2))
    root = _signed_root(e + np.array([2.0, 0.0]), [1.0, 1.0], 2.0)
    assert abs(np.quantile(np.abs(root), 0.95) - _TABLE[2.0]) > 0.5
