"""Does one reading lie farther from its repeats than all declared errors explain?"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..core.arrays import Array
from .alarm import ONE_IN

#: What the last printed figure of a reading leaves in doubt, mm: keeps errors declared as nothing from being judged.
_PRINTED_MM = 1e-4
#: What all readings share may be so many times larger than declared before it is taken for a slip.
_WIDER = 3.0
#: Directions of common errors below this part of the largest variance are rounding.
_SEEN = 1e-9
#: The noise of the others is taken as large as they leave possible with this probability of being larger.
_LARGER = 0.01


@dataclass(frozen=True, eq=False)
class Disagreement:
    """`off_mm` (n, k): each reading against the mean of its other repeats. `times` (n,): the length of that in standard
    uncertainties, less what all readings have in common; `limit`: up to where the declared errors explain it."""

    off_mm: Array
    times: Array
    limit: float


def disagreement(
    values_mm: npt.ArrayLike,
    drawn_mm: npt.ArrayLike,
    group: npt.ArrayLike,
    *,
    among: int,
    common_mm: npt.ArrayLike | None = None,
) -> Disagreement:
    """Judge repeats: values (n, k) with their draws (M, n, k), mm; `group` (n,) says which repeat each other.

    `among`: all readings that are judged in one go, these included. `common_mm` (M, n, k): the same draws with those
    sources alone that all readings share.

    Method: Mahalanobis' distance of each reading from the mean of its group, with the covariance that the draws show
    for that very difference: what the repeats share drops out. Declared errors of few degrees of freedom may be truly
    larger in this job, for all readings alike: along each of the k axes they are taken as large as the median reading
    shows (as far as their number leaves it open), but no larger than the median of any draw, so that readings that are
    all wrong do not excuse each other. Limit: chi-square, one job in 1000, Bonferroni. With `common_mm` the readings
    within the limit then tell what all have in common (least squares, with three times the declared errors as prior),
    and all are judged again by what is left.
    """
    values, drawn = np.asarray(values_mm, dtype=np.float64), np.asarray(drawn_mm, dtype=np.float64)
    index = np.unique(np.asarray(group), return_inverse=True)[1]
    counts = np.bincount(index)
    off = _from_mean(values, index)
    errors = _from_mean(drawn, index) - off
    against = off * (counts / (counts - 1.0))[index][:, None]
    times, limit = _judged(off, errors, np.zeros(()), len(counts), among)
    sound = times <= limit
    if common_mm is not None and sound.any():
        common = _from_mean(np.asarray(common_mm, dtype=np.float64), index) - off
        rest, open_ = _less_common(off, errors - common, common, sound * (1.0 - 1.0 / counts[index]))
        times, limit = _judged(rest, errors - common, open_, len(counts), among)
    return Disagreement(against, times, limit)


def _judged(off: Array, errors: Array, open_: Array, groups: int, among: int) -> tuple[Array, float]:
    """Lengths (n,) of `off` (n, k) in standard uncertainties, and the limit; `open_` (n, k, k) adds to the covariance
    of the errors (M, n, k)."""
    from scipy.special import chdtri

    root = _root(errors, open_)
    squares = np.einsum("nij,nj->ni", root, off) ** 2
    squares_drawn = np.einsum("nij,mnj->mni", root, errors) ** 2
    middle, unknown = float(chdtri(1, 0.5)), groups / float(chdtri(groups, 1.0 - _LARGER))
    shown = np.median(squares, axis=0) / middle * unknown
    most = np.median(squares_drawn, axis=1).max(0) / middle
    size = np.minimum(np.maximum(shown, 1.0), np.maximum(most, 1.0))
    limit = float(chdtri(off.shape[1], 1.0 / (ONE_IN * among)))
    return np.sqrt((squares / size).sum(-1)), float(np.sqrt(limit))


def _root(errors: Array, open_: Array) -> Array:
    """Roots (n, k, k) of the inverse covariance of each reading's error (M, n, k), with what is `open_` besides."""
    covariance = np.einsum("mni,mnj->nij", errors, errors) / len(errors)
    covariance += _PRINTED_MM**2 * np.eye(errors.shape[-1]) + open_
    return np.asarray(np.linalg.inv(np.linalg.cholesky(covariance)))


def _less_common(off: Array, own: Array, common: Array, weight: Array) -> tuple[Array, Array]:
    """`off` (n, k) less what all readings have in common, and what remains open of that at each, (n, k, k).

    `weight` (n,) of each reading in the estimate: none where it is wrong; m repeats are m - 1 differences.
    """
    flat = common.reshape(len(common), -1) / np.sqrt(len(common))
    squares, turn = np.linalg.eigh(flat @ flat.T)
    modes = _WIDER * (turn[:, squares > _SEEN * squares.max()].T @ flat).T.reshape(*off.shape, -1)
    root = _root(own, np.zeros(()))
    seen = np.einsum("nij,njr->nir", root, modes)
    N = np.einsum("n,nir,nis->rs", weight, seen, seen) + np.eye(modes.shape[-1])
    pulled = np.einsum("n,nir,ni->r", weight, seen, np.einsum("nij,nj->ni", root, off))
    rest = off - modes @ np.linalg.solve(N, pulled)
    return rest, np.asarray(modes @ np.linalg.solve(N, np.swapaxes(modes, -1, -2)))


def _from_mean(values: Array, index: npt.NDArray[np.intp]) -> Array:
    """Values (..., n, k) less the mean of their group."""
    order = np.argsort(index, kind="stable")
    counts = np.bincount(index)
    starts = np.concatenate([[0], np.cumsum(counts)[:-1]])
    means = np.add.reduceat(values[..., order, :], starts, axis=-2) / counts[:, None]
    return np.asarray(values - means[..., index, :])
