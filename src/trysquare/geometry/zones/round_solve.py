"""Round minimax problems of a batch: exact reduction of many points, the compiled engine, threads.

A set of more than `_MANY` points is solved on a few of them; one pass over all shows which lie beyond the zone found,
the farthest of each part of the shape join, and so on until none does. A zone of some points is a lower bound for that
of all, so the end is exact, and what is proven for the few holds for all.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ...core.arrays import Array
from ...core.threads import over_slices
from ..kernels.round_minimax import LIMIT, press
from ..kernels.round_scan import CELLS, beyond, gather, residuals
from ..kernels.round_state import INNER, OUTER, ZONE

Index = npt.NDArray[np.int64]
_MANY = 400
_MEMBERS = 64  # members of a slice
_POINTS = 1 << 17  # points of a slice of one long set
_ROUNDS = 40
THIN = 1000  # points that a start is found from
_EPS = 4.5e-16


@dataclass(frozen=True)
class Solved:
    """m members: what they started from and their optima.

    `states` (m, 12) about `base` (m, 3): centre or axis point, frame. `low` and `high` (m) are the least and largest
    distance; `contacts` (m, 6) index the points, -1 where free, with `sides` and `weights` (m, 6). `picks` (m, c) are
    the points that were solved on, `few` (m, c, 3) their coordinates about the base.
    """

    kind: int
    mode: int
    P: Array
    base: Array
    states: Array
    levels: Array
    contacts: Index
    sides: Array
    weights: Array
    codes: Index
    passes: Index
    picks: Index
    few: Array

    def distances(self, radii: Array) -> Array:
        """Distances (m, n) of all points from the surface of these radii (m)."""
        out = np.empty(self.P.shape[:2])

        def slices(a: int, b: int) -> None:
            residuals(self.kind, self.P[a:b], self.base[a:b], self.states[a:b], radii[a:b], out[a:b])

        def parts(a: int, b: int) -> None:
            residuals(self.kind, self.P[:, a:b], self.base, self.states, radii, out[:, a:b])

        _run(slices, parts, self.P)
        return out

    @property
    def made_small(self) -> Array:
        """What was made small (m): the width of a zone, the radius of a circumscribed, minus that of an inscribed
        shape."""
        return 2.0 * self.levels if self.mode == ZONE else self.levels

    def radii(self) -> Array:
        """Radius (m) of the touching shape, or of the middle of the zone."""
        if self.mode == OUTER:
            return self.levels
        if self.mode == INNER:
            return -self.levels
        low, high = _limits(self.mode, self.few, self.kind, self.states)
        return 0.5 * (low + high)

    def places(self) -> Index:
        """Contacts as positions in `few` (m, 6), -1 where free."""
        found = (self.picks[:, None, :] == self.contacts[:, :, None]) & (self.contacts >= 0)[:, :, None]
        return np.where(found.any(-1), found.argmax(-1), -1)


def solve(kind: int, mode: int, P: Array, base: Array, states: Array) -> Solved:
    """Optima of P (m, n, 2 or 3) from the states (m, 12) about the base (m, 3)."""
    m, n = P.shape[:2]
    states = states.copy()
    out = _Room(m)
    if n <= _MANY:
        picks = np.broadcast_to(np.arange(n), (m, n))
        few = _gathered(P, base, picks, np.full(m, n))
        _engine(kind, mode, few, states, out)
        return _solved(kind, mode, P, base, states, out, picks, few)
    picks, counts = _first(kind, mode, P, base, states)
    for _ in range(_ROUNDS):
        few = _gathered(P, base, picks[:, : counts.max()], counts)
        _engine(kind, mode, few, states, out)
        more = _beyond(kind, P, base, states, halves(few, states), *_limits(mode, few, kind, states))
        if not (more >= 0).any():
            break
        picks, counts = _joined(picks, counts, more)
    else:
        out.info[:, 0] = LIMIT
    return _solved(kind, mode, P, base, states, out, picks[:, : few.shape[1]], few)


class _Room:
    """What the engine fills for m members."""

    def __init__(self, m: int) -> None:
        self.levels = np.empty(m)
        self.index = np.empty((m, 6), np.int64)
        self.sides = np.empty((m, 6))
        self.weights = np.empty((m, 6))
        self.info = np.empty((m, 2), np.int64)
        self.passes = np.zeros(m, np.int64)


def _engine(kind: int, mode: int, few: Array, states: Array, out: _Room) -> None:
    def slices(a: int, b: int) -> None:
        press(
            kind, mode, few[a:b], states[a:b], out.levels[a:b], out.index[a:b], out.sides[a:b], out.weights[a:b],
            out.info[a:b],
        )  # fmt: skip

    over_slices(slices, len(few), size=_MEMBERS)
    out.passes += out.info[:, 1] + 1


def _solved(kind: int, mode: int, P: Array, base: Array, states: Array, out: _Room, picks: Index, few: Array) -> Solved:
    contacts = np.where(out.index >= 0, np.take_along_axis(picks, np.maximum(out.index, 0), 1), -1)
    return Solved(
        kind,
        mode,
        P,
        base,
        states,
        out.levels,
        contacts,
        out.sides,
        out.weights,
        out.info[:, 0],
        out.passes,
        picks,
        few,
    )


def _run(slices: Callable[[int, int], None], parts: Callable[[int, int], None], P: Array) -> None:
    """Members side by side, or parts of the points of a single long set."""
    if len(P) == 1:
        over_slices(parts, P.shape[1], size=_POINTS)
    else:
        over_slices(slices, len(P), size=_MEMBERS)


def _gathered(P: Array, base: Array, picks: Index, counts: Index) -> Array:
    few = np.empty((*picks.shape, 3))
    gather(P, base, np.ascontiguousarray(picks), counts, few)
    return few


def few_of(P: Array, base: Array) -> Array:
    """Every so many of the points about the base (m, c, 3): all of few, some `THIN` of many."""
    thin = np.ascontiguousarray(P[:, :: max(1, P.shape[1] // THIN)])
    m, n = thin.shape[:2]
    return _gathered(thin, base, np.broadcast_to(np.arange(n), (m, n)), np.full(m, n))


def halves(few: Array, states: Array) -> Array:
    """Half the length of the points along the axis (m); never 0."""
    heights = np.einsum("mni,mi->mn", few - states[:, None, :3], states[:, 9:12])
    half = np.abs(heights).max(1)
    return np.where(half > 0, half, 1.0)


def _limits(mode: int, few: Array, kind: int, states: Array) -> tuple[Array, Array]:
    """Distances (m) below and above which a point lies beyond what was found."""
    m, zero = len(few), np.zeros((len(few), 3))
    out = np.empty(few.shape[:2])
    over_slices(
        lambda a, b: residuals(kind, few[a:b], zero[a:b], states[a:b], zero[a:b, 0], out[a:b]), m, size=_MEMBERS
    )  # fmt: skip
    low = np.full(m, -1.0) if mode == OUTER else out.min(1) * (1.0 - _EPS)
    high = np.full(m, np.inf) if mode == INNER else out.max(1) * (1.0 + _EPS)
    return low, high


def _beyond(kind: int, P: Array, base: Array, states: Array, half: Array, lows: Array, highs: Array) -> Index:
    """Points (m, q) beyond the limits, the farthest of each cell; -1 where there is none."""
    m, n = P.shape[:2]
    parts = -(-n // _POINTS) if m == 1 else 1
    found = np.empty((parts, 2, m, 2, CELLS[kind]))

    def members(a: int, b: int) -> None:
        beyond(
            kind, P[a:b], base[a:b], states[a:b], half[a:b], lows[a:b], highs[a:b], found[0, 0, a:b], found[0, 1, a:b]
        )  # fmt: skip

    def part(a: int, b: int) -> None:
        at = found[a // _POINTS]
        beyond(kind, P[:, a:b], base, states, half, lows, highs, at[0], at[1])
        at[:, :, 0] += np.where(at[:, :, 0] >= 0, a, 0)

    _run(members, part, P)
    best = np.stack([found[:, 0, :, 1].argmin(0), found[:, 1, :, 1].argmax(0)])
    index = np.take_along_axis(found[:, :, :, 0], best[None], 0)[0]
    return np.concatenate(index.astype(np.int64), axis=-1)


def _first(kind: int, mode: int, P: Array, base: Array, states: Array) -> tuple[Index, Index]:
    """The farthest points of each cell among every so many: picks (m, c) and how many of them count (m)."""
    stride = max(1, P.shape[1] // THIN)
    thin = np.ascontiguousarray(P[:, ::stride])
    far = np.full(len(P), np.inf)
    more = _beyond(
        kind,
        thin,
        base,
        states,
        halves(few_of(thin, base), states),
        -far if mode == OUTER else far,
        far if mode == INNER else -far,
    )
    none = np.zeros((len(P), 0), np.int64)
    return _joined(none, np.zeros(len(P), np.int64), np.where(more >= 0, more * stride, -1))


def _joined(picks: Index, counts: Index, more: Index) -> tuple[Index, Index]:
    """`picks` with those of `more` that are not -1 behind the first `counts` of each member, then the first again."""
    take = np.argsort(more < 0, axis=1, kind="stable")
    more = np.take_along_axis(more, take, 1)
    extra = (more >= 0).sum(1)
    total = counts + extra
    out = np.zeros((len(counts), int(total.max())), np.int64)
    width = min(picks.shape[1], out.shape[1])
    out[:, :width] = picks[:, :width]
    member, place = np.nonzero(more >= 0)
    out[member, counts[member] + place] = more[member, place]
    return np.where(np.arange(out.shape[1]) < total[:, None], out, out[:, :1]), total
