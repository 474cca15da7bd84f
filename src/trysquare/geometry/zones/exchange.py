"""Least largest of linear functions, batched: the small linear programmes behind tangent planes and spheres."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ...core.arrays import Array
from ...core.threads import over_slices

_SLICE = 64


@dataclass(frozen=True)
class LeastLargest:
    """`x` (m, p), `levels` (m,) and the rows (m, p + 1) that hold it with their `weights`, which add up to 1.

    `open` (m,): a side of the box holds it, so that the rows alone do not.
    """

    x: Array
    levels: Array
    rows: npt.NDArray[np.int64]
    weights: Array
    open: npt.NDArray[np.bool_]


def least_largest(A: Array, b: Array, *, both: bool = False, box: float = 64.0) -> LeastLargest:
    """min over x of max (b + A' x), or with `both` of max |b + A' x|, for A (m, p, n) of size about 1 and b (m, n).

    `box` bounds |x|, in units of the largest |b|.

    Notes
    -----
    Method: as `zone_width`, exchange as the simplex method on the dual (`kernels.least_max`).
    """
    from ..kernels.least_max_batch import least_max_batch

    m, p, _ = A.shape
    A, b = np.ascontiguousarray(A, np.float64), np.ascontiguousarray(b, np.float64)
    x, levels, weights = np.zeros((m, p)), np.empty(m), np.zeros((m, p + 1))
    rows, half = np.full((m, p + 1), -1, np.int64), np.full(p, box)
    over_slices(
        lambda i, j: least_max_batch(A[i:j], b[i:j], both, half, x[i:j], levels[i:j], rows[i:j], weights[i:j]),
        m, size=_SLICE,
    )  # fmt: skip
    held_by_box = np.asarray(((rows < 0) & (weights > 1e-12)).any(-1))
    return LeastLargest(x, levels, rows, weights, held_by_box)
