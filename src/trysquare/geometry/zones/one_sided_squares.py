"""Least squares with all points on one side of a plane or line: batches through the compiled programme."""

from collections.abc import Callable
from typing import Any

import numpy as np

from ...core.arrays import Array
from ...core.threads import over_slices
from ..kernels.squares import squares_plane
from ..kernels.squares_cover import search_squares
from .flat import Solved

_SLICE = 128
PROOF = (
    "The contacts carry a quadratic programme, convex with the tilt counted in: its least value bounds the sum of "
    "squares over all normals on the outward side. Where it is not convex those are covered by cells, in each of which "
    "the programme of heights along its middle is a bound."
)


def solve_squares(
    P: Array, outward: Array, *, across: Array | None = None, one: bool = True, centres: Array | None = None,
    frames: Array | None = None, scatters: Array | None = None,
) -> Solved:  # fmt: skip
    """As `flat.solve_flat` with the sum of squares made least; widths and bounds are roots of the mean square.

    `centres` (m, 3), principal `frames` (m, 3, 3) and `scatters` in them stand for those of larger sets.
    """
    m, n = P.shape[:2]
    v = np.array([[0.0, 0.0, 1.0]]) if across is None else across
    middles = np.empty((0, 3)) if centres is None else centres
    none = np.empty((0, 3, 3))
    turns, spreads = none if frames is None else frames, none if scatters is None else scatters
    normals, places, values = np.full((m, 3), np.nan), np.full((m, 3), np.nan), np.full((m, 2), np.nan)
    notes, held, residuals = np.empty((m, 3), np.int64), np.full((m, 2, 4), -1), np.empty((m, n))

    wanted = (middles, turns, spreads, outward, v)
    out = (normals, places, values, notes, held, residuals)
    _run(squares_plane, P, wanted, 3 if across is None else 2, out)
    left = np.flatnonzero(notes[:, 0] == 1)
    if len(left):
        part = tuple(x[left] for x in out)
        own = tuple(x if len(x) <= 1 else x[left] for x in wanted)
        _run(search_squares, P[left], own, 3 if across is None else 2, part)
        for whole, some in zip(out, part, strict=True):
            whole[left] = some
    return Solved(
        normals, places, values[:, 0], values[:, 1], notes[:, 0], notes[:, 1], notes[:, 2], held[:, 0],
        np.maximum(held[:, 1], 0), residuals,
    )  # fmt: skip


def _run(kernel: Callable[..., None], P: Array, wanted: tuple[Array, ...], free: int, out: tuple[Any, ...]) -> None:
    """A kernel over slices of the members."""

    def slices(a: int, b: int) -> None:
        kernel(P[a:b], *(x if len(x) <= 1 else x[a:b] for x in wanted), free, *(x[a:b] for x in out))

    over_slices(slices, len(P), size=_SLICE)
