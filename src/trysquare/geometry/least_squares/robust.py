"""Robust losses: least squares with weights that depend on the residuals, until both agree."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol, TypeVar

import numpy as np
import numpy.typing as npt

from ...core.arrays import Array
from ...core.errors import InputError

LOSSES = ("squares", "huber", "tukey")
_HUBER, _TUKEY = 1.345, 4.685  # 95 % efficient at the normal distribution
_MEDIAN = {1: 0.6744897501960817, 2: math.sqrt(2 * math.log(2))}  # of |x| by coordinates, unit normal each
_HALVES = 12  # rounds that look for the half of the points that fits best
_ROUNDS = 300
_ESTIMATES = 100  # rounds after which the scale stays, should it still swing
_STILL, _SHARE = 1e-13, 1e-9  # of the extent, of the scale: a change of the residuals below both is none
_ROUNDING = 4e-15  # of the extent
_FLOOR = 1e-12  # of the extent: a scale below it is rounding
_TINY = 1e-300  # mm, for points that coincide


class Solved(Protocol):
    """A weighted fit of m members that can give its distances (m, n), never negative, and its extents (m)."""

    @property
    def magnitudes(self) -> Array: ...
    @property
    def extent(self) -> Array: ...


T = TypeVar("T", bound=Solved)


@dataclass(frozen=True)
class Reweighted:
    """`weights` (m, n) of the loss, 0 where a point is `set_aside`; `scale` (m) the standard deviation of the good
    points; `point_u` (m) the standard uncertainty of a point that the covariance rests on; `settled` (m).
    """

    weights: Array
    scale: Array
    point_u: Array
    set_aside: npt.NDArray[np.bool_]
    rounds: int
    settled: npt.NDArray[np.bool_]


def check_loss(loss: str, where: str) -> None:
    """Raise `InputError` for a loss that there is not."""
    if loss not in LOSSES:
        raise InputError(where, "loss", f"be one of {', '.join(LOSSES)}", f'"{loss}"', "Choose one of them.")


def reweighted(
    loss: str, solve: Callable[[Array, T | None], T], W: Array, parameters: int, *, coordinates: int = 1
) -> tuple[T, Reweighted]:
    """Minimise the sum of W rho(residual / scale), the scale from the residuals themselves.

    `solve(weights (m, n), from)` is the weighted least-squares fit; W (m, n) multiply the loss.

    Begins with the half of the points that fits best (concentration steps from the least-squares fit: P. J. Rousseeuw,
    K. Van Driessen, Data Mining and Knowledge Discovery 12 (2006) 29), then reweights (P. W. Holland, R. E. Welsch,
    Communications in Statistics A6 (1977) 813, for the constants 1.345 and 4.685). The scale is the median distance of
    the points less the `parameters` nearest ones, over that of a normal distribution; estimated anew each round of the
    first hundred, then kept.
    """
    done = solve(W, None)
    half = _concentrated(solve, W, done, parameters)
    done = solve(W, half) if half is not None and loss == "huber" else (half or done)
    r, rounds = done.magnitudes, 0
    moving = np.ones((len(W), 1), np.bool_)  # members still on their way; the others keep their weights
    s, weight = np.ones((len(W), 1)), np.ones_like(r)
    while moving.any() and rounds < _ROUNDS:
        rounds += 1
        if rounds <= _ESTIMATES:
            s = np.where(moving, _scale(r, W, parameters, coordinates, done.extent), s)
        weight = np.where(moving, _weight(loss, r / s), weight)
        done = solve(W * weight, done)
        before, r = r, done.magnitudes
        change = np.where(W > 0, np.abs(r - before), 0.0).max(-1, keepdims=True)
        size = done.extent[:, None]
        moving &= change > np.maximum(_ROUNDING * size, np.minimum(_STILL * size, _SHARE * s))
    u = r / s
    return done, Reweighted(
        _weight(loss, u), s[:, 0], _point_u(loss, u, s[:, 0], W, parameters, coordinates),
        (_weight(loss, u) == 0) & (W > 0), rounds, ~moving[:, 0],
    )  # fmt: skip


def _concentrated(solve: Callable[[Array, T | None], T], W: Array, done: T, parameters: int) -> T | None:
    """The fit to the half of the points that it fits best; None where the half does not carry the shape."""
    used = (W > 0).sum(-1)
    keep = np.maximum((used + parameters + 1) // 2, parameters + 1)[:, None]
    before = None
    for _ in range(_HALVES):
        r = np.where(W > 0, done.magnitudes, np.inf)
        kept = np.argsort(np.argsort(r, -1, kind="stable"), -1) < keep
        if before is not None and (kept == before).all():
            break
        done, before = solve(np.where(kept, W, 0.0), done), kept
        if not np.isfinite(done.magnitudes).all():
            return None
    return done


def _scale(r: Array, W: Array, parameters: int, coordinates: int, extent: Array) -> Array:
    """Standard deviation (m, 1) of a coordinate: from the median distance, less those that a fit may make nought."""
    used = (W > 0).sum(-1)
    spared = np.minimum(parameters // coordinates, used - 1)
    ordered = np.sort(np.where(W > 0, r, np.inf), -1)
    low, high = spared + (used - spared - 1) // 2, spared + (used - spared) // 2
    middle = [np.take_along_axis(ordered, i[:, None], -1) for i in (low, high)]
    return np.maximum(0.5 * (middle[0] + middle[1]) / _MEDIAN[coordinates], _FLOOR * extent[:, None] + _TINY)


def _weight(loss: str, u: Array) -> Array:
    """psi(u) / u."""
    if loss == "huber":
        return np.minimum(1.0, _HUBER / np.maximum(u, _HUBER))
    t = np.square(u / _TUKEY)
    return np.where(t < 1, np.square(1 - t), 0.0)


def _slope(loss: str, u: Array) -> Array:
    """psi'(u)."""
    if loss == "huber":
        return np.where(u < _HUBER, 1.0, 0.0)
    t = np.square(u / _TUKEY)
    return np.where(t < 1, (1 - t) * (1 - 5 * t), 0.0)


def _point_u(loss: str, u: Array, s: Array, W: Array, parameters: int, coordinates: int) -> Array:
    """Root of sum W psi^2 / freedom over the mean of psi' (P. J. Huber, Robust Statistics, 1981, 7.6), times his factor
    for few points: 1 + parameters / points times the variance of psi' over the square of its mean.
    """
    count = coordinates * (W > 0).sum(-1)
    freedom = np.maximum(count - parameters, 1)
    weight = _weight(loss, u)
    slope = _slope(loss, u) if coordinates == 1 else 0.5 * (_slope(loss, u) + weight)
    mean = (W * slope).sum(-1) / W.sum(-1)
    variance = (W * np.square(slope - mean[:, None])).sum(-1) / W.sum(-1)
    mean = np.where(mean > 0, mean, np.nan)
    few = 1 + parameters / count * variance / np.square(mean)
    squares = (W * np.square(weight * u)).sum(-1) / freedom
    return np.asarray(s * few * np.sqrt(squares) / mean)
