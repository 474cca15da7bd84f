"""Characteristics made by the worst of a surface: flatness, straightness, roundness and the like."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from ..core.arrays import Array
from .statement import P_GRID, Statement, ends, ranked

#: Where upper over lower limit is above this, the points do not determine the characteristic.
UNDETERMINED = 3.0
_NOTICEABLE = 0.5  # of the interval's width: how far the second method may stick out unmentioned
_COARSE, _FINE, _RANGE = 17, 9, 2.2
_SHAPES = 400  # drawn shapes that the inversion uses
#: Measures readings (B, n) at the points: the characteristic (B,) of each.
Measure = Callable[[Array], Array]


@dataclass(frozen=True)
class Posterior:
    """Surfaces that agree with the readings, as far as a statement needs them.

    `values` (B,) are the characteristic of each surface, `at_points` (B, n) its heights there, `errors` (B, n) draws of
    the errors of the points, `reading` what the points alone give.
    """

    values: Array
    at_points: Array
    errors: Array
    reading: float


def extreme(
    found: Posterior, measure: Measure, *, dense: bool = False, coverage: float = 0.95, notes: tuple[str, ...] = ()
) -> Statement:
    """Statement from surfaces, checked by inversion; `value` is the median, the raw reading is among the notes.

    Sparse points: percentiles of the surfaces. Dense points: the hull of both methods. Either way the lower limit is 0
    where noise alone explains the reading. Both methods are described in docs/methods/statements.md.
    """
    low, high = (float(x) for x in ranked(found.values, ends(coverage)))
    lower, upper = inversion(found, measure, ends(coverage), reach=1.5 * high)
    said = notes
    if lower > 0.0 and max(low - lower, upper - high) > _NOTICEABLE * (high - low):
        top = f"{upper:.4g} mm" if np.isfinite(upper) else "no upper limit"
        said = (*notes, f"a second method (inversion) gives {lower:.4g} mm to {top}")
    if dense:
        low, high = min(low, lower), max(high, upper) if np.isfinite(upper) else high
    return stated(
        found.values, (low, high), found.reading, resolved=lower > 0.0, coverage=coverage, notes=said,
        method="surfaces drawn to agree with the readings" + (", hull with inversion" if dense else ""),
    )  # fmt: skip


def stated(
    values: Array,
    limits: tuple[float, float],
    reading: float,
    *,
    resolved: bool,
    method: str,
    coverage: float = 0.95,
    notes: tuple[str, ...] = (),
) -> Statement:
    """Statement from the characteristic (B,) of drawn surfaces and its limits; from 0 up where form is not resolved."""
    low, high = limits if resolved else (0.0, limits[1])
    said = [*notes, f"the points alone read {reading:.4g} mm, noise included"]
    if not resolved:
        said.append(f"form not resolved from the instrument's error; at most {high:.4g} mm")
    elif high > UNDETERMINED * low:
        said.append("not determined by these points; take the upper limit only")
    return Statement(
        kind="extreme", value=float(np.median(values)), u=float(values.std(ddof=1)), interval=(low, high),
        quantiles=_stretched(ranked(values, P_GRID), low, high, coverage), coverage=coverage, method=method,
        notes=tuple(said),
    )  # fmt: skip


def inversion(found: Posterior, measure: Measure, p: tuple[float, float], *, reach: float) -> tuple[float, float]:
    """Limits t for which surfaces of the drawn shapes, grown or shrunk to t, read no more than `reading` with
    probability p[1] (the lower limit) and p[0] (the upper): 0 where there is no such t below, inf where none above."""
    values, errors = found.values[:_SHAPES], found.errors[:_SHAPES]
    shapes = found.at_points[:_SHAPES] / np.where(values > 0, values, 1.0)[:, None]

    def reads_less(t: Array) -> Array:
        share = [np.mean(measure(x * shapes + errors) <= found.reading) for x in t]
        return np.minimum.accumulate(np.asarray(share))

    noise = float(np.quantile(measure(errors), 0.5))
    grid = np.linspace(0.0, max(_RANGE * found.reading, found.reading + 2.0 * noise, reach), _COARSE)
    share = reads_less(grid)
    return _crossing(grid, share, p[1], reads_less), _crossing(grid, share, p[0], reads_less)


def _crossing(grid: Array, share: Array, p: float, reads_less: Callable[[Array], Array]) -> float:
    """Where the falling share passes p: coarse cell, then fine, then linear."""
    if share[0] < p:
        return 0.0
    if share[-1] >= p:
        return float(np.inf)
    j = int(np.flatnonzero(share >= p)[-1])
    fine = np.linspace(grid[j], grid[j + 1], _FINE)
    inner = np.concatenate([[share[j]], np.clip(reads_less(fine[1:-1]), share[j + 1], share[j]), [share[j + 1]]])
    k = int(np.flatnonzero(inner >= p)[-1])
    return float(fine[k] + (fine[k + 1] - fine[k]) * (inner[k] - p) / max(inner[k] - inner[k + 1], 1e-9))


def _stretched(quantiles: Array, low: float, high: float, coverage: float) -> Array:
    """Quantiles stretched about the median, each side by its own factor, so that they meet the interval's ends."""
    below, above = np.interp(ends(coverage), P_GRID, quantiles)
    middle = float(np.interp(0.5, P_GRID, quantiles))
    down = (middle - low) / (middle - below) if middle > below else 1.0
    up = (high - middle) / (above - middle) if above > middle else 1.0
    d = quantiles - middle
    return np.asarray(np.maximum(middle + d * np.where(d < 0, down, up), 0.0))
