"""Batches of surfaces of revolution through the compiled descent: weighted, with parts held, cones and tori."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ...core.arrays import Array
from ...core.threads import over_slices
from ..kernels.turn_fit import settle_slice
from ..kernels.turn_rows import HOOP, TORUS
from .held import RADIUS, Held
from .results import LIMIT, NO_DECREASE, OPEN

_SLICE = 64
_SHARED = 25  # passes from a start that members share
THRESHOLD = 1e-6  # least sine between one column of the Jacobian and the others
_FLAT = 1e-6  # extent over radius of curvature below which the points show none
NONE = np.full((1, 15), np.nan)


@dataclass(frozen=True)
class Settled:
    """Outcome for m members: states (m, 15) about the centroids middles (m, 3), residuals (m, 1 or 2, n), cofactors
    spread (m, 7, 7) of the parameters of a state.
    """

    kind: int
    states: Array
    middles: Array
    residuals: Array
    spread: Array
    code: npt.NDArray[np.int64]
    passes: npt.NDArray[np.int64]
    sine: Array
    extent: Array
    rival: Array
    free: npt.NDArray[np.int64]
    rank: npt.NDArray[np.int64]

    @property
    def placed(self) -> Array:
        """States (m, 15) in the frame of the points."""
        out = self.states.copy()
        out[:, :3] += self.middles
        return out


def settle_batch(
    kind: int, P: Array, W: Array, held: Held, toward: Array | None, *,
    starts: Array | None = None, passes: int = _SHARED,
) -> Settled:  # fmt: skip
    """Fit members P (m, n, 3), weights W (m or 1, n): from `starts`, or the first from its own and the others from it.

    A member that does not converge from there, or whose residuals are out of keeping, gets its own. `passes` 0 only
    looks what the data tell at the starts.
    """
    m, n = P.shape[:2]
    states, middles, residuals = np.empty((m, 15)), np.empty((m, 3)), np.empty((m, 2 if kind == HOOP else 1, n))
    spread, info = np.empty((m, 7, 7)), np.empty((m, 7))
    hints = np.full((1, 3), np.nan) if toward is None else toward
    begin, usual = NONE if starts is None else starts, np.inf if starts is not None else 0.0

    def part(array: Array, a: int, b: int) -> Array:
        return array if len(array) == 1 else array[a:b]

    def slices(a: int, b: int) -> None:
        settle_slice(
            kind, held.bits, part(held.fixed, a, b), P[a:b], part(W, a, b), part(begin, a, b), usual, passes,
            part(hints, a, b), states[a:b], middles[a:b], residuals[a:b], spread[a:b], info[a:b],
        )  # fmt: skip

    if starts is None:
        slices(0, 1)
        if info[0, 0] <= NO_DECREASE:
            begin = states[:1].copy()
            begin[0, :3] += middles[0]
            usual = float((W[0] * np.square(residuals[0])).sum() / W[0].sum())
    if starts is not None or m > 1:
        over_slices(slices, m, size=_SLICE)
    code = info[:, 0].astype(np.int64)
    extent, free, rank = info[:, 3], info[:, 5].astype(np.int64), info[:, 6].astype(np.int64)
    apart = (extent > 1e-14 * np.abs(P[:, 0]).max(1)) & np.isfinite(states).all(1)
    rank = np.where(apart, np.minimum(rank, free - _straight(kind, held, states, extent)), 0)
    code = np.where((code != LIMIT) & (rank < free), OPEN, code)
    return Settled(
        kind, states, middles, residuals, spread, code, info[:, 1].astype(np.int64), np.where(apart, info[:, 2], 0.0),
        extent, info[:, 4], free, rank,
    )  # fmt: skip


def _straight(kind: int, held: Held, states: Array, extent: Array) -> npt.NDArray[np.int64]:
    """1 for members (m) that show no curvature, so that a line, plane or cylinder does as well; else 0."""
    if held.bits & RADIUS:
        return np.zeros(len(states), np.int64)
    bends = np.abs(states[:, 12])
    if kind == TORUS:
        bends = np.minimum(np.hypot(states[:, 12], states[:, 13]), np.abs(states[:, 14]))
    return (~(bends * extent > _FLAT)).astype(np.int64)
