"""Filters of ISO 16610 on a million samples, against the filters of SciPy.

Each rival gets its best form: scipy.signal.oaconvolve with the weighting function for profiles, scipy.ndimage for the
surface, solveh_banded for the spline. At the ends of an open profile the rival is divided by the
weight that is left (order 0), where ours fits a line (order 1). The robust filter and uneven samples have no rival in a
general-purpose library; the uneven one stands against the plain sum, whose time is taken on some samples and scaled.

`error` is the largest difference from sums in extended precision at 60 samples (away from the ends, where the two
differ by definition), for the spline from the wave that its own transmission gives; heights have a standard deviation
of 1.
"""

import math
import statistics
import time
from collections.abc import Callable
from typing import Any

import numpy as np
from scipy import linalg, ndimage, signal

from trysquare.core.arrays import Array
from trysquare.core.threads import thread_count
from trysquare.geometry import (
    gaussian_areal,
    gaussian_closed,
    gaussian_profile,
    robust_gaussian_profile,
    spline_profile,
    spline_transmission,
)

ALPHA = math.sqrt(math.log(2.0) / math.pi)
Work = Callable[[], Array]


def run(quick: bool = False) -> dict[str, Any]:
    """A million samples, 1 600 a cut-off (quick: a tenth of both)."""
    n, samples = (100_000, 160) if quick else (1_000_000, 1_600)
    turns = 3 if quick else 5
    heights = np.random.default_rng(1).normal(size=n)
    rows = [
        _open(heights, samples, turns),
        _closed(heights, turns),
        _areal(np.random.default_rng(3).normal(size=(1000, 1000)), turns),
        _spline(n, samples, turns),
        _uneven(heights, turns),
        _robust(heights, samples),
    ]
    return {"rows": rows, "threads": thread_count()}


def _row(
    work: str, ours: Work, against: str, rival: Work, error: Callable[[Array], float], turns: int
) -> dict[str, Any]:
    answers = ours(), rival()
    times: tuple[list[float], list[float]] = ([], [])
    for _ in range(turns):
        for one, taken in zip((ours, rival), times):
            begin = time.perf_counter()
            one()
            taken.append(time.perf_counter() - begin)
    mine, other = (statistics.median(taken) for taken in times)
    return {
        "work": work, "against": against, "seconds": round(mine, 4), "seconds_against": round(other, 4),
        "ratio": round(other / mine, 2), "error": error(answers[0]), "error_against": error(answers[1]),
    }  # fmt: skip


def _judge(heights: Array, samples: float, closed: bool) -> Callable[[Array], float]:
    """Largest difference from the Gaussian sum in extended precision."""
    n, reach = len(heights), math.ceil(2 * samples)
    d = np.arange(-reach, reach + 1).astype(np.longdouble)
    weight = np.exp(-np.longdouble(np.pi) * (d / (ALPHA * samples)) ** 2)
    weight /= weight.sum()
    at = np.linspace(0 if closed else reach, n - 1 if closed else n - 1 - reach, 60).astype(int)
    sums = [float((heights[np.arange(i - reach, i + reach + 1) % n] * weight).sum()) for i in at]
    return lambda answer: float(np.abs(answer[at] - sums).max())


def _open(heights: Array, samples: int, turns: int) -> dict[str, Any]:
    n, reach = len(heights), math.ceil(1.6 * samples)
    weight = np.exp(-np.pi * (np.arange(-reach, reach + 1) / (ALPHA * samples)) ** 2)

    def rival() -> Array:
        both = signal.oaconvolve(np.stack([heights, np.ones(n)]), weight[None], mode="same", axes=1)
        return both[0] / both[1]

    return _row(
        f"Gaussian, open, {n} samples, {samples} a cut-off",
        lambda: gaussian_profile(heights, cutoff_mm=float(samples), spacing_mm=1.0).long_mm,
        "scipy.signal.oaconvolve, also of ones", rival, _judge(heights, samples, False), turns,
    )  # fmt: skip


def _closed(heights: Array, turns: int) -> dict[str, Any]:
    n = len(heights)
    samples = n // 500
    reach = math.ceil(1.6 * samples)
    weight = np.exp(-np.pi * (np.arange(-reach, reach + 1) / (ALPHA * samples)) ** 2)
    weight /= weight.sum()

    def rival() -> Array:
        around = np.concatenate([heights[-reach:], heights, heights[:reach]])
        return signal.oaconvolve(around, weight, mode="valid")

    return _row(
        f"Gaussian, closed, {n} samples, 500 UPR", lambda: gaussian_closed(heights, cutoff_upr=500).long_mm,
        "scipy.signal.oaconvolve of the row, wrapped", rival, _judge(heights, samples, True), turns,
    )  # fmt: skip


