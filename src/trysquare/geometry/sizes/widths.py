"""Sizes of widths: two opposite parallel planes, such as a slot, a tab or a plate."""

import numpy as np
import numpy.typing as npt

from ...core.arrays import Array, points
from ...core.errors import InputError
from ...core.frames import dot, perpendicular
from .parallel_pair import KINDS, OppositePlanes, opposite_planes
from .results import MODIFIERS, Size, known, undefined

_NO_ROOM = "not defined here: the points of the two faces leave no room for a block between them"
_NOT_FACING = "not defined here: the two faces do not stand opposite one another"


def width_size(first_mm: npt.ArrayLike, second_mm: npt.ArrayLike, modifier: str) -> Size:
    """Direct global size (...) of a width from the points (..., n, 3) and (..., k, 3) mm of its two faces.

    GN is what a gap gauge around a tab finds, GX what a block in a slot finds: the mating sizes of ASME Y14.5.1.

    Returns
    -------
    Size. GX and GN are not defined where the faces do not stand opposite one another, GX also where no block fits
    between them; a member of a batch to which that happens is NaN.

    Raises
    ------
    InputError, RankError : as `opposite_planes`.
    """
    known(modifier, KINDS, "width_size")
    found = opposite_planes(first_mm, second_mm, modifier)
    width = np.where(found.facing, found.width_mm, np.nan)
    if not np.any(found.facing):
        return undefined(modifier, np.shape(found.width_mm), _NOT_FACING)
    width = np.where(width > 0, width, np.nan)
    if np.isnan(width).all():
        return undefined(modifier, np.shape(found.width_mm), _NO_ROOM)
    return Size(
        modifier=modifier, size_mm=width[()], definition=MODIFIERS[modifier][1] + ", of two parallel planes",
        proof="" if modifier == "GG" else found.proof,
    )  # fmt: skip


def width_two_point_sizes(
    first_mm: npt.ArrayLike, second_mm: npt.ArrayLike, *, reach_mm: float,
    pairs: npt.NDArray[np.int64] | None = None, planes: OppositePlanes | None = None,
) -> Size:  # fmt: skip
    """Two-point sizes LP (..., k) of a width: distances of opposite points, across the least-squares mid-plane.

    Parameters
    ----------
    first_mm, second_mm : (..., n, 3) and (..., k, 3) float, mm; leading axes alike, trials
    reach_mm : float > 0
        How far the join of two opposite points may miss being perpendicular to the mid-plane, as a length along it.
    pairs : (k, 2) int, optional
        Pairs found before (index in the first, index in the second): draws use those of the value. Without it the
        first member sets them; each point of a face goes with the nearest of the other.
    planes : the GG planes of these points, where they are at hand

    Returns
    -------
    Size, local; not defined where no points are opposite.

    Raises
    ------
    InputError, RankError : as `opposite_planes`; a reach not above 0.

    Notes
    -----
    Opposite points join perpendicular to the median plane of the two associated planes (ISO 17450-3, from memory).
    """
    if not reach_mm > 0:
        raise InputError("width_two_point_sizes", "the reach", "be above 0 mm", f"{reach_mm} mm", "Give a length.")
    planes = planes or opposite_planes(first_mm, second_mm, "GG")
    A = points(first_mm, where="width_two_point_sizes")
    B = points(second_mm, where="width_two_point_sizes")
    found = _pairs(A, B, planes, reach_mm) if pairs is None else np.asarray(pairs, np.int64).reshape(-1, 2)
    if not len(found):
        return undefined("LP", A.shape[:-2], "not defined here: no points are opposite one another", local=True)
    join = B[..., found[:, 1], :] - A[..., found[:, 0], :]
    return Size(
        modifier="LP", size_mm=dot(join, np.asarray(planes.normal)[..., None, :]), local=True, pairs=found,
        definition=MODIFIERS["LP"][1] + ", across the least-squares mid-plane",
    )  # fmt: skip


def _pairs(A: Array, B: Array, planes: OppositePlanes, reach: float) -> npt.NDArray[np.int64]:
    """Pairs (k, 2) in the first member that has planes."""
    from scipy.spatial import cKDTree

    normal = np.asarray(planes.normal).reshape(-1, 3)
    good = np.flatnonzero(np.isfinite(normal[:, 0]))
    i = good[0]
    across = np.stack(perpendicular(normal[i]), -1)
    a, b = (X.reshape(-1, *X.shape[-2:])[i] @ across for X in (A, B))
    to_b, at_b = cKDTree(b).query(a)
    to_a, at_a = cKDTree(a).query(b)
    forth = np.column_stack([np.arange(len(a)), at_b])[to_b <= reach]
    back = np.column_stack([at_a, np.arange(len(b))])[to_a <= reach]
    return np.asarray(np.unique(np.concatenate([forth, back]), axis=0), dtype=np.int64)
