"""Zones of many points: read in blocks, kept few, solved on these, until no other point lies outside. Exact.

A zone of some of the points is never wider than that of all; where it holds all points it is the zone of all, and what
proves it for the few proves it for all.
"""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from ...core.arrays import Array
from ...core.threads import over_slices
from ..kernels.sweep import BLOCK, heights, products, survey, sweep
from .flat import Solved, solve_flat

MANY = 20_000  # points from which it pays
_SAMPLE = 2_000  # points of the first guess
_PASSES = 60
_PART = 128  # blocks of one slice
_ROUND = 1e-15  # of the extent: rounding of a height


Few = Callable[..., Solved]


class _Blocks:
    """Bounds of each block of the points along a direction that turns, from `normal` on."""

    def __init__(self, P: Array, normal: Array) -> None:
        self.P, self.count, self.normal = P, -(-len(P) // BLOCK), normal
        sums, self.rows = np.empty((self.count, 4)), np.empty((self.count, 2), np.int64)
        self.high, self.low = np.empty(self.count), np.empty(self.count)

        def slices(a: int, b: int) -> None:
            survey(P, normal, a, sums[a:b], self.high[a:b], self.low[a:b], self.rows[a:b])

        over_slices(slices, self.count, size=_PART)
        middle = sums[:, :3].sum(0) / len(P)
        self.centroid = P[0] + middle
        self.extent = float(np.sqrt(sums[:, 3].max()) + np.linalg.norm(middle))
        self.high -= middle @ normal
        self.low -= middle @ normal

    @property
    def finite(self) -> bool:
        return bool(np.isfinite(self.centroid).all() and np.isfinite(self.extent))

    def outside(self, normal: Array, top: float, bottom: float) -> npt.NDArray[np.int64]:
        """Of each block the highest point above `top` and the lowest below `bottom`, heights over the centroid."""
        reach = self.extent * (float(np.linalg.norm(normal - self.normal)) + _ROUND)
        self.high += reach
        self.low -= reach
        self.normal = normal
        active = (self.high > top) | (self.low < bottom)
        P, c = self.P, self.centroid

        def slices(a: int, b: int) -> None:
            sweep(P, c, normal, a, active[a:b], self.high[a:b], self.low[a:b], self.rows[a:b])

        over_slices(slices, self.count, size=_PART)
        return np.concatenate([self.rows[self.high > top, 0], self.rows[self.low < bottom, 1]])


def solve(
    P: Array, outward: Array, *, across: Array | None = None, one: bool = False, few: Few = solve_flat,
    whole: bool = True,
) -> Solved:  # fmt: skip
    """As `flat.solve_flat` for members P (m, n, 3); those of many points one after another, reduced.

    `few` solves what is kept, with the keywords `across`, `one` and `centres` (of all the points, for a ray). Without
    `whole` the residuals are left out.
    """
    if P.shape[1] < MANY:
        return few(P, outward, across=across, one=one, **({} if whole else {"whole": False}))
    members = []
    for k, member in enumerate(P):
        v = None if across is None else across[k : k + 1] if len(across) > 1 else across
        members.append(_solve(member, outward[k : k + 1] if len(outward) > 1 else outward, v, one, few, whole))
    names = ("normals", "points", "widths", "bounds", "code", "turns", "starts", "contacts", "sides", "residuals")
    return Solved(**{name: np.concatenate([getattr(x, name) for x in members]) for name in names})


def _solve(P: Array, outward: Array, across: Array | None, one: bool, few: Few, whole: bool) -> Solved:
    guess = few(P[None, :: max(1, len(P) // _SAMPLE)], outward, across=across, one=one)
    if guess.failed[0]:
        return few(P[None], outward, across=across, one=one)
    blocks = _Blocks(P, guess.normals[0])
    if not blocks.finite:
        return few(P[None], outward, across=across, one=one)
    slack = _ROUND * blocks.extent
    options = {"across": across, "one": one, "centres": blocks.centroid[None] if one else None}
    if one and few is not solve_flat:
        options["frames"], options["scatters"] = _scatter(P, blocks.centroid)
    kept = np.unique(blocks.rows)
    for turn in range(_PASSES):
        found = few(P[None, kept], outward, **options)
        if found.failed[0]:
            break
        level = float((found.points[0] - blocks.centroid) @ found.normals[0])
        top, bottom = found.residuals[0].max() + slack, found.residuals[0].min() - slack
        more = blocks.outside(found.normals[0], level + top, level + (-np.inf if one else bottom))
        if not len(more):
            return _told(P, kept, found, level, blocks.centroid, turn, whole)
        kept = np.unique(np.concatenate([kept, more]))
    return few(P[None], outward, across=across, one=one)


def _scatter(P: Array, centroid: Array) -> tuple[Array, Array]:
    """Principal frame (1, 3, 3) of all the points, the least axis last, and their scatter in it."""
    frame = np.linalg.eigh(_products(P, centroid, np.eye(3)))[1].T[::-1]
    frame = np.ascontiguousarray(frame * np.sign(np.linalg.det(frame)))
    return frame[None], _products(P, centroid, frame)[None]


def _products(P: Array, centroid: Array, frame: Array) -> Array:
    sums = np.empty((-(-len(P) // BLOCK), 3, 3))
    over_slices(lambda a, b: products(P, centroid, frame, a, sums[a:b]), len(sums), size=_PART)
    mean: Array = sums.sum(0) / len(P)
    return mean


def _told(
    P: Array, kept: npt.NDArray[np.int64], found: Solved, level: float, centroid: Array, turn: int, whole: bool
) -> Solved:
    """The answer for the few, told of all the points."""
    normal, residuals = found.normals[0], np.empty((1, len(P) if whole else 0))
    over_slices(
        lambda a, b: heights(P[a:b], centroid, normal, level, residuals[0, a:b]), residuals.size, size=_PART * BLOCK
    )  # fmt: skip
    contacts = np.where(found.contacts >= 0, kept[found.contacts], -1)
    return replace(
        found, points=(centroid + level * normal)[None], residuals=residuals, contacts=contacts, turns=np.array([turn])
    )