def _areal(surface: Array, turns: int) -> dict[str, Any]:
    samples = 80.0
    sigma = ALPHA * samples / math.sqrt(2 * math.pi)
    weight = np.exp(-np.pi * (np.arange(-160, 161).astype(np.longdouble) / (ALPHA * samples)) ** 2)
    weight /= weight.sum()
    true = float(weight @ surface[340:661, 340:661] @ weight)

    def rival() -> Array:
        return ndimage.gaussian_filter(surface, sigma, mode="constant", truncate=8.3) / ndimage.gaussian_filter(
            np.ones_like(surface), sigma, mode="constant", truncate=8.3
        )

    return _row(
        "Gaussian, surface 1000 x 1000, 80 samples a cut-off",
        lambda: gaussian_areal(surface, cutoff_mm=samples, spacing_mm=1.0).long_mm,
        "scipy.ndimage.gaussian_filter, also of ones", rival,
        lambda answer: abs(float(answer[500, 500]) - true), turns,
    )  # fmt: skip


def _spline(n: int, samples: int, turns: int) -> dict[str, Any]:
    wave = np.cos(2 * np.pi * np.arange(n) / (2.0 * samples))
    share = float(spline_transmission(2.0, samples=samples))
    a4 = (1.0 / (2.0 * math.sin(math.pi / samples))) ** 4
    bands = np.zeros((3, n))
    bands[0], bands[1], bands[2] = a4, -4.0 * a4, 1.0 + 6.0 * a4
    bands[1, [1, -1]] = -2.0 * a4
    bands[2, [0, -1]], bands[2, [1, -2]] = 1.0 + a4, 1.0 + 5.0 * a4
    inner = slice(10 * samples, -10 * samples)
    return _row(
        f"spline, open, {n} samples, {samples} a cut-off",
        lambda: spline_profile(wave, cutoff_mm=float(samples), spacing_mm=1.0).long_mm,
        "scipy.linalg.solveh_banded of the equations", lambda: linalg.solveh_banded(bands, wave),
        lambda answer: float(np.abs(answer - share * wave)[inner].max()), turns,
    )  # fmt: skip


def _uneven(heights: Array, turns: int) -> dict[str, Any]:
    n, some = len(heights) // 10, 200
    at = 2 * np.pi / n * (np.arange(n) + np.random.default_rng(2).uniform(-0.3, 0.3, n))
    at -= at[0]
    cells = 0.5 * (np.roll(at, -1) - np.roll(at, 1))
    cells[[0, -1]] += np.pi
    z = heights[:n]
    picked = np.linspace(0, n - 1, some).astype(int)
    sums, taken = np.empty(some), []
    for k, i in enumerate(picked):
        begin = time.perf_counter()
        apart = np.abs(at - at[i])
        weight = cells * np.exp(-np.pi * (np.minimum(apart, 2 * np.pi - apart) * 15 / (2 * np.pi * ALPHA)) ** 2)
        sums[k] = (weight * z).sum() / weight.sum()
        taken.append(time.perf_counter() - begin)
    plain = statistics.median(taken) * n
    times = []
    for _ in range(turns):
        begin = time.perf_counter()
        answer = gaussian_closed(z, cutoff_upr=15, angles_rad=at, order=0).long_mm
        times.append(time.perf_counter() - begin)
    mine = statistics.median(times)
    return {
        "work": f"Gaussian, closed, {n} uneven samples, 15 UPR", "against": "the plain sum at each sample, numpy",
        "seconds": round(mine, 4), "seconds_against": round(plain, 2), "ratio": round(plain / mine, 1),
        "error": float(np.abs(answer[picked] - sums).max()), "error_against": None,
    }  # fmt: skip


def _robust(heights: Array, samples: int) -> dict[str, Any]:
    begin = time.perf_counter()
    result = robust_gaussian_profile(heights, cutoff_mm=float(samples), spacing_mm=1.0)
    taken = time.perf_counter() - begin
    return {
        "work": f"robust of order 2, open, {len(heights)} samples, {int(result.iterations)} iterations",
        "against": None, "seconds": round(taken, 4), "seconds_against": None, "ratio": None,
        "error": None, "error_against": None,
    }  # fmt: skip
