"""Batches of round shapes through the compiled descent: the start, the threads, and what the data leave open."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ...core.arrays import Array
from ...core.threads import over_slices
from ..kernels.descend import fit_slice
from ..kernels.shapes import SIZE, TUBE
from .results import LIMIT, NO_DECREASE, OPEN, STOPS

_SLICE_POINTS = 64_000  # in one slice of a batch, about
THRESHOLD = 1e-6  # least sine between one column of the Jacobian and the others
_FLAT = 1e6  # radius over extent above which the points show no curvature
_THIN = 1e-9  # radius over extent below which they lie on the axis itself


@dataclass(frozen=True)
class Descent:
    """Outcome for m members: states (m, 13), residuals (m, 1 or 2, n), normal equations (m, k, k)."""

    kind: int
    states: Array
    residuals: Array
    normal: Array
    code: npt.NDArray[np.int64]
    passes: npt.NDArray[np.int64]
    ratio: Array
    extent: Array
    rival: Array

    @property
    def stopped(self) -> npt.NDArray[np.str_]:
        """Reasons (m)."""
        return np.array(STOPS)[self.code]

    @property
    def rank(self) -> npt.NDArray[np.int64]:
        """Parameters (m) that the data fix."""
        k = self.normal.shape[-1]
        rank = np.full(len(self.code), k)
        for m in np.flatnonzero(self.code > NO_DECREASE):
            N = np.nan_to_num(self.normal[m])
            scale = np.sqrt(np.maximum(np.diag(N), 1e-300))
            rank[m] = min(k - 1, int((np.linalg.eigvalsh(N / np.outer(scale, scale)) > THRESHOLD**2).sum()))
        return rank


def descend_batch(kind: int, P: Array, toward: Array | None) -> Descent:
    """Fit members P (m, n, 3): the first from its own start, the others from where it ended.

    A member that does not converge from there, or whose residuals are out of keeping with the first, gets its own.
    """
    m, n = P.shape[:2]
    k = kind + 3
    states, residuals = np.empty((m, SIZE)), np.empty((m, k // 6 + 1, n))
    normal, info = np.empty((m, k, k)), np.empty((m, 5))
    start, usual = np.full(SIZE, np.nan), 0.0
    hints = np.full((1, 3), np.nan) if toward is None else toward

    def slices(a: int, b: int) -> None:
        hint = hints if len(hints) == 1 else hints[a:b]
        fit_slice(kind, P[a:b], start, usual, hint, states[a:b], residuals[a:b], normal[a:b], info[a:b])

    slices(0, 1)
    if m > 1:
        if info[0, 0] <= NO_DECREASE:
            start, usual = states[0].copy(), float(np.square(residuals[0]).sum() / n)
        over_slices(slices, m, size=max(16, _SLICE_POINTS // n))
    code, ratio, extent = info[:, 0].astype(np.int64), np.sqrt(info[:, 2]), info[:, 3]
    if kind == TUBE:
        along = np.sqrt((normal[:, 2, 2] + normal[:, 3, 3]) / n) / np.where(extent > 0, extent, 1.0)
        ratio = np.minimum(ratio, along)
    ratio = np.where(extent > 1e-14 * np.abs(P[:, 0]).max(1), ratio, 0.0)
    ratio = np.where((states[:, 12] < _FLAT * extent) & (states[:, 12] > _THIN * extent), ratio, 0.0)
    code = np.where((code != LIMIT) & ~(ratio > THRESHOLD), OPEN, code)
    return Descent(kind, states, residuals, normal, code, info[:, 1].astype(np.int64), ratio, extent, info[:, 4])
