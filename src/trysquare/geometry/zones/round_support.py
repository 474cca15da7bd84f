"""Whether points carry the round minimax shape that is asked of them; what is said where they do not."""

import numpy as np
import numpy.typing as npt

from ...core.arrays import Array
from ...core.errors import ConvergenceError, RankError
from ..kernels.round_minimax import LIMIT, MET, NO_DECREASE, OPEN
from ..kernels.round_state import DISC, INNER, OUTER, TUBE, ZONE
from .round_balance import settled
from .round_solve import Solved

_APART = 1e-14  # least extent, of the largest coordinate
_FLAT = 1e-9  # least extent, of the largest one
_SQUARED = 1e-6  # of the largest extent: below it the square of an extent drowns in rounding
_OPEN = 2.0  # the same for an inscribed shape, beyond which a side is open
_FAR = 1e5  # distance of the centre, in extents of the points, beyond which a zone is a straight strip

Mask = npt.NDArray[np.bool_]


class Support:
    """Members (m) that do not carry the shape, by reason; `reasons` keeps them in the order they were found."""

    def __init__(self, where: str, m: int) -> None:
        self.where, self.bad, self.stuck = where, np.zeros(m, bool), np.zeros(m, bool)
        self.reasons: list[tuple[Mask, str, str, str, Array, float]] = []

    def add(self, bad: Mask, rule: str, found: str, way_out: str, ratio: Array, threshold: float) -> None:
        """Take out the members `bad` (m)."""
        self.bad |= bad
        self.reasons.append((bad, rule, found, way_out, ratio, threshold))

    def raise_if_none_left(self) -> None:
        """Raise for the first member when no member could be solved."""
        if not (self.bad | self.stuck).all():
            return
        for bad, rule, found, way_out, ratio, threshold in self.reasons:
            if bad[0]:
                raise RankError(
                    self.where, "the points", rule, found, way_out, ratio=float(ratio[0]), threshold=threshold
                )
        raise ConvergenceError(
            self.where, "the search", "end", "no end after its largest number of steps", "Look for stray points."
        )

    def codes(self, solved: Solved) -> npt.NDArray[np.int64]:
        """Why each member stopped: `NO_DECREASE` too where its last step found an optimum to rounding."""
        ended = np.where(solved.codes == LIMIT, NO_DECREASE, np.maximum(solved.codes, MET))
        return np.where(self.bad, OPEN, np.where(self.stuck, LIMIT, ended))


def look_before(kind: int, mode: int, few: Array, largest: Array, where: str) -> Support:
    """Points (m, n, 3) about their base whose coordinates reach `largest` (m): apart, and not on a line or plane."""
    support = Support(where, len(few))
    d = few - few.mean(1, keepdims=True)
    size = np.abs(d).max((1, 2))
    d = d / np.where(size > 0, size, 1.0)[:, None, None]
    last = 1 if kind == DISC else 2
    extents = _extents(d, last)
    apart = extents[:, 0] * size / np.maximum(largest, 1e-300)
    support.add(
        ~(apart > _APART), "lie apart", "points that coincide", "Measure more points.", apart, _APART
    )  # fmt: skip
    if mode == OUTER:
        return support
    ratio = extents[:, last] / np.where(extents[:, 0] > 0, extents[:, 0], 1.0)
    on = "line" if kind == DISC else "plane"
    support.add(
        ~(ratio > _FLAT), f"lie off one {on}", f"points on one {on}", f"Add points off that {on}.", ratio, _FLAT
    )  # fmt: skip
    return support


def _extents(d: Array, last: int) -> Array:
    """Root-mean-square extents (m, 3) of centred points, largest first, down to the `last` to all their digits."""
    extents = np.sqrt(np.maximum(np.linalg.eigvalsh(np.einsum("mni,mnj->mij", d, d)), 0.0) / d.shape[1])[:, ::-1]
    thin = extents[:, last] < _SQUARED * extents[:, 0]
    if thin.any():
        found = np.linalg.svd(d[thin], compute_uv=False) / np.sqrt(d.shape[1])
        extents[np.flatnonzero(thin), : found.shape[1]] = found
    return extents


def astray(solved: Solved) -> Mask:
    """Members (m) whose centre or axis left the neighbourhood of the points for good."""
    away = _away(solved)
    limit = {INNER: _OPEN, ZONE: _FAR, OUTER: np.inf}[solved.mode]
    bad: Mask = ~(away <= limit)
    return bad


def _away(solved: Solved) -> Array:
    """Distance (m) of the centre or axis from the base, in extents of the points."""
    centre = solved.states[:, :3]
    if solved.kind == TUBE:
        w = solved.states[:, 9:12]
        centre = centre - (centre * w).sum(1, keepdims=True) * w
    size = np.abs(solved.few).max((1, 2))
    return np.linalg.norm(centre, axis=1) / np.where(size > 0, size, 1.0)


def look_after(solved: Solved, support: Support) -> None:
    """Members whose zone is straight, or that leave a side open for an inscribed shape; those without an end."""
    lost, away = astray(solved), np.maximum(_away(solved), 1e-300)
    if solved.mode == INNER:
        support.add(
            lost, "surround the inscribed shape", "points that leave a side open",
            "Measure more than half of the way round, or use a least-squares or circumscribed shape.",
            1.0 / away, 1.0 / _OPEN,
        )  # fmt: skip
    if solved.mode == ZONE:
        support.add(
            lost, "show an arc", "a zone of least width that is straight, not round",
            "Ask for straightness or flatness, or measure a longer arc.", 1.0 / away, 1.0 / _FAR,
        )  # fmt: skip
    limit = (solved.codes == LIMIT) & ~support.bad
    if limit.any():
        support.stuck |= limit & ~settled(solved)
    support.raise_if_none_left()
