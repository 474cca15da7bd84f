"""Gaussian filters against ISO 16610-21 and -61: weighting function, transmission, ends.

The formulas of the standards are written here anew: exp(-pi (x / (alpha lc))^2) / (alpha lc), alpha = sqrt(ln 2 / pi)
= 0.4697, transmission exp(-pi (alpha lc / l)^2) (published in ISO 16610-21, quoted from memory and checked by their own
Fourier transform). Independent computations: numpy.convolve, numpy.polyfit at single samples, scipy.ndimage.
"""

import math

import numpy as np
import pytest
from scipy import integrate, ndimage, optimize, signal

from trysquare.geometry import gaussian_areal, gaussian_closed, gaussian_profile, gaussian_transmission

ALPHA = 0.46971863934982566  # sqrt(ln 2 / pi)
RATIOS = (0.25, 0.4, 0.5, 0.7, 0.9, 1.0, 1.1, 1.5, 2.0, 3.0, 5.0, 8.0, 10.0)
CUTOFF, SPACING = 0.8, 0.01


def passed(ratio, alpha=ALPHA):
    return math.exp(-math.pi * (alpha / ratio) ** 2)


def weighting(x, cutoff=CUTOFF, alpha=ALPHA):
    return np.exp(-np.pi * (x / (alpha * cutoff)) ** 2) / (alpha * cutoff)


def test_the_constant_and_its_curve():
    """Analytic: half at the cut-off, area 1, and the curve is the Fourier transform of the weighting function."""
    assert pytest.approx(math.sqrt(math.log(2) / math.pi), abs=1e-16) == ALPHA
    assert round(ALPHA, 4) == 0.4697
    for ratio in RATIOS:
        wave = 2 * math.pi / (ratio * CUTOFF)
        area, _ = integrate.quad(lambda x, w=wave: 2 * weighting(x) * math.cos(w * x), 0, 3 * CUTOFF, limit=200)
        assert area == pytest.approx(passed(ratio), abs=1e-12)
        assert gaussian_transmission(ratio) == pytest.approx(passed(ratio), rel=1e-13)
    assert passed(1.0) == pytest.approx(0.5, abs=1e-15)


@pytest.mark.parametrize("order", [0, 1])
@pytest.mark.parametrize("ratio", RATIOS)
def test_amplitude_of_open_profiles(ratio, order):
    """Analytic: away from the ends a wave keeps its phase and passes the share of the curve (asked: 0.1 %)."""
    x = np.arange(4000) * SPACING
    waves = np.stack([np.cos(2 * np.pi * x / (ratio * CUTOFF)), np.sin(2 * np.pi * x / (ratio * CUTOFF))])
    result = gaussian_profile(waves, cutoff_mm=CUTOFF, spacing_mm=SPACING, order=order)
    middle = slice(160, -160)
    assert np.abs(result.long_mm - passed(ratio) * waves)[:, middle].max() < 1e-12
    assert np.abs(result.short_mm - (1 - passed(ratio)) * waves)[:, middle].max() < 1e-12


