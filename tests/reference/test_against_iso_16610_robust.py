"""Robust Gaussian regression against ISO 16610-31 (from memory), carried out here with full matrices.

What the standard asks: at every sample a polynomial fitted under the Gaussian weighting function, with the weights
(1 - (r / c)^2)^2 of Tukey, c = 4.4478 median |r|, repeated. Independent computation: dense sums in numpy, its loop run
until nothing moves.
"""

import math

import numpy as np
import pytest
from scipy import stats

from trysquare.geometry import (
    gaussian_areal,
    gaussian_profile,
    robust_gaussian_areal,
    robust_gaussian_closed,
    robust_gaussian_profile,
)

ALPHA = {0: 0.46971863934982566, 2: 0.7309134280946760}
CUTOFF, SPACING = 0.8, 0.02


def by_matrices(heights, order, passes=80, scale=4.4478):
    n = len(heights)
    t = (np.arange(n)[:, None] - np.arange(n)) * SPACING / (ALPHA[order] * CUTOFF)
    gauss = np.exp(-np.pi * t * t)
    columns = t[:, :, None] ** np.arange(order + 1)
    weights = np.ones(n)
    for _ in range(passes):
        weighted = (gauss * weights)[:, :, None] * columns
        turned = np.swapaxes(weighted, 1, 2)
        value = np.linalg.solve(turned @ columns, turned @ heights[:, None])[:, 0, 0]
        r = heights - value
        c = scale * np.median(np.abs(r))
        weights = np.where(np.abs(r) < c, (1 - (r / c) ** 2) ** 2, 0.0)
    return value, weights


def scratched(seed=1, n=400):
    """A wave, level at its ends, with noise of 0.01 and a scratch 1 deep, a tenth of a cut-off wide; without it."""
    x = np.arange(n) * SPACING
    clean = 0.2 * np.cos(2 * np.pi * x / 8.0) + np.random.default_rng(seed).normal(0, 0.01, n)
    hurt = clean.copy()
    hurt[200:204] -= 1.0
    return clean, hurt


def test_the_scale():
    """Analytic: 4.4478 medians are three standard deviations of a normal residual."""
    assert 3 / stats.norm.ppf(0.75) == pytest.approx(4.4478, abs=5e-5)


@pytest.mark.parametrize("order", [0, 2])
def test_against_full_matrices(order):
    _, hurt = scratched()
    found = robust_gaussian_profile(hurt, cutoff_mm=CUTOFF, spacing_mm=SPACING, order=order)
    value, weights = by_matrices(hurt, order)
    assert np.abs(found.long_mm - value).max() < 1e-6
    assert np.abs(found.weights - weights).max() < 1e-3
    assert found.stopped == "scale settled"
    other, _ = by_matrices(hurt, order, scale=4.0)  # negative twin: another scale
    assert np.abs(found.long_mm - other).max() > 1e-5


@pytest.mark.parametrize("order", [0, 2])
def test_a_scratch_is_set_aside(order):
    """Analytic: the linear filter spreads the scratch over a cut-off, the robust one does not see it."""
    clean, hurt = scratched()
    options = {"cutoff_mm": CUTOFF, "spacing_mm": SPACING, "order": order}
    spread = gaussian_profile(hurt, **options).long_mm - gaussian_profile(clean, **options).long_mm
    assert np.abs(spread).max() > 0.08
    robust = robust_gaussian_profile(hurt, **options)
    expected = gaussian_profile(clean, **options).long_mm
    assert np.abs(robust.long_mm - expected).max() < 0.01  # the noise alone moves it by as much
    assert (robust.weights[200:204] == 0).all()
    assert robust.notes[-1].startswith("Set aside: ")


def test_a_scratch_in_a_perfect_parabola():
    """Analytic: without noise the scale goes to nothing, and order 2 gives the parabola back under the scratch."""
    x = np.arange(600) * SPACING
    form = 1.0 + 0.3 * x - 0.05 * x * x
    hurt = form.copy()
    hurt[300:306] -= 0.5
    found = robust_gaussian_profile(hurt, cutoff_mm=CUTOFF, spacing_mm=SPACING)
    assert np.abs(found.long_mm - form).max() < 1e-7
    linear = gaussian_profile(hurt, cutoff_mm=CUTOFF, spacing_mm=SPACING, order=2)
    assert np.abs(linear.long_mm - form).max() > 0.05  # negative twin


def test_normal_noise_is_kept():
    """Analytic: without anything that stands out 0.27 % lie beyond three standard deviations."""
    noise = np.random.default_rng(3).normal(size=100_000)
    found = robust_gaussian_profile(noise, cutoff_mm=20 * CUTOFF, spacing_mm=SPACING)
    assert (found.weights == 0).mean() == pytest.approx(0.0027, abs=0.001)


def test_dirt_on_a_ring():
    """Analytic: a lobed ring with a speck of 0.05 mm; the lobes come back as if it were clean."""
    angle = np.arange(1440) * 2 * math.pi / 1440
    lobes = 0.004 * np.cos(3 * angle + 0.4) + np.random.default_rng(4).normal(0, 0.0005, 1440)
    dirty = lobes + 0.05 * (np.abs(angle - 2.0) < math.radians(1.5))
    clean = robust_gaussian_closed(lobes, cutoff_upr=15)
    found = robust_gaussian_closed(dirty, cutoff_upr=15)
    assert np.abs(found.long_mm - clean.long_mm).max() < 0.0005
    assert abs(np.ptp(found.long_mm) - np.ptp(clean.long_mm)) < 0.0003


def test_a_scratch_on_a_surface():
    rng = np.random.default_rng(5)
    y, x = np.mgrid[0:120, 0:140] * 0.05
    clean = 0.1 * np.sin(2 * np.pi * x / 5) * np.cos(2 * np.pi * y / 5) + rng.normal(0, 0.01, x.shape)
    hurt = clean - 1.0 * (np.abs(x - y) < 0.1)
    options = {"cutoff_mm": 0.8, "spacing_mm": 0.05}
    expected = gaussian_areal(clean, order=0, **options).long_mm
    assert np.abs(gaussian_areal(hurt, order=0, **options).long_mm - expected).max() > 0.15
    found = robust_gaussian_areal(hurt, **options)
    assert np.abs(found.long_mm - expected)[~found.affected].max() < 0.02
    assert (found.weights[np.abs(x - y) < 0.09] == 0).all()
