"""Local levels and planes on a grid under the areal Gaussian weighting function, where samples count unequally."""

from collections.abc import Iterator

import numpy as np

from ...core.arrays import Array
from .engine import convolved
from .result import Mask

_LEAST = 1e-6  # of the full weight: less carries no value
_FLAT = 1e-9  # of the product of the even moments: less does not carry a plane
Steps = tuple[float, float]


def planes(Z: Array, W: Array, order: int, steps: Steps) -> tuple[Array, Mask, Array]:
    """Values (m, ny, nx) of the local polynomial through Z (m, ny, nx) with weights W (1 or m, ny, nx), where it is
    determined, and the share of the weighting function that counts.

    order 0 is the weighted mean, 1 a plane; steps are the spacings along x and y over the width.
    """
    level = Z.mean((1, 2), keepdims=True)
    M, b = dict(_moments(W, 2 * order, steps)), dict(_moments((Z - level) * W, order, steps))
    full = M[0, 0]
    if order == 0:
        carried, determinant, top = full > _LEAST, full, b[0, 0]
    else:
        c0 = M[2, 0] * M[0, 2] - M[1, 1] ** 2
        c1 = M[1, 1] * M[0, 1] - M[1, 0] * M[0, 2]
        c2 = M[1, 0] * M[1, 1] - M[2, 0] * M[0, 1]
        determinant = full * c0 + M[1, 0] * c1 + M[0, 1] * c2
        carried = (full > _LEAST) & (determinant > _FLAT * full * M[2, 0] * M[0, 2])
        top = c0 * b[0, 0] + c1 * b[1, 0] + c2 * b[0, 1]
    value = np.where(carried, top / np.where(carried, determinant, 1.0) + level, np.nan)
    return value, carried, full


def _moments(F: Array, degree: int, steps: Steps) -> Iterator[tuple[tuple[int, int], Array]]:
    """Sums of F (m, ny, nx) with powers (p, q) of the distances along x and y, p + q up to `degree`."""
    m, ny, nx = F.shape
    for p, rows in enumerate(convolved(np.ascontiguousarray(F).reshape(-1, nx), steps[0], degree + 1)):
        turned = np.ascontiguousarray(np.swapaxes(rows.reshape(m, ny, nx), 1, 2)).reshape(-1, ny)
        for q, columns in enumerate(convolved(turned, steps[1], degree + 1 - p)):
            yield (p, q), np.swapaxes(columns.reshape(m, nx, ny), 1, 2)
