"""Declared noise and field check: pooled, or at odds."""

import math

import numpy as np
import pytest

from trysquare.chance.pooling import pool, pooled_source
from trysquare.chance.sources import Source
from trysquare.core.errors import InputError


def test_pooling_weighs_variances_by_degrees_of_freedom() -> None:
    """Analytic: (8 x 1 + 4 x 4) / 12 = 2."""
    found = pool(1.0, 8, 2.0, 4)
    assert float(found.s) == pytest.approx(math.sqrt(2.0))
    assert float(found.dof) == 12
    assert not found.at_odds


def test_p_is_that_of_the_f_distribution() -> None:
    """Independent computation: quantiles of scipy.stats.f."""
    from scipy.stats import f

    for q in (0.001, 0.004, 0.006, 0.2, 0.994, 0.996):
        ratio = math.sqrt(f.ppf(q, 5, 10))
        found = pool(1.0, 10, ratio, 5)
        assert float(found.p) == pytest.approx(2 * min(q, 1 - q), rel=1e-9)
        assert bool(found.at_odds) == (min(q, 1 - q) < 0.005)


def test_at_odds_the_check_alone_counts() -> None:
    found = pool(1.0, 10, 4.0, 6)
    assert (float(found.s), float(found.dof), bool(found.at_odds)) == (4.0, 6.0, True)


def test_what_is_known_exactly_is_only_confirmed_or_contradicted() -> None:
    """Any table: chi-square with 9 degrees of freedom exceeds 23.59 with 0.5 %."""
    kept, thrown = pool(1.0, np.inf, math.sqrt(23.4 / 9), 9), pool(1.0, np.inf, math.sqrt(23.8 / 9), 9)
    assert (float(kept.s), float(kept.dof)) == (1.0, math.inf)
    assert bool(thrown.at_odds)
    assert float(thrown.dof) == 9


def test_a_source_says_what_was_done() -> None:
    source = Source("angle noise", "reading", 2.0, "urad", "reading", dof=12.5, origin="class")
    agreed, text = pooled_source(source, 2.2, 9)
    assert (agreed.name, agreed.link, agreed.dof) == ("angle noise", "reading", 21.5)
    assert 2.0 < agreed.u < 2.2
    assert "agrees" in text
    assert "field check" in agreed.origin
    apart, text = pooled_source(source, 9.0, 9)
    assert (apart.u, apart.dof) == (9.0, 9)
    assert "at odds" in text
    assert "at odds" in apart.origin


@pytest.mark.parametrize("bad", [(0, 4, 1, 4), (1, 0, 1, 4), (1, 4, 0, 4), (1, 4, 1, 0), (1, 4, np.nan, 4)])
def test_nothing_to_pool_is_refused(bad: tuple[float, float, float, float]) -> None:
    with pytest.raises(InputError, match="pooling"):
        pool(*bad)
