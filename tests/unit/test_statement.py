"""Statements and smooth characteristics."""

import math

import numpy as np
import pytest

from trysquare.chance.smooth import smooth
from trysquare.chance.statement import P_GRID, Statement, from_samples, not_stated
from trysquare.core.errors import InputError


def test_grid_of_probabilities_is_symmetric_and_has_the_usual_levels():
    assert len(P_GRID) == 99
    assert list(P_GRID) == sorted(set(P_GRID))
    assert np.allclose(np.asarray(P_GRID) + np.asarray(P_GRID)[::-1], 1.0, atol=1e-12)
    assert {0.0005, 0.005, 0.01, 0.025, 0.05, 0.5, 0.95, 0.975, 0.99, 0.995, 0.9995} <= set(P_GRID)


def test_below_and_quantile_undo_each_other():
    s = from_samples("smooth", 0.0, np.random.default_rng(1).normal(size=4000))
    for p in (0.003, 0.025, 0.3, 0.5, 0.95, 0.99):
        assert s.below(s.quantile(p)) == pytest.approx(p, abs=1e-9)


def test_below_never_claims_certainty():
    s = from_samples("smooth", 0.0, np.linspace(-1.0, 1.0, 1001))
    assert s.below(5.0) == P_GRID[-1]
    assert s.below(-5.0) == P_GRID[0]


def test_below_in_a_lump_takes_the_whole_lump():
    q = np.maximum(0.0, np.asarray(P_GRID) - 0.5)
    s = Statement("magnitude", 0.1, 0.1, (0.0, 0.4), q)
    assert s.below(0.0) == pytest.approx(0.5, abs=1e-9)


def test_statement_with_a_reason_claims_nothing():
    s = not_stated("extreme", "cannot be stated", value=0.2)
    assert math.isnan(s.below(1.0))
    assert math.isnan(s.quantile(0.5))
    assert s.interval is None


def test_smooth_percentiles_take_ranks_of_m_plus_one():
    """Analytic: of draws 1 to 39, ranks 0.025 * 40 and 0.975 * 40 are the draws 1 and 39."""
    assert smooth(20.0, np.arange(1.0, 40.0)).interval == pytest.approx((1.0, 39.0))


def test_smooth_moments_match_the_draws():
    """Analytic: a normal chain of standard uncertainty 3; tolerance of four standard errors of 20 000 draws."""
    s = smooth(10.0, 10.0 + 3.0 * np.random.default_rng(2).normal(size=20000))
    assert s.u == pytest.approx(3.0, rel=0.02)
    assert s.interval == pytest.approx((10 - 1.96 * 3, 10 + 1.96 * 3), abs=0.25)


@pytest.mark.parametrize("draws", [[1.0], [1.0, math.nan], [[1.0, 2.0]]])
def test_bad_draws_are_refused(draws):
    with pytest.raises(InputError):
        smooth(1.0, draws)


def test_wrong_kind_and_coverage_are_refused():
    with pytest.raises(InputError):
        from_samples("soft", 0.0, [0.0, 1.0])
    with pytest.raises(InputError):
        from_samples("smooth", 0.0, [0.0, 1.0], coverage=95)
