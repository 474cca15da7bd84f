"""Coverage of a 95 % interval when the instrument's noise is declared with doubt and checked with few repeats.

Simulated with known truth: each instrument has its own noise, lognormal about the declared figure with relative
doubt r; a field check of nu + 1 repeats gives s; one error is then covered or not. 200 000 instruments: the standard
error of a coverage is 0.05 points. Expected: 95.2 to 96.8 pooled; plain s with 4 degrees of freedom 87.9 (the
negative twin). Independent computation (this simulation run with another seed and generator).
"""

import numpy as np
import pytest
from scipy.stats import t

from trysquare.chance.pooling import pool

R = 200_000
pytestmark = pytest.mark.statistics


def instruments(r: float, nu: int, seed: int = 7) -> tuple[np.ndarray, np.ndarray]:
    """s of the check (R,) and an error (R,), true noise about 1 with relative doubt r."""
    rng = np.random.default_rng(seed)
    sigma = np.exp(r * rng.standard_normal(R) - r * r / 2)
    return sigma * np.sqrt(rng.chisquare(nu, R) / nu), sigma * rng.standard_normal(R)


@pytest.mark.parametrize("r", [0.2, 0.4])
@pytest.mark.parametrize("nu", [4, 9, 19, 49])
def test_pooled_noise_covers(r: float, nu: int) -> None:
    s, error = instruments(r, nu)
    found = pool(1.0, 1 / (2 * r * r), s, nu)
    covered = 100 * (np.abs(error) <= t.ppf(0.975, found.dof) * found.s).mean()
    assert 95.05 <= covered <= 96.95  # 95.2 to 96.8 with three standard errors


def test_plain_s_with_four_degrees_of_freedom_does_not_cover() -> None:
    s, error = instruments(0.2, 4)
    assert 87.5 < 100 * (np.abs(error) <= 1.959964 * s).mean() < 88.4


def test_declaration_alone_fails_the_worst_tenth() -> None:
    rng = np.random.default_rng(8)
    sigma = np.exp(0.4 * rng.standard_normal(R) - 0.08)
    error = sigma * rng.standard_normal(R)
    worst = sigma > np.quantile(sigma, 0.9)
    assert 100 * (np.abs(error[worst]) <= 1.959964).mean() < 75


def test_a_wrong_declaration_is_found_out() -> None:
    """True noise three times the declared (r = 0.2): pooled regardless it would cover 82.5; found out in 83 of 100."""
    rng = np.random.default_rng(9)
    s, error = 3 * np.sqrt(rng.chisquare(9, R) / 9), 3 * rng.standard_normal(R)
    found = pool(1.0, 12.5, s, 9)
    blind = np.sqrt((12.5 + 9 * s**2) / 21.5)
    assert found.at_odds.mean() > 0.8
    assert 100 * (np.abs(error) <= t.ppf(0.975, found.dof) * found.s).mean() > 91.5
    assert 100 * (np.abs(error) <= t.ppf(0.975, 21.5) * blind).mean() < 83.0
