"""Does one point of a feature lie farther off than the declared errors and the feature's own form explain?"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..core.arrays import Array
from .alarm import ONE_IN
from .form import complement, error_covariance

#: What the typical form of the other features is worth for one of them, in degrees of freedom: features of one part
#: differ several times in form, which two degrees allow for.
_WORTH = 2.0
#: Steps of the search for the size of the form, from a thousandth of the largest contrast to twice it.
_STEPS = 60


@dataclass(frozen=True, eq=False)
class Residuals:
    """Residuals (n,) of one feature against error draws (M, n) along the normals, mm; `columns` (n, p) its fit's."""

    residuals_mm: Array
    errors_mm: Array
    columns: Array


@dataclass(frozen=True, eq=False)
class Lone:
    """`off_mm` (n,): each point against where its neighbours put it; `times` (n,) in standard uncertainties of that
    (errors and form); `limit`: up to where these explain it."""

    off_mm: Array
    times: Array
    limit: float


@dataclass(frozen=True, eq=False)
class _Contrasts:
    """What a fit leaves: z (q,) with declared variances v (q,), and the share of each point in each, a (n, q)."""

    z: Array
    v: Array
    a: Array


def lone_points(features: Sequence[Residuals]) -> list[Lone | None]:
    """Judge every point of every feature of a job; None for a feature whose fit leaves less than two freedoms.

    Method: the mean-shift test of a single point (deletion residual) with the covariance of the declared errors and an
    independent form of unknown size in each point. That size is the likeliest one without the point in question, with a
    prior: the median of the features of the job, worth two degrees of freedom, so that the 8 points of a bore may be
    judged at all. Limit: Student's t, one job in 1000 (Bonferroni over all points).
    """
    from scipy.special import stdtrit

    contrasts = [_contrasts(f) for f in features]
    tested = [c for c in contrasts if len(c.z) >= 2]
    among = sum(len(c.a) for c in tested)
    typical = float(np.median([_rest(c) for c in tested])) if tested else 0.0
    out: list[Lone | None] = []
    for c in contrasts:
        if len(c.z) < 2:
            out.append(None)
            continue
        off, times = _judged(c, typical)
        out.append(Lone(off, times, float(stdtrit(_WORTH + len(c.z) - 1, 1.0 - 0.5 / (ONE_IN * among)))))
    return out


def _contrasts(feature: Residuals) -> _Contrasts:
    basis = complement(feature.columns)
    if basis.shape[1] < 2:
        return _Contrasts(np.zeros(0), np.zeros(0), np.zeros((len(basis), 0)))
    v, axes = np.linalg.eigh(error_covariance(feature.errors_mm @ basis))
    a = basis @ axes
    return _Contrasts(a.T @ feature.residuals_mm, np.maximum(v, 1e-12), a)


def _rest(c: _Contrasts) -> float:
    """Mean square of the contrasts without the point that explains most of them."""
    own = (c.a**2).sum(1)
    explained = np.where(own > 1e-9, (c.a @ c.z) ** 2 / np.where(own > 1e-9, own, 1.0), 0.0)
    return max(float((c.z**2).sum() - explained.max()), 0.0) / (len(c.z) - 1)


def _judged(c: _Contrasts, typical: float) -> tuple[Array, Array]:
    """Offsets and their lengths in standard uncertainties, (n,) each, at each point's own likeliest size of form."""
    top = max(2.0 * float((c.z**2).max()), typical, 1e-12)
    t = np.geomspace(1e-6 * top, top, _STEPS)
    w = 1.0 / (c.v[:, None] + t)
    held, pulled = c.a**2 @ w, (c.a * c.z) @ w
    held = np.maximum(held, 1e-9 * w.max(0))
    cost = np.log(held) - pulled**2 / held + (c.z**2) @ w - np.log(w).sum(0)
    best = np.argmin(cost + _WORTH * (np.log(t) + typical / t), axis=1)
    rows = np.arange(len(c.a))
    held, pulled = held[rows, best], pulled[rows, best]
    return pulled / held, np.abs(pulled) / np.sqrt(held)
