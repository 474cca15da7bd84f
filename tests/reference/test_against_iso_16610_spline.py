"""Spline filter against the equations of ISO 16610-22, quoted from memory and solved here by other means.

(I + b a^2 P + (1 - b) a^4 Q) w = z, a = 1 / (2 sin(pi dx / lc)); P and Q are D'D of first and second differences. That
half the amplitude passes at the cut-off follows: P has the eigenvalue 4 sin^2(pi dx / l) on a wave of length l, Q its
square. Independent computations: dense numpy.linalg.solve; elimination with 40 digits (decimal).
"""

import math
from decimal import Decimal, localcontext

import numpy as np
import pytest
from scipy import optimize

from trysquare.geometry import (
    GAUSSIAN_LIKE,
    gaussian_transmission,
    spline_closed,
    spline_profile,
    spline_transmission,
)

RATIOS = (0.25, 0.4, 0.5, 0.7, 0.9, 1.0, 1.1, 1.5, 2.0, 3.0, 5.0, 8.0, 10.0)


def differences(n, order, closed=False):
    rows = np.eye(n)
    for _ in range(order):
        rows = np.roll(rows, -1, axis=0) - rows if closed else np.diff(rows, axis=0)
    return rows


def equations(n, samples, tension, closed=False):
    a = 1 / (2 * math.sin(math.pi / samples))
    P, Q = (D.T @ D for D in (differences(n, 1, closed), differences(n, 2, closed)))
    return np.eye(n) + tension * a**2 * P + (1 - tension) * a**4 * Q


def test_rows_of_the_standard():
    """Published (from memory): the first rows of P and Q for an open profile."""
    P, Q = (D.T @ D for D in (differences(8, 1), differences(8, 2)))
    assert P[0, :3].tolist() == [1, -1, 0]
    assert P[1, :4].tolist() == [-1, 2, -1, 0]
    assert Q[0, :4].tolist() == [1, -2, 1, 0]
    assert Q[1, :5].tolist() == [-2, 5, -4, 1, 0]
    assert Q[2, :6].tolist() == [1, -4, 6, -4, 1, 0]


@pytest.mark.parametrize("tension", [0.0, 0.3, GAUSSIAN_LIKE, 1.0])
def test_against_the_dense_equations(tension):
    heights = np.random.default_rng(1).normal(size=(3, 300))
    found = spline_profile(heights, cutoff_mm=1.0, spacing_mm=0.05, tension=tension).long_mm
    expected = np.linalg.solve(equations(300, 20, tension), heights.T).T
    assert np.abs(found - expected).max() < 1e-11
    wrong = np.linalg.solve(equations(300, 20.2, tension), heights.T).T  # negative twin: a cut-off 1 % longer
    assert np.abs(found - wrong).max() > 1e-4
    round_ = spline_closed(heights, cutoff_upr=15, tension=tension).long_mm
    assert np.abs(round_ - np.linalg.solve(equations(300, 20, tension, True), heights.T).T).max() < 1e-11


@pytest.mark.parametrize("tension", [0.0, GAUSSIAN_LIKE, 1.0])
@pytest.mark.parametrize("ratio", RATIOS)
def test_amplitude(tension, ratio):
    """Analytic: the eigenvalues above, open (away from the ends) and closed; the phase stays."""
    samples = 40
    q = math.sin(math.pi / (samples * ratio)) / math.sin(math.pi / samples)
    share = 1 / (1 + tension * q**2 + (1 - tension) * q**4)
    assert spline_transmission(ratio, samples=samples, tension=tension) == pytest.approx(share, rel=1e-13)
    x = np.arange(4000) / samples
    wave = np.cos(2 * np.pi * x / ratio - 0.3)
    long = spline_profile(wave, cutoff_mm=1.0, spacing_mm=1 / samples, tension=tension).long_mm
    assert np.abs(long - share * wave)[600:-600].max() < 1e-10
    k = round(100 / ratio)
    angle = np.arange(4000) * 2 * np.pi / 4000
    q = math.sin(math.pi * k / 4000) / math.sin(math.pi * 100 / 4000)
    share = 1 / (1 + tension * q**2 + (1 - tension) * q**4)
    wave = np.cos(k * angle - 0.3)
    assert np.abs(spline_closed(wave, cutoff_upr=100, tension=tension).long_mm - share * wave).max() < 1e-12


