"""Sizes as ISO 14405-1:2016 names them: what a size operator gives back, and rank-order sizes of local ones.

The names are those of the standard's scope (as published by its sellers); the letters of the modifiers and the wording
of the definitions are ours or from memory.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ...core.arrays import Array
from ...core.errors import InputError
from ..zones.results import GLOBAL, NONE

#: Modifier: name, definition in one sentence.
MODIFIERS = {
    "LP": ("two-point size", "distance between two opposite points of the feature"),
    "LS": ("spherical size", "diameter of the largest sphere between the sides of the feature, centred at the station"),
    "GG": ("least-squares size", "size of the feature associated by least squares"),
    "GX": ("maximum inscribed size", "size of the largest feature of perfect form inside the points"),
    "GN": ("minimum circumscribed size", "size of the smallest feature of perfect form around the points"),
    "GC": ("minimax size", "size of the feature whose largest distance from a point is least"),
    "CC": ("circumference diameter", "circumference of the section, divided by pi"),
    "CA": ("area diameter", "diameter of the circle that has the area of the section"),
    "CV": ("volume diameter", "diameter of the cylinder that has the feature's volume over its length"),
}
RANKS = {
    "SX": ("maximum size", "the largest"),
    "SN": ("minimum size", "the smallest"),
    "SA": ("average size", "the mean"),
    "SM": ("median size", "the median"),
    "SD": ("mid-range size", "the mean of the largest and the smallest"),
    "SR": ("range of sizes", "the largest less the smallest"),
    "SQ": ("standard deviation of sizes", "the root mean square deviation from the mean"),
}


@dataclass(frozen=True, kw_only=True)
class Size:
    """One size, or local sizes at several places.

    `size_mm` is (...) for a global size and (..., k) for local ones, k places; NaN where there is none. `modifier` is
    that of the standard, `name` and `definition` say it in words. `reason` is empty where the size is defined; else it
    says why it is not defined here, and `size_mm` is NaN (or has no places). `reasons` has one entry per place,
    where some have a size and others do not.

    `proof` says how far the optimum behind a size is proven: "global", "local, best of n starts" (nothing better near
    it), or nothing where there is no optimum to prove; of several members and places the least proven one.

    Places: `pairs` (k, 2) of points that two-point sizes stand between; `heights_mm` (k,) along the axis.
    """

    modifier: str
    size_mm: Array
    definition: str
    local: bool = False
    reason: str = ""
    reasons: tuple[str, ...] = ()
    pairs: npt.NDArray[np.int64] | None = None
    heights_mm: Array | None = None
    proof: str = ""

    @property
    def name(self) -> str:
        """The standard's name of the size."""
        base, _, rank = self.modifier.partition(" ")
        return f"{RANKS[rank][0]} of the {MODIFIERS[base][0]}s" if rank else MODIFIERS[base][0]

    @property
    def defined(self) -> bool:
        return not self.reason


def rank_order(size: Size, rank: str) -> Size:
    """Rank-order size (...) of local sizes (..., k): one of SX, SN, SA, SM, SD, SR, SQ.

    Places without a size are left out, and counted in the definition. Local sizes that are not defined anywhere have no
    rank-order size: the reason is passed on.

    Raises
    ------
    InputError : another word, or a size that is not local.

    Notes
    -----
    SQ divides by k: the set of sizes is taken for the whole feature, not for a sample of it (our reading).
    """
    if rank not in RANKS:
        raise InputError("rank_order", "the rank", f"be one of {', '.join(RANKS)}", repr(rank), "Choose one.")
    if not size.local:
        raise InputError(
            "rank_order", "the size", "be local", f"the {size.name}, one number", "It has no maximum or mean: take it."
        )
    use = np.array([not r for r in size.reasons] or [True] * size.size_mm.shape[-1], dtype=bool)
    X = size.size_mm[..., use]
    modifier = f"{size.modifier} {rank}"
    if not size.defined or not X.shape[-1]:
        value = np.full(size.size_mm.shape[:-1], np.nan)[()]
        why = size.reason or "no place has a size"
        return Size(modifier=modifier, size_mm=value, reason=why, definition=_of(size, rank, 0))
    return Size(
        modifier=modifier, size_mm=_ranked(X, rank)[()], definition=_of(size, rank, X.shape[-1]), proof=size.proof
    )


def _of(size: Size, rank: str, used: int) -> str:
    places = size.size_mm.shape[-1]
    share = f"{used}" if used == places else f"{used} of {places}"
    return f"{RANKS[rank][1]} of {share} local sizes, each the {size.definition}"


def _ranked(X: Array, rank: str) -> Array:
    if rank == "SA":
        return X.mean(-1)
    if rank == "SM":
        return np.asarray(np.median(X, -1), dtype=np.float64)
    if rank == "SQ":
        return X.std(-1)
    high, low = X.max(-1), X.min(-1)
    ends = {"SX": high, "SN": low, "SD": 0.5 * (high + low), "SR": high - low}
    return ends[rank]


def least_proven(kinds: npt.ArrayLike) -> str:
    """The weakest of the kinds of certificates (`zones.Certificate`), members without an optimum left out."""
    words = sorted({str(kind) for kind in np.ravel(np.asarray(kinds))} - {GLOBAL, NONE, ""})
    return words[0] if words else GLOBAL


def undefined(modifier: str, lead: tuple[int, ...], reason: str, *, local: bool = False) -> Size:
    """A size that is not defined here."""
    value = np.full((*lead, 0) if local else lead, np.nan)[()]
    return Size(
        modifier=modifier, size_mm=value, reason=reason, definition=MODIFIERS[modifier][1], local=local,
        pairs=np.empty((0, 2), np.int64) if modifier == "LP" else None,
    )  # fmt: skip


def largest_gap(angles_rad: Array) -> Array:
    """Largest angle (...) about the axis that points at angles (..., n) leave free."""
    sorted_angles = np.sort(np.mod(angles_rad, 2 * np.pi), axis=-1)
    wrapped = np.concatenate([sorted_angles, sorted_angles[..., :1] + 2 * np.pi], -1)
    return np.diff(wrapped, axis=-1).max(-1)


def known(modifier: str, among: tuple[str, ...], where: str) -> str:
    """The modifier, checked."""
    if modifier not in among:
        raise InputError(
            where, "the modifier", f"be one of {', '.join(among)}", repr(modifier), "Choose one of ISO 14405-1."
        )
    return modifier
