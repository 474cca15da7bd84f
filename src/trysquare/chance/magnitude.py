"""Distances from perfect: position, coaxiality, an angle near zero. Never below zero, and noise only adds to them.

The percentiles of |d + error| miss a truth near zero altogether. Here the vector is compared with every magnitude x
that might be true: r(x), the signed distance of the vector from the sphere of radius x in the metric of its errors
(positive outside), against the same figure for readings that the draws of the errors make of the nearest point of
that sphere. The interval holds every x whose r(x)^2 lies within what `coverage` of such readings give: an interval by
the profiled likelihood ratio, calibrated by simulation (compare Feldman and Cousins, Phys. Rev. D 57 (1998) 3873).
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..core.arrays import Array, finite
from ..core.errors import InputError
from .statement import P_GRID, Statement, ends, shared

_STEPS = np.array([*np.arange(0.25, 3.01, 0.25), 3.5, 4.0, 5.0, 6.5, 8.0])
#: A direction whose variance is below this share of the largest carries no doubt.
_NO_DOUBT = 1e-10
_FEWEST = 20


@dataclass(frozen=True)
class _Profile:
    """Candidate magnitudes (g,) rising, the reading's signed root at each, and roots (g, M) of simulated readings."""

    exact: float
    radii: Array
    root: Array
    sampled: Array

    def outward(self, radii: Array) -> Array:
        return np.hypot(self.exact, radii)


def magnitude(vector: npt.ArrayLike, draws: npt.ArrayLike, *, scale: float = 1.0, coverage: float = 0.95) -> Statement:
    """Statement on scale * |d| for the vector d (k,), k = 1, 2 or 3, from draws (M, k) of d + error, M >= 20.

    `scale` is 2 for the diameter of a position zone. `u` is the standard deviation of the component of the error
    along d (at d = 0 the root mean of its variances), times `scale`. The interval is never empty and always holds the
    reading. In `quantiles` the confidence below x is the chance that a truth of x would have given a greater reading
    (signed root), capped by what the two-sided interval allows: a limit smaller than the doubt is never called met
    because a reading happened to fall near zero. A direction without doubt counts in full, as it stands.

    Raises
    ------
    InputError : wrong shapes, a value that is not finite, too few draws.
    """
    d, errors = _checked(vector, draws)
    size, share = float(np.linalg.norm(d)), errors.T @ errors / len(errors)
    along = d / size if size > 0.0 else None
    variance = along @ share @ along if along is not None else np.trace(share) / len(d)
    method = "profiled likelihood ratio on the vector, calibrated from the draws"
    found = _profile(d, errors)
    if found is None:
        interval, quantiles = (scale * size, scale * size), np.full(len(P_GRID), scale * size)
    else:
        lower, upper = scale * found.outward(_limits(found, coverage))
        # the reading lies inside by construction; rounding must not push it out
        interval = (min(float(lower), scale * size), max(float(upper), scale * size))
        quantiles = scale * found.outward(_solve(found, _capped(found), np.asarray(P_GRID)))
    return Statement(
        kind="magnitude", value=scale * size, u=float(scale * np.sqrt(variance)), interval=interval,
        quantiles=quantiles, coverage=coverage, method=method,
    )  # fmt: skip


def confidence_of_magnitude(vector: npt.ArrayLike, draws: npt.ArrayLike, u: npt.ArrayLike) -> Array:
    """Values (m,) of the true |d| at confidence u (m,): where a reading beyond the one made had probability u.

    One-sided inversion F(reading; x) = 1 - u, in the signed root and along the nearest direction; for use as draws of
    the magnitude inside a longer formula (bonus tolerance). A lump at zero is part of it. Unlike the quantiles of
    `magnitude` it is not capped by the two-sided interval. Input as for `magnitude`.
    """
    d, errors = _checked(vector, draws)
    at = np.asarray(u, dtype=np.float64)
    found = _profile(d, errors)
    if found is None:
        return np.full(at.shape, float(np.linalg.norm(d)))
    return found.outward(_solve(found, _one_sided(found), at))


def largest(statements: Sequence[Statement]) -> Statement:
    """Statement on the largest of several magnitudes of one feature, such as the two ends of an axis.

    Confidence below x is the least of the members' (an intersection-union test: the wrong acceptance of the whole is
    no more than that of its worst member); in the lower tail each member answers for its share of the doubt
    (Bonferroni), and the share grows evenly to the whole at one half.

    Raises
    ------
    InputError : no statement, or one that states nothing.
    """
    quantiles = [s.quantiles for s in statements if s.quantiles is not None]
    if not statements or len(quantiles) < len(statements):
        raise InputError(
            "the largest of several", "every one", "be stated", f"{len(quantiles)} of {len(statements)}", "Judge each."
        )
    if len(statements) == 1:
        return statements[0]
    p = np.asarray(P_GRID)
    whole = np.maximum.accumulate(np.max([np.interp(shared(p, len(statements)), p, q) for q in quantiles], axis=0))
    top = max(statements, key=lambda s: s.value or 0.0)
    lower = max(s.quantile(ends(s.coverage)[0] / len(statements)) for s in statements)
    upper = max(s.interval[1] for s in statements if s.interval is not None)
    notes = tuple(dict.fromkeys(note for s in statements for note in s.notes))
    method = f"{top.method}; the largest of {len(statements)}"
    return Statement(top.kind, top.value, top.u, (lower, upper), whole, top.coverage, method, notes)


