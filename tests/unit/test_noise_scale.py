"""The doubt about the size of errors, read from their draws."""

import numpy as np
import pytest
from scipy.special import polygamma

from trysquare.chance.noise_scale import _inverse_trigamma, levelled, shared_freedom, sizes

_A = np.column_stack([np.ones(25), np.repeat(np.arange(5.0), 5), np.tile(np.arange(5.0), 5)])


def _draws(freedom: float, m: int = 2000, seed: int = 3) -> np.ndarray:
    rng = np.random.default_rng(seed)
    e = rng.normal(size=(m, 25)) + 0.5 * rng.normal(size=(m, 1)) * _A[:, 1] ** 2
    return e if np.isinf(freedom) else e * np.sqrt(freedom / rng.chisquare(freedom, (m, 1)))


@pytest.mark.parametrize("y", [1e-3, 0.1, 1.0, 4.0])
def test_inverse_trigamma(y):
    """Independent computation: SciPy's trigamma of the answer."""
    assert float(polygamma(1, _inverse_trigamma(y))) == pytest.approx(y, rel=1e-9)


@pytest.mark.parametrize("seed", range(8))
def test_draws_of_one_size_show_no_doubt(seed):
    assert np.isinf(shared_freedom(_draws(np.inf, seed=seed), _A))


@pytest.mark.parametrize("freedom", [4.0, 8.0, 20.0])
def test_the_freedom_put_in_comes_out(freedom):
    """Analytic: Student draws made with a known number of degrees of freedom."""
    assert shared_freedom(_draws(freedom), _A) == pytest.approx(freedom, rel=0.25)


def test_sizes_stand_for_the_distribution():
    """Analytic: root mean square 1; 8 degrees of freedom reach below 0.7 and above 1.4."""
    found = np.array(sizes(8.0))
    assert np.mean(found**2) == pytest.approx(1.0)
    assert found.min() < 0.75
    assert found.max() > 1.4
    assert sizes(float("inf")) == (1.0,)


def test_levelled_draws_have_nearly_one_size():
    e = _draws(6.0)
    flat = levelled(e, _A, shared_freedom(e, _A))
    assert shared_freedom(flat, _A) > 30.0
