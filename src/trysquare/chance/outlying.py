"""Does one reading lie farther from its repeats than all declared errors explain?"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..core.arrays import Array

#: A healthy job names one of its readings in one of so many jobs (Bonferroni over all its readings).
ONE_IN = 1000
#: Beyond this many limits a reading is wrong, not unlucky.
GROSS = 1.5
#: What the last printed figure of a reading leaves in doubt, mm: keeps errors declared as nothing from being judged.
_PRINTED_MM = 1e-4
#: The noise of the others is taken as large as they leave possible with this probability of being larger.
_LARGER = 0.01


@dataclass(frozen=True, eq=False)
class Disagreement:
    """`off_mm` (n, k): each reading against the mean of its other repeats. `times` (n,): the length of that in standard
    uncertainties; `limit`: up to where the declared errors explain it."""

    off_mm: Array
    times: Array
    limit: float


def disagreement(
    values_mm: npt.ArrayLike, drawn_mm: npt.ArrayLike, group: npt.ArrayLike, *, among: int
) -> Disagreement:
    """Judge repeats: values (n, k) with their draws (M, n, k), mm; `group` (n,) says which repeat each other.

    `among`: all readings that are judged in one go, these included.

    Method: Mahalanobis' distance of each reading from the mean of its group, with the covariance that the draws show
    for that very difference, so that errors shared by the repeats drop out and those that differ stay. Declared errors
    of few degrees of freedom may be truly larger in this job, for all readings alike: the limit grows with what the
    median reading shows (as far as their number leaves it open), but no farther than the median of any draw did, so
    that readings that are all wrong do not excuse each other. Limit: chi-square, one job in 1000, Bonferroni.
    """
    from scipy.special import chdtri

    values, drawn = np.asarray(values_mm, dtype=np.float64), np.asarray(drawn_mm, dtype=np.float64)
    index = np.unique(np.asarray(group), return_inverse=True)[1]
    k, counts = values.shape[1], np.bincount(index)
    off = _from_mean(values, index)
    errors = _from_mean(drawn, index) - off
    covariance = np.einsum("mni,mnj->nij", errors, errors) / len(errors) + _PRINTED_MM**2 * np.eye(k)
    root = np.linalg.inv(np.linalg.cholesky(covariance))
    squares = (np.einsum("nij,nj->ni", root, off) ** 2).sum(-1)
    squares_drawn = (np.einsum("nij,mnj->mni", root, errors) ** 2).sum(-1)
    middle = float(chdtri(k, 0.5))
    open_ = k * len(counts) / float(chdtri(k * len(counts), 1.0 - _LARGER))
    shown = float(np.median(squares)) / middle * open_
    most = max(1.0, float(np.median(squares_drawn, axis=1).max()) / middle)
    limit = float(chdtri(k, 1.0 / (ONE_IN * among))) * min(max(shown, 1.0), most)
    against = off * (counts / (counts - 1.0))[index][:, None]
    return Disagreement(against, np.sqrt(squares), float(np.sqrt(limit)))


def _from_mean(values: Array, index: npt.NDArray[np.intp]) -> Array:
    """Values (..., n, k) less the mean of their group."""
    order = np.argsort(index, kind="stable")
    counts = np.bincount(index)
    starts = np.concatenate([[0], np.cumsum(counts)[:-1]])
    means = np.add.reduceat(values[..., order, :], starts, axis=-2) / counts[:, None]
    return np.asarray(values - means[..., index, :])