def _checked(vector: npt.ArrayLike, draws: npt.ArrayLike) -> tuple[Array, Array]:
    """The vector and its errors (M, k)."""
    d, y = np.asarray(vector, dtype=np.float64), np.asarray(draws, dtype=np.float64)
    if d.ndim != 1 or d.size not in (1, 2, 3) or y.ndim != 2 or y.shape[1] != d.size or len(y) < _FEWEST:
        raise InputError(
            "a magnitude", "vector and draws", f"have shapes (k,) and (M, k), k = 1 to 3, M >= {_FEWEST}",
            f"{d.shape} and {y.shape}", "Give the vector before it is folded, and its draws.",
        )  # fmt: skip
    finite(d, where="vector of a magnitude")
    return d, finite(y, where="draws of a magnitude") - d


def _profile(d: Array, errors: Array) -> _Profile | None:
    """Roots over candidate magnitudes; None when nothing is in doubt."""
    from .kernels import profile, signed_roots

    values, axes = np.linalg.eigh(errors.T @ errors / len(errors))
    values, axes = values[::-1], axes[:, ::-1]
    if values[0] <= (1e-14 * np.abs(d).max()) ** 2:
        return None
    keep = values > _NO_DOUBT * values[0]
    variances = np.ascontiguousarray(values[keep])
    exact = float(np.linalg.norm(d @ axes[:, ~keep]))
    inner = np.ascontiguousarray(d @ axes[:, keep])
    e = np.ascontiguousarray(errors @ axes[:, keep])
    at_zero = np.empty(1)
    signed_roots(inner[None], variances, 0.0, at_zero)
    outside = np.append(_STEPS[at_zero[0] > _STEPS], at_zero[0])
    roots = np.concatenate([outside[::-1], [0.0], -_STEPS]) if at_zero[0] > 0 else np.concatenate([[0.0], -_STEPS])
    radii, sampled = np.empty(len(roots)), np.empty((len(roots), len(e)))
    profile(inner, variances, e, roots, radii, sampled)
    return _Profile(exact, radii, roots, sampled)


def _limits(found: _Profile, coverage: float) -> Array:
    """Smallest and largest magnitude (2,) whose root is within what `coverage` of the simulated readings give."""
    ends(coverage)
    beyond = np.abs(found.root) - np.quantile(np.abs(found.sampled), coverage, axis=1, method="weibull")
    inside = np.flatnonzero(beyond <= 0.0)
    return np.array([_edge(found.radii, beyond, int(inside[i]), step) for i, step in ((0, -1), (-1, 1))])


def _edge(x: Array, beyond: Array, inner: int, step: int) -> float:
    """Where `beyond` turns positive past index `inner`, linear between neighbours."""
    outer = inner + step
    if not 0 <= outer < len(x):
        return float(x[inner])
    share = -beyond[inner] / (beyond[outer] - beyond[inner])
    return float(x[inner] + share * (x[outer] - x[inner]))


def _one_sided(found: _Profile) -> Array:
    """Confidence (g,) that the truth lies below each radius."""
    count = (found.sampled >= found.root[:, None]).sum(axis=1)
    return np.maximum.accumulate((count + 0.5) / (found.sampled.shape[1] + 1))


def _capped(found: _Profile) -> Array:
    """The same, never more than the two-sided interval at that confidence allows."""
    count = (np.abs(found.sampled) >= np.abs(found.root)[:, None]).sum(axis=1)
    two_sided = (count + 0.5) / (found.sampled.shape[1] + 1)
    cap = np.where(found.root >= 0.0, 0.5, 1.0 - np.minimum(two_sided, 1.0) / 2.0)
    return np.minimum(_one_sided(found), np.maximum.accumulate(cap))


def _solve(found: _Profile, confidence: Array, p: Array) -> Array:
    """Radii at which the confidence is p: linear in the normal score; the lump at radius 0 takes all p below it."""
    from scipy.special import ndtri

    return np.interp(ndtri(p), ndtri(np.clip(confidence, 1e-9, 1 - 1e-9)), found.radii)
