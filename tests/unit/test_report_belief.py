"""The curve and the grains against the normal distribution of scipy (independent computation)."""

import numpy as np
import pytest
from scipy.stats import foldnorm, norm

from trysquare.chance.statement import P_GRID, Statement
from trysquare.report.belief import below, curve, grain_values

NORMAL = [float(x) for x in norm.ppf(P_GRID, 3.0, 0.2)]


def test_the_curve_is_the_normal_density_a_little_widened() -> None:
    x, y = curve(NORMAL, P_GRID, count=200)
    assert np.abs(y - norm.pdf(x, 3.0, 0.2) / norm.pdf(3.0, 3.0, 0.2)).max() < 0.02


def test_steps_between_draws_do_not_show() -> None:
    draws = np.sort(np.random.default_rng(3).normal(size=500))
    x, y = curve(np.quantile(draws, P_GRID).tolist(), P_GRID, count=120)
    rises = np.diff(np.sign(np.diff(y[y > 0.05])))
    assert np.count_nonzero(rises) <= 3  # one top, at most one ripple
    assert abs(float(x[np.argmax(y)])) < 0.5


def test_below_a_floor_nothing_is_drawn_and_nothing_is_lost() -> None:
    folded = [float(q) for q in foldnorm.ppf(P_GRID, 0.3)]
    x, y = curve(folded, P_GRID, floor=0.0, count=200)
    assert x[0] == 0.0
    expected = foldnorm.pdf(x, 0.3)
    assert np.abs(y - expected / expected.max()).max() < 0.05
    without, _ = curve(folded, P_GRID, count=200)
    assert without[0] < 0  # the same without a floor spills over


@pytest.mark.parametrize("x", [2.0, 2.5, 3.0, 3.111, 3.4, 9.0])
def test_confidence_below_is_that_of_the_statement(x: float) -> None:
    statement = Statement("smooth", 3.0, 0.2, (2.6, 3.4), np.asarray(NORMAL))
    assert below(NORMAL, P_GRID, x) == pytest.approx(statement.below(x), abs=1e-12)


def test_grains_are_the_middles_of_twentieths() -> None:
    assert grain_values(NORMAL, P_GRID) == pytest.approx(norm.ppf((np.arange(20) + 0.5) / 20, 3.0, 0.2), abs=2e-3)


def test_a_distribution_without_width_is_still_a_curve() -> None:
    x, y = curve([1.5] * len(P_GRID), P_GRID)
    assert np.isfinite(x).all()
    assert np.isfinite(y).all()