@pytest.mark.parametrize("upr", [15, 50, 150])
@pytest.mark.parametrize("order", [0, 1])
def test_amplitude_and_phase_round_a_circle(upr, order):
    """Analytic: every undulation number from 2 to 4 times the cut-off, without phase shift."""
    angle = np.arange(3600) * 2 * np.pi / 3600
    for k in (2, upr // 3, upr - 1, upr, upr + 1, 2 * upr, 4 * upr):
        wave = np.cos(k * angle - 0.7)
        result = gaussian_closed(wave, cutoff_upr=upr, order=order)
        assert np.abs(result.long_mm - passed(upr / k) * wave).max() < 1e-12
        assert not result.affected.any()


def test_a_cutoff_along_the_circumference():
    """Analytic: 50 UPR on R = 20 mm are 2 pi 20 / 50 mm."""
    heights = np.random.default_rng(5).normal(size=720)
    by_length = gaussian_closed(heights, cutoff_mm=2 * math.pi * 20 / 50, radius_mm=20.0)
    assert np.abs(by_length.long_mm - gaussian_closed(heights, cutoff_upr=50).long_mm).max() < 1e-13


@pytest.mark.parametrize("ratio", RATIOS)
def test_amplitude_on_a_surface(ratio):
    """Analytic: a wave in any direction passes as on a profile, for the product of two Gaussians is round."""
    y, x = np.mgrid[0:300, 0:320] * 0.05
    for direction in (0.0, 0.5, 1.1):
        along = x * math.cos(direction) + y * math.sin(direction)
        wave = np.cos(2 * np.pi * along / (ratio * CUTOFF))
        long = gaussian_areal(wave, cutoff_mm=CUTOFF, spacing_mm=0.05).long_mm
        assert np.abs(long - passed(ratio) * wave)[40:-40, 40:-40].max() < 1e-9


def test_a_wrong_alpha_is_found():
    """Negative twin: with alpha = 0.48 the curve is off by more than the 0.1 % that is asked."""
    assert abs(passed(1.0, 0.48) - gaussian_transmission(1.0)) > 1e-2
    x = np.arange(2000) * SPACING
    wave = np.cos(2 * np.pi * x / CUTOFF)
    wrong = np.convolve(wave, weighting(np.arange(-150, 151) * SPACING, alpha=0.48) * SPACING, "same")
    right = gaussian_profile(wave, cutoff_mm=CUTOFF, spacing_mm=SPACING)
    assert np.abs(wrong - right.long_mm)[200:-200].max() > 1e-2


def test_against_plain_convolution():
    """Independent computation: numpy.convolve with the weighting function; at the ends over the weight that is left."""
    heights = np.random.default_rng(2).normal(size=1500)
    kernel = weighting(np.arange(-200, 201) * SPACING) * SPACING
    sums, weight = np.convolve(heights, kernel, "same"), np.convolve(np.ones(1500), kernel, "same")
    level = gaussian_profile(heights, cutoff_mm=CUTOFF, spacing_mm=SPACING, order=0)
    assert np.abs(level.long_mm - sums / weight).max() < 1e-13
    line = gaussian_profile(heights, cutoff_mm=CUTOFF, spacing_mm=SPACING, order=1)
    assert np.abs(line.long_mm - sums)[150:-150].max() < 1e-13
    assert np.abs(line.long_mm - sums)[:10].max() > 1e-3  # at an end the plain sum is short of weight


def test_against_ndimage():
    """Independent computation: scipy.ndimage with sigma = alpha cut-off / sqrt(2 pi), open, closed and on a surface."""
    rng = np.random.default_rng(3)
    sigma = ALPHA * CUTOFF / math.sqrt(2 * math.pi) / SPACING
    heights = rng.normal(size=1200)

    def blurred(z, s=sigma, mode="constant"):
        return ndimage.gaussian_filter(z, s, mode=mode, truncate=9.0)

    open_ = gaussian_profile(heights, cutoff_mm=CUTOFF, spacing_mm=SPACING, order=0).long_mm
    assert np.abs(open_ - blurred(heights) / blurred(np.ones(1200))).max() < 1e-12
    closed = gaussian_closed(heights, cutoff_upr=1200 * SPACING / CUTOFF).long_mm
    assert np.abs(closed - blurred(heights, mode="wrap")).max() < 1e-12
    assert np.abs(closed - blurred(heights, 1.01 * sigma, "wrap")).max() > 1e-3  # negative twin: 1 % wider
    surface = rng.normal(size=(150, 170))
    sigmas = (sigma / 5, sigma / 4)
    areal = gaussian_areal(surface, cutoff_mm=CUTOFF, spacing_mm=(4 * SPACING, 5 * SPACING), order=0).long_mm
    assert np.abs(areal - blurred(surface, sigmas) / blurred(np.ones((150, 170)), sigmas)).max() < 1e-12


@pytest.mark.parametrize("samples", [20, 3000])
def test_long_profiles_go_in_blocks(samples):
    """Independent computation: scipy.signal.oaconvolve, where rows are cut into blocks that overlap; two draws."""
    n = 60_000
    heights = np.random.default_rng(8).normal(size=(2, n))
    d = np.arange(-2 * samples, 2 * samples + 1)
    kernel = weighting(d, cutoff=samples)[None]
    sums = signal.oaconvolve(heights, kernel, mode="same", axes=1)
    weight = signal.oaconvolve(np.ones((1, n)), kernel, mode="same", axes=1)
    found = gaussian_profile(heights, cutoff_mm=samples, spacing_mm=1.0, order=0).long_mm
    assert np.abs(found - sums / weight).max() < 1e-12
    assert np.array_equal(found[1], gaussian_profile(heights[1], cutoff_mm=samples, spacing_mm=1.0, order=0).long_mm)
    around = np.concatenate([heights[:, -10_000:], heights, heights[:, :10_000]], axis=1)
    closed = gaussian_closed(heights, cutoff_upr=n / samples).long_mm
    sums = signal.oaconvolve(around, kernel, mode="same", axes=1)[:, 10_000:-10_000]
    assert np.abs(closed - sums).max() < 1e-12


@pytest.mark.parametrize("order", [0, 1, 2])
@pytest.mark.parametrize("even", [True, False])
def test_ends_against_a_fit_at_each_sample(order, even):
    """Independent computation: numpy.polyfit around single samples, at the ends and in the middle."""
    rng = np.random.default_rng(4)
    steps = np.full(599, SPACING) if even else rng.uniform(0.2, 1.8, 599) * SPACING
    x = np.concatenate([[0.0], np.cumsum(steps)])
    heights = rng.normal(size=600)
    cells = np.convolve(np.concatenate([steps[:1], steps, steps[-1:]]), [0.5, 0.5], "valid")
    alpha = 0.7309134280946760 if order == 2 else ALPHA  # the second from ISO 16610-31, from memory: see below
    result = gaussian_profile(heights, cutoff_mm=CUTOFF, positions_mm=x, order=order)
    for i in (0, 1, 17, 40, 300, 590, 599):
        weight = np.sqrt(weighting(x - x[i], alpha=alpha) * cells)
        assert result.long_mm[i] == pytest.approx(np.polyfit(x - x[i], heights, order, w=weight)[-1], abs=2e-11)


def test_alpha_of_order_2():
    """Analytic: the alpha at which order 2 passes half at the cut-off, by its own equation and by its transform."""
    root = optimize.brentq(lambda v: (1 + v) * math.exp(-v) - 0.5, 1.0, 3.0, xtol=1e-15)
    alpha = math.sqrt(root / math.pi)
    assert alpha == pytest.approx(0.7309134280946760, abs=1e-14)

    def weight(x):
        t = x / alpha
        return (1.5 - math.pi * t * t) * math.exp(-math.pi * t * t) / alpha

    for ratio in (0.5, 1.0, 2.0, 5.0):
        area, _ = integrate.quad(lambda x, r=ratio: 2 * weight(x) * math.cos(2 * math.pi * x / r), 0, 4, limit=200)
        assert gaussian_transmission(ratio, order=2) == pytest.approx(area, abs=1e-12)
        x = np.arange(4000) * SPACING
        wave = np.cos(2 * np.pi * x / (ratio * CUTOFF))
        long = gaussian_profile(wave, cutoff_mm=CUTOFF, spacing_mm=SPACING, order=2).long_mm
        assert np.abs(long - area * wave)[300:-300].max() < 1e-11


@pytest.mark.parametrize("even", [True, False])
def test_polynomials_pass_to_the_very_ends(even):
    """Analytic: order p leaves a polynomial of degree p as it is; one of degree p + 1 it does not (negative twin)."""
    rng = np.random.default_rng(6)
    x = np.sort(rng.uniform(0, 8, 800)) if not even else np.linspace(0, 8, 800)
    for order, line in enumerate(([3.0], [0.4, 3.0], [-0.7, 0.4, 3.0])):
        short = gaussian_profile(np.polyval(line, x), cutoff_mm=CUTOFF, positions_mm=x, order=order).short_mm
        assert np.abs(short).max() < 1e-11
        more = np.polyval([1.0, *line], x)
        assert np.abs(gaussian_profile(more, cutoff_mm=CUTOFF, positions_mm=x, order=order).short_mm).max() > 1e-3


def test_what_lies_beyond_half_a_cutoff():
    """Analytic: 0.76 % of the weighting function, the loss that half a cut-off at each end stands for."""
    beyond = math.erfc(0.5 * math.sqrt(math.pi) / ALPHA)
    assert beyond == pytest.approx(0.0076, abs=5e-5)
    result = gaussian_profile(np.zeros(500), cutoff_mm=CUTOFF, spacing_mm=SPACING)
    assert result.at_ends == (40, 40)
    assert result.affected.sum() == 80


def test_dense_uneven_samples_by_moments():
    """Independent computation: the plain double sum, where the series in blocks is used (400 samples a cut-off)."""
    rng = np.random.default_rng(7)
    angle = np.sort(rng.uniform(0, 2 * np.pi, 4000))
    heights = rng.normal(size=(2, 4000))
    cells = (np.roll(angle, -1) - np.roll(angle, 1)) / 2
    cells[0] += np.pi
    cells[-1] += np.pi
    result = gaussian_closed(heights, cutoff_upr=10, angles_rad=angle, order=0)
    for i in (0, 5, 2000, 3999):
        apart = np.abs(angle - angle[i])
        weight = weighting(np.minimum(apart, 2 * np.pi - apart), cutoff=2 * np.pi / 10) * cells
        assert np.abs(result.long_mm[:, i] - heights @ weight / weight.sum()).max() < 1e-13
