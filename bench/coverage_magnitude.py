"""Do stated 95 % intervals of a position error hold the truth? Ellipses 1:1 and 3:1, truth from 0 to 10 u.

The error of the position vector is normal, its root mean standard deviation over the two axes is 1; the true vector has
the length of the row and a direction of its own in every virtual measurement. Draws come in `SETS` independent sets;
measurement i takes set i modulo SETS, moved to its own reading (the errors do not depend on the reading).

Beside the two-sided coverage: how often a part is accepted (confidence below the limit of 95 % or more) or rejected
(5 % or less) whose truth lies exactly on the limit, where neither may exceed 5 %, and how often a part with no error at
all is accepted against that limit (what the caution costs). The two ends of an axis: the larger of two independent
magnitudes, equal and unequal. Negative control: percentiles of the length of the perturbed vector.
"""

from typing import Any

import numpy as np
from scipy.stats import binom

from trysquare.chance.magnitude import largest, magnitude
from trysquare.chance.statement import Statement
from trysquare.core.arrays import Array

DRAWS, SETS, TRUTH_SEED = 1000, 50, 2027
LENGTHS = (0.0, 0.3, 1.0, 2.0, 4.0, 10.0)
ELLIPSES = (1.0, 3.0)
BAND = (93.5, 96.5)


def axes_of(ellipse: float) -> Array:
    """Standard deviations (2,) of root mean square 1."""
    return np.array([ellipse, 1.0]) / np.sqrt((ellipse**2 + 1.0) / 2.0)


def error_sets(ellipse: float, sets: int, draws: int = DRAWS) -> Array:
    """Draws of the errors (sets, draws, 2)."""
    return np.random.default_rng([TRUTH_SEED, 1]).normal(size=(sets, draws, 2)) * axes_of(ellipse)


def true_vectors(length: float, count: int, rng: np.random.Generator) -> Array:
    turn = rng.uniform(0.0, 2.0 * np.pi, count)
    return length * np.stack([np.cos(turn), np.sin(turn)], axis=-1)


def tolerance(measurements: int) -> str:
    """99 % binomial band around 95 %, in per cent: what a method of exactly 95 % gives."""
    low, high = binom.interval(0.99, measurements, 0.95)
    return f"{100 * low / measurements:.1f} to {100 * high / measurements:.1f}"


def percent(hits: int, count: int) -> float:
    return round(100.0 * hits / count, 2)


def row(ellipse: float, length: float, measurements: int, errors: Array, *, perfect: int = 400) -> dict[str, Any]:
    rng = np.random.default_rng([TRUTH_SEED, int(10 * ellipse), int(10 * length)])
    readings = true_vectors(length, measurements, rng) + rng.normal(size=(measurements, 2)) * axes_of(ellipse)
    held = control = accepted = rejected = 0
    widths = []
    for i, d in enumerate(readings):
        e = errors[i % len(errors)]
        said = magnitude(d, d + e)
        low, high = _ends(said)
        held += low <= length <= high
        widths.append(high - low)
        accepted += said.below(length) >= 0.95
        rejected += said.below(length) <= 0.05
        low, high = np.quantile(np.hypot(*(d + e).T), [0.025, 0.975], method="weibull")
        control += low <= length <= high
    return {
        "characteristic": "position", "ellipse": f"{ellipse:g}:1", "truth_over_u": length,
        "measurements": measurements, "coverage_percent": percent(held, measurements),
        "binomial_band_percent": tolerance(measurements),
        "wrongly_accepted_at_limit_percent": percent(accepted, measurements) if length > 0 else None,
        "wrongly_rejected_at_limit_percent": percent(rejected, measurements) if length > 0 else None,
        "perfect_part_accepted_percent": _perfect(ellipse, length, errors, perfect) if length > 0 else None,
        "mean_width_over_u": round(float(np.mean(widths)), 3),
        "percentiles_coverage_percent (negative control)": percent(control, measurements),
    }  # fmt: skip


def _perfect(ellipse: float, limit: float, errors: Array, count: int) -> float:
    """How often a perfect part passes the limit."""
    d = np.random.default_rng([TRUTH_SEED, 7]).normal(size=(count, 2)) * axes_of(ellipse)
    passed = sum(magnitude(x, x + errors[i % len(errors)]).below(limit) >= 0.95 for i, x in enumerate(d))
    return percent(passed, count)


def axis_row(lengths: tuple[float, float], measurements: int, errors: Array) -> dict[str, Any]:
    """The larger of two magnitudes with independent errors."""
    rng = np.random.default_rng([TRUTH_SEED, 3, int(10 * lengths[1])])
    ends = [true_vectors(x, measurements, rng) + rng.normal(size=(measurements, 2)) for x in lengths]
    held = control = accepted = rejected = 0
    truth = max(lengths)
    for i in range(measurements):
        pair = [(d[i], d[i] + errors[(2 * i + k) % len(errors)]) for k, d in enumerate(ends)]
        said = largest([magnitude(d, y) for d, y in pair])
        low, high = _ends(said)
        held += low <= truth <= high
        accepted += said.below(truth) >= 0.95
        rejected += said.below(truth) <= 0.05
        longest = np.maximum(*(np.hypot(*y.T) for _, y in pair))
        low, high = np.quantile(longest, [0.025, 0.975], method="weibull")
        control += low <= truth <= high
    return {
        "characteristic": f"larger of two ends, {lengths[0]:g} and {lengths[1]:g}", "ellipse": "1:1",
        "truth_over_u": truth, "measurements": measurements, "coverage_percent": percent(held, measurements),
        "binomial_band_percent": tolerance(measurements),
        "wrongly_accepted_at_limit_percent": percent(accepted, measurements),
        "wrongly_rejected_at_limit_percent": percent(rejected, measurements),
        "percentiles_coverage_percent (negative control)": percent(control, measurements),
    }  # fmt: skip


def _ends(said: Statement) -> tuple[float, float]:
    if said.interval is None:
        raise ValueError("a magnitude is always stated")
    return said.interval


def run(quick: bool = False) -> dict[str, Any]:
    """Rows with coverage in per cent; `quick` makes 300 virtual measurements a row and 4 sets of draws."""
    measurements, sets = (300, 4) if quick else (2500, SETS)
    rows = []
    for ellipse in ELLIPSES:
        errors = error_sets(ellipse, sets)
        rows += [row(ellipse, length, measurements, errors) for length in LENGTHS]
    errors = error_sets(1.0, sets)
    rows += [axis_row(pair, measurements // 2, errors) for pair in ((1.0, 1.0), (4.0, 4.0), (1.0, 4.0))]
    return {
        "what": "share of stated 95 % intervals of a magnitude that hold the true value",
        "expected": f"position {BAND[0]} to {BAND[1]}; percentiles 0 at truth 0; at the limit at most 5 + 1 either way",
        "draws_a_measurement": DRAWS,
        "sets_of_draws": sets,
        "rows": rows,
    }
