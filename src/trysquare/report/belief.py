"""The confidence distribution of a value, from the quantiles that the result lists, as a curve and as twenty grains."""

from collections.abc import Sequence

import numpy as np

from ..core.arrays import Array

_BLUR = 0.3  # of the standard spread: hides the steps between draws


def quantile(belief: Sequence[float], levels: Sequence[float], p: Array | float) -> Array:
    """Quantiles at `p`, linear between the listed ones and held at the ends."""
    return np.asarray(np.interp(p, levels, belief))


def below(belief: Sequence[float], levels: Sequence[float], x: float) -> float:
    """Confidence that the true value is below `x`; never claims more than the listed ends."""
    q = np.asarray(belief)
    if x <= q[0]:
        return float(levels[0])
    if x >= q[-1]:
        return float(levels[-1])
    j = int(np.searchsorted(q, x, side="right")) - 1
    return float(levels[j] + (x - q[j]) / (q[j + 1] - q[j]) * (levels[j + 1] - levels[j]))


def curve(
    belief: Sequence[float], levels: Sequence[float], *, floor: float | None = None, count: int = 56
) -> tuple[Array, Array]:
    """Points of the density: positions (count,) and heights (count,), the highest being 1.

    The listed quantiles cut the distribution into cells; each cell is spread as a normal curve of its own width, a
    little blurred, after all are drawn towards their mean so that the spread stays what it is (West, Approximating
    posterior distributions by mixtures, J. R. Stat. Soc. B 55 (1993) 409). With `floor` (an amount that cannot fall
    below it) what the blur spills over is folded back.
    """
    q, p = np.asarray(belief, dtype=np.float64), np.asarray(levels, dtype=np.float64)
    mass, centre, half = np.diff(p), (q[1:] + q[:-1]) / 2, np.diff(q) / 2
    low, high = np.interp((0.1587, 0.8413), p, q)
    spread = max((high - low) / 2, (q[-1] - q[0]) / 12, 1e-12 * max(1.0, float(np.abs(q).max())))
    width = np.hypot(_BLUR * spread, half / np.sqrt(3.0))
    if floor is None or q[0] - floor > spread:  # at a wall the fold keeps the shape, and there is nothing to draw in
        mean = float((mass * centre).sum() / mass.sum())
        centre = mean + np.sqrt(1.0 - _BLUR**2) * (centre - mean)
    start, stop = q[0] - 1.5 * _BLUR * spread, q[-1] + 1.5 * _BLUR * spread
    x = np.linspace(start if floor is None else max(start, floor), stop, count)
    y = _heights(x, mass, centre, width)
    if floor is not None:
        y = y + _heights(2 * floor - x, mass, centre, width)
    return x, y / y.max()


def _heights(x: Array, mass: Array, centre: Array, width: Array) -> Array:
    z = (x[:, None] - centre) / width
    return (np.exp(-z * z / 2) * (mass / width)).sum(axis=1)


def grain_values(belief: Sequence[float], levels: Sequence[float], count: int = 20) -> Array:
    """The middles of `count` equal shares of the distribution."""
    return quantile(belief, levels, (np.arange(count) + 0.5) / count)
