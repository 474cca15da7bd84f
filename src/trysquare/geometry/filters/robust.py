"""Robust Gaussian regression of profiles (ISO 16610-31): scratches and dirt are set aside instead of spread."""

from collections.abc import Callable

import numpy as np
import numpy.typing as npt

from ...core.arrays import Array
from .gaussian import checked_order, end_notes, lost_notes, method_text, reach
from .places import Places, checked_heights, closed_places, open_places
from .regression import regression
from .result import Mask, RobustFiltered

_SCALE = 4.4478  # of the median of the absolute residuals: 3 standard deviations where they are normal
_SETTLED = 1e-6  # relative change of the scale at which the iteration ends
_MOST = 300
_AT_ONCE = 1 << 21  # heights at a time, to bound the memory
_FLOOR = 1e-9  # of the range of the heights: least scale, so that a profile without noise ends too
STOPS = ("scale settled", "iteration limit")
Fit = Callable[[Array, Array | None], tuple[Array, Mask]]
Text = npt.NDArray[np.str_]
Reweighted = tuple[Array, Array, npt.NDArray[np.int64], Text, Mask]


def robust_gaussian_profile(
    heights_mm: npt.ArrayLike,
    *,
    cutoff_mm: float,
    spacing_mm: float | None = None,
    positions_mm: npt.ArrayLike | None = None,
    order: int = 2,
) -> RobustFiltered:
    """Parts of an open profile, with what stands out set aside.

    Parameters
    ----------
    As `gaussian_profile`; order 2 follows a form such as an arc, order 0 does not.

    Returns
    -------
    RobustFiltered : weights (..., n) tell how far each sample counted. Where no sample within reach counts, the value
        is NaN.

    Raises
    ------
    InputError : as `gaussian_profile`.

    Notes
    -----
    Method: ISO 16610-31, from memory: a local polynomial fitted with the weights (1 - (r / c)^2)^2 of J. W. Tukey,
    c = 4.4478 median |r| over the profile, begun with all weights 1 and repeated until c settles (here to 1e-6).
    Checked: tests/reference/test_against_iso_16610_robust.py.
    """
    where = "robust_gaussian_profile"
    Z = checked_heights(heights_mm, where)
    places = open_places(Z.shape[-1], cutoff_mm, spacing_mm, positions_mm, where)
    return robust(Z, places, checked_order(order, where))


def robust_gaussian_closed(
    heights_mm: npt.ArrayLike,
    *,
    cutoff_upr: float | None = None,
    cutoff_mm: float | None = None,
    radius_mm: float | None = None,
    angles_rad: npt.ArrayLike | None = None,
    order: int = 2,
) -> RobustFiltered:
    """The same round a closed profile; parameters as `gaussian_closed`."""
    where = "robust_gaussian_closed"
    Z = checked_heights(heights_mm, where)
    places = closed_places(Z.shape[-1], cutoff_upr, cutoff_mm, radius_mm, angles_rad, where)
    return robust(Z, places, checked_order(order, where))


def robust(Z: Array, places: Places, order: int) -> RobustFiltered:
    """Filter checked heights at checked places."""
    long, weights, iterations, stopped, lost = reweighted(
        Z.reshape(-1, Z.shape[-1]), lambda part, W: regression(part, places, order, W)
    )
    lead = Z.shape[:-1]
    near = places.affected(reach(places, order))
    long = long.reshape(Z.shape)
    return RobustFiltered(
        long_mm=long, short_mm=Z - long, affected=near | lost.any(0), weights=weights.reshape(Z.shape),
        method=method_text(places, order, head=f"Robust Gaussian regression of order {order} (ISO 16610-31)"),
        notes=(*places.notes, *end_notes(near, bool(places.turn)), *robust_notes(weights, stopped, lost)),
        iterations=iterations.reshape(lead)[()], stopped=stopped.reshape(lead)[()],
    )  # fmt: skip


def reweighted(Z: Array, fit: Fit, counts: Mask | None = None) -> Reweighted:
    """Values, weights, iterations, why stopped and where nothing counts, of members (m, n) fitted again and again.

    Where too little weight is left, the value before stands until its neighbours have grown back; at the end it is NaN.
    `counts` (n,) leaves samples out of the scale.
    """
    size = max(1, _AT_ONCE // Z.shape[1])
    counts = np.ones(Z.shape[1], dtype=bool) if counts is None else counts
    parts = [_reweighted(Z[a : a + size], fit, counts) for a in range(0, len(Z), size)]
    value, weights, iterations, stopped, lost = (np.concatenate(part) for part in zip(*parts))
    return value, weights, iterations, stopped, lost


def _reweighted(Z: Array, fit: Fit, counts: Mask) -> Reweighted:
    m = len(Z)
    value, carried = fit(Z, None)
    value = np.where(carried, value, Z)
    lost = np.broadcast_to(~carried, Z.shape).copy()
    weights, iterations = np.ones(Z.shape), np.zeros(m, np.int64)
    scale, open_ = np.full(m, np.inf), np.arange(m)
    least = _FLOOR * np.ptp(Z[:, counts], axis=-1)
    for _ in range(_MOST):
        residual = np.abs(Z[open_] - value[open_])
        now = np.maximum(_SCALE * np.median(residual[:, counts], axis=-1), least[open_])
        inside = np.minimum(residual / np.where(now > 0, now, 1.0)[:, None], 1.0)
        weights[open_] = np.square(1.0 - np.square(inside))
        before = lost[open_]
        new, carried = fit(Z[open_], weights[open_])
        value[open_], lost[open_] = np.where(carried, new, value[open_]), ~carried
        iterations[open_] += 1
        moved = ~(np.abs(now - scale[open_]) <= _SETTLED * now) | (before != ~carried).any(-1)
        scale[open_] = now
        open_ = open_[moved]
        if not len(open_):
            break
    late = np.isin(np.arange(m), open_).astype(np.int64)
    value[lost] = np.nan
    return value, weights, iterations, np.array(STOPS)[late], lost


def robust_notes(weights: Array, stopped: Text, lost: Mask) -> tuple[str, ...]:
    """What was set aside, of the value (the first member), and members that did not settle."""
    aside = int((weights[0] == 0).sum())
    notes = [f"Set aside: {aside} of {weights.shape[-1]} samples."] if aside else []
    late = int((stopped == STOPS[1]).sum())
    if late:
        notes.append(f"Not settled within {_MOST} iterations: {late} of {len(stopped)}.")
    return (*notes, *lost_notes(lost[0]))