def test_half_at_the_cutoff_whatever_the_tension():
    for tension in np.linspace(0, 1, 6):
        assert spline_transmission(1.0, samples=25, tension=tension) == pytest.approx(0.5, abs=1e-15)


def test_the_tension_that_comes_near_the_gaussian():
    """Published: 0.62524 (ISO/TS 16610-22:2006 as quoted by Ott et al. 2015). Independent computation: it is the one
    with the least square between the two curves over the wavelength. They stay within 5 % of each other."""
    q = np.linspace(1e-6, 60, 200_001)  # cut-off / wavelength
    gaussian = np.exp(-math.log(2) * q * q)

    def square(tension):
        return float((((1 / (1 + tension * q**2 + (1 - tension) * q**4) - gaussian) / q) ** 2).sum())

    best = optimize.minimize_scalar(square, bounds=(0, 1), method="bounded", options={"xatol": 1e-9}).x
    assert best == pytest.approx(GAUSSIAN_LIKE, abs=5e-6)
    ratio = np.geomspace(0.1, 20, 2000)
    apart = np.abs(spline_transmission(ratio, samples=1000, tension=GAUSSIAN_LIKE) - gaussian_transmission(ratio))
    assert apart.max() < 0.05
    assert np.abs(spline_transmission(ratio, samples=1000) - gaussian_transmission(ratio)).max() > 0.1


def test_long_cutoffs_keep_their_digits():
    """Independent computation, 40 digits: 2 000 samples a cut-off, where the equations have a condition of 1e12."""
    n, samples = 3000, 2000
    heights = np.random.default_rng(2).normal(size=n)
    found = spline_profile(heights, cutoff_mm=2.0, spacing_mm=0.001).long_mm
    assert np.abs(found - by_elimination(heights, samples)).max() < 1e-9
    plain = np.linalg.cond(equations(400, samples, 0.0))
    assert plain > 1e11


PI = Decimal("3.14159265358979323846264338327950288419716939937510582")


def by_elimination(heights, samples):
    """Five-diagonal L D L' with 40 digits, tension 0."""
    n = len(heights)
    with localcontext() as context:
        context.prec = 40
        u = PI / samples
        sine = sum((-1) ** k * u ** (2 * k + 1) / math.factorial(2 * k + 1) for k in range(12))
        a4 = (1 / (2 * sine)) ** 4
        main = [1 + a4 * (1 if i in (0, n - 1) else 5 if i in (1, n - 2) else 6) for i in range(n)]
        one = [a4 * (-2 if i in (0, n - 2) else -4) for i in range(n - 1)]
        d, l1, l2 = [Decimal(0)] * n, [Decimal(0)] * n, [Decimal(0)] * n
        y = [Decimal(float(z)) for z in heights]
        for i in range(n):
            d[i] = main[i]
            if i > 1:
                l2[i] = a4 / d[i - 2]
                d[i] -= l2[i] ** 2 * d[i - 2]
                y[i] -= l2[i] * y[i - 2]
            if i > 0:
                l1[i] = (one[i - 1] - (l2[i] * d[i - 2] * l1[i - 1] if i > 1 else 0)) / d[i - 1]
                d[i] -= l1[i] ** 2 * d[i - 1]
                y[i] -= l1[i] * y[i - 1]
        w = [y[i] / d[i] for i in range(n)]
        for i in range(n - 2, -1, -1):
            w[i] -= l1[i + 1] * w[i + 1] + (l2[i + 2] * w[i + 2] if i + 2 < n else 0)
        return np.array([float(v) for v in w])


def test_straight_lines_pass_to_the_ends():
    """Analytic: second differences of a line are 0. With a tension they are not all that counts (negative twin)."""
    x = np.arange(800) * 0.01
    line = 3 - 0.4 * x
    assert np.abs(spline_profile(line, cutoff_mm=0.8, spacing_mm=0.01).short_mm).max() < 1e-11
    bent = spline_profile(line, cutoff_mm=0.8, spacing_mm=0.01, tension=GAUSSIAN_LIKE)
    assert np.abs(bent.short_mm).max() > 1e-2
    assert np.abs(bent.short_mm[200:-200]).max() < 1e-3 * np.abs(bent.short_mm).max()
