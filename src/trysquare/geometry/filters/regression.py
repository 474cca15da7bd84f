"""Local polynomials under the Gaussian weighting function: the value at each sample of the one fitted around it."""

import numpy as np

from ...core.arrays import Array
from .engine import convolved, in_reach, smoothed, sums
from .places import Places
from .result import ALPHA, Mask

_LEAST = 1e-6  # of the full weight: less carries no value
_FLAT = 1e-9  # of the product of the even moments: less does not carry the polynomial


def regression(Z: Array, places: Places, order: int, weights: Array | None = None) -> tuple[Array, Mask]:
    """Values (m, n) of the local polynomial of `order` through Z (m, n), and where it is determined.

    Minimises sum_j G(x_j - x_i) cell_j weight_j (z_j - polynomial)^2 at every x_i. Without weights one (1, n) mask.
    """
    width = ALPHA[order] * places.cutoff
    level = Z.mean(-1, keepdims=True)
    closed = bool(places.turn) and not places.gaps.any()
    if weights is None and places.spacing and not places.roll:
        step = places.spacing / width
        if closed or Z.shape[-1] >= 4 * in_reach(step):
            return _even(Z - level, step, order, closed) + level, np.ones((1, Z.shape[-1]), dtype=bool)
    W = np.ones((1, Z.shape[-1])) if weights is None else weights
    F = Z - level if weights is None else (Z - level) * weights
    value, carried = _value(*sums(W, F, places, width, order))
    return value + level, carried


def _even(Z: Array, step: float, order: int, closed: bool) -> Array:
    """One convolution for all samples, then the ends anew, each from the samples within its reach."""
    value = smoothed(Z, step, order, closed=closed)
    if closed:
        return value
    k = in_reach(step)
    moments = convolved(np.ones((1, 2 * k)), step, 2 * order + 1)
    for near, own in ((slice(0, 2 * k), slice(0, k)), (slice(-2 * k, None), slice(-k, None))):
        ends, _ = _value(moments, convolved(Z[:, near], step, order + 1))
        value[:, own] = ends[:, own]
    return value


def _value(M: list[Array], b: list[Array]) -> tuple[Array, Mask]:
    """Constant term of the polynomial from its normal equations."""
    enough = M[0] > _LEAST
    if len(b) == 1:
        determinant, top = M[0], b[0]
        carried = enough
    elif len(b) == 2:
        determinant = M[0] * M[2] - M[1] * M[1]
        top = M[2] * b[0] - M[1] * b[1]
        carried = enough & (determinant > _FLAT * M[0] * M[2])
    else:
        c0, c1, c2 = M[2] * M[4] - M[3] * M[3], M[2] * M[3] - M[1] * M[4], M[1] * M[3] - M[2] * M[2]
        determinant = M[0] * c0 + M[1] * c1 + M[2] * c2
        top = c0 * b[0] + c1 * b[1] + c2 * b[2]
        carried = enough & (determinant > _FLAT * M[0] * M[2] * M[4])
    return np.where(carried, top / np.where(carried, determinant, 1.0), np.nan), carried
