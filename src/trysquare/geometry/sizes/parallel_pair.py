"""Two opposite parallel planes associated with the points of two faces: what the size of a width is taken from."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ...core.arrays import Array, points
from ...core.errors import InputError, RankError
from ...core.frames import dot, perpendicular
from ..zones.exchange import LeastLargest, least_largest
from ..zones.results import GLOBAL, local
from .hull_gap import hull_gap

KINDS = ("GG", "GX", "GN", "GC")
_RATIO = 1e-6  # least extent of the faces across, of that along
_PASSES = 12
_DIGITS = 1e-14  # of the size: a smaller change is none
_OPEN = 1e-13  # of the size: a larger gap to the bound is closed by the exact distance of the hulls
_WORDS = {"GX": GLOBAL, "GN": local(1), "GC": local(1), "GG": "closed form"}


@dataclass(frozen=True, kw_only=True)
class OppositePlanes:
    """Parallel planes at `width_mm` (...) from one another; `normal` (..., 3) from the first face to the second;
    `point_mm` (..., 3) of the plane half way between.

    `gap_mm` (...): the width (GC: the largest distance) less the bound that the points in contact prove, nothing but
    rounding at an optimum; `proof` says how far the bound reaches: "global" for GX, near the planes for GN and GC.
    `facing` (...): whether points hold the least-squares planes: for GX and GN, that the faces stand
    opposite one another.
    """

    width_mm: Array
    normal: Array
    point_mm: Array
    gap_mm: Array
    proof: str
    facing: npt.NDArray[np.bool_]


def opposite_planes(first_mm: npt.ArrayLike, second_mm: npt.ArrayLike, modifier: str) -> OppositePlanes:
    """Associate two parallel planes with two faces.

    Parameters
    ----------
    first_mm, second_mm : (..., n, 3) and (..., k, 3) float, mm; leading axes alike, trials
    modifier : GG, least squares of all distances from the own plane, parallel, the width free; GN, the planes nearest
        to one another with all points between them (a tab in a gauge); GX, the planes furthest from one another with
        no point between them (a gauge in a slot); GC, least largest distance from the own plane.

    Returns
    -------
    OppositePlanes

    Raises
    ------
    InputError : bad points, or leading axes that differ.
    RankError : points on one line, in a batch when that is so for all; else those members are NaN.

    Notes
    -----
    GG is the pooled principal axis. The others are exact linear programmes over the planes found so far, turned and
    solved again. GX is the distance of the two convex hulls: its contacts prove it over all directions. Where GC leaves
    the place of one plane free, it is put in the middle of the points of its face.
    """
    if modifier not in KINDS:
        raise InputError("opposite_planes", "the modifier", f"be one of {', '.join(KINDS)}", repr(modifier), "Choose.")
    A, B = points(first_mm, where="opposite_planes"), points(second_mm, where="opposite_planes")
    if A.shape[:-2] != B.shape[:-2]:
        raise InputError(
            "opposite_planes", "the faces", "have the same leading axes", f"{A.shape[:-2]} and {B.shape[:-2]}",
            "Give both for each trial.",
        )  # fmt: skip
    lead = A.shape[:-2]
    A, B = A.reshape(-1, *A.shape[-2:]), B.reshape(-1, *B.shape[-2:])
    base = 0.5 * (A.mean(1) + B.mean(1))
    A, B = A - base[:, None], B - base[:, None]
    normal, extent = _least_squares(A, B)
    facing = np.ones(len(A), bool)
    gap = np.zeros(len(A))
    if modifier != "GG":
        normal, gap, facing = _turned(A, B, normal, extent, modifier)
    low, high = _planes(A, B, normal, modifier)
    point = base + (0.5 * (low + high))[:, None] * normal
    fields = (high - low, normal, point, gap, facing)
    width, normal, point, gap, facing = (np.reshape(x, (*lead, *x.shape[1:]))[()] for x in fields)
    return OppositePlanes(
        width_mm=width, normal=normal, point_mm=point, gap_mm=gap, proof=_WORDS[modifier], facing=facing
    )


def _least_squares(A: Array, B: Array) -> tuple[Array, Array]:
    """Normals (m, 3) from A to B, and extents (m,) of the faces along them."""
    a, b = A.mean(1), B.mean(1)
    together = np.concatenate([A - a[:, None], B - b[:, None]], 1)
    _, s, axes = np.linalg.svd(together, full_matrices=False)
    bad = ~(np.minimum(s[:, 1], s[:, 1] - s[:, 2]) > _RATIO * s[:, 0])
    if bad.all():
        raise RankError(
            "opposite_planes", "the points", "span two planes", "points along one line", "Add points off that line.",
            ratio=float(s[0, 1] / s[0, 0]) if s[0, 0] > 0 else 0.0, threshold=_RATIO,
        )  # fmt: skip
    normal = axes[:, 2]
    normal = np.where(dot(b - a, normal)[:, None] < 0, -normal, normal)
    return np.where(bad[:, None], np.nan, normal), s[:, 0] / np.sqrt(together.shape[1])


def _planes(A: Array, B: Array, normal: Array, modifier: str) -> tuple[Array, Array]:
    """Heights (m,) of the two planes along the normal."""
    a, b = A @ normal[..., None], B @ normal[..., None]
    if modifier == "GG":
        return a.mean((1, 2)), b.mean((1, 2))
    if modifier == "GN":
        return a.min((1, 2)), b.max((1, 2))
    if modifier == "GX":
        return a.max((1, 2)), b.min((1, 2))
    return 0.5 * (a.max((1, 2)) + a.min((1, 2))), 0.5 * (b.max((1, 2)) + b.min((1, 2)))


def _goal(A: Array, B: Array, normal: Array, modifier: str) -> Array:
    """What is made small (m,)."""
    if modifier == "GC":
        return 0.5 * np.maximum(*(np.ptp(X @ normal[..., None], axis=(1, 2)) for X in (A, B)))
    low, high = _planes(A, B, normal, modifier)
    return high - low if modifier == "GN" else low - high


def _turned(
    A: Array, B: Array, normal: Array, extent: Array, modifier: str
) -> tuple[Array, Array, npt.NDArray[np.bool_]]:
    """Normals at the optimum, gaps to the bound, and whether the points hold it."""
    known = np.isfinite(normal[:, 0])
    best = np.where(known[:, None], normal, [0.0, 0.0, 1.0])
    goal, gap, facing = _goal(A, B, best, modifier), np.full(len(A), np.inf), known.copy()
    for step in range(_PASSES):
        trial, bound, held = _linear(A, B, best, extent, modifier)
        reached = _goal(A, B, trial, modifier)
        better = reached < goal - _DIGITS * np.abs(goal) if step else reached < goal
        best = np.where(better[:, None], trial, best)
        goal = np.where(better, reached, goal)
        gap = np.minimum(gap, np.maximum(goal - bound, 0.0))
        facing = facing & held if step == 0 else facing
        if not better.any():
            break
    if modifier == "GX":
        best, gap = _closed(A, B, best, goal, gap)
    return np.where(known[:, None], best, np.nan), np.where(known, gap, np.inf), facing


def _closed(A: Array, B: Array, normal: Array, goal: Array, gap: Array) -> tuple[Array, Array]:
    """Normals (m, 3) and gaps of the widest gap where the linear passes left the gap to the bound open."""
    i = np.flatnonzero(gap > _OPEN * (np.abs(goal) + np.abs(A).max((1, 2))))
    if len(i):
        found, distance = hull_gap(A[i], B[i], normal[i])
        reached = _goal(A[i], B[i], found, "GX")
        better = reached < goal[i]
        normal[i] = np.where(better[:, None], found, normal[i])
        gap[i] = np.maximum(distance + np.minimum(reached, goal[i]), 0.0)
    return normal, gap


def _linear(
    A: Array, B: Array, normal: Array, extent: Array, modifier: str
) -> tuple[Array, Array, npt.NDArray[np.bool_]]:
    """Exact optimum for small turns of the normal: new normals, lower bounds of the goal, held by points."""
    u, v = perpendicular(normal)
    scale = np.where(extent > 0, extent, 1.0)
    across = [X @ np.stack([u, v], -1) / scale[:, None, None] for X in (A, B)]  # (m, n, 2)
    heights = [dot(X, normal[:, None]) for X in (A, B)]
    low, high = (h.mean(-1) for h in heights)
    heights = [heights[0] - low[:, None], heights[1] - high[:, None]]
    ones = [np.ones(h.shape) for h in heights]
    zero = [np.zeros(h.shape) for h in heights]
    outward = {"GN": (-1.0, 1.0), "GX": (1.0, -1.0), "GC": (1.0, 1.0)}[modifier]
    b = np.concatenate([s * h for s, h in zip(outward, heights)], -1)
    slopes = np.concatenate([-s * x for s, x in zip(outward, across)], 1)
    places = (
        [np.concatenate([-ones[0], zero[1]], -1), np.concatenate([zero[0], -ones[1]], -1)] if modifier == "GC"
        else [np.concatenate([-outward[0] * ones[0], -outward[1] * ones[1]], -1)]
    )  # fmt: skip
    rows = np.stack([slopes[..., 0], slopes[..., 1], *places], 1)
    found = least_largest(rows, b, both=modifier == "GC")
    lean = found.x[:, :2] / scale[:, None]
    turned = normal - lean[:, :1] * u - lean[:, 1:] * v
    length = np.linalg.norm(turned, axis=-1)
    if modifier == "GX":
        bound = -_hull_distance(A, B, found)
    else:
        apart = high - low if modifier == "GN" else 0.0
        bound = ((2.0 if modifier == "GN" else 1.0) * found.levels + apart) / length
    return turned / length[:, None], bound, ~found.open


def _hull_distance(A: Array, B: Array, found: LeastLargest) -> Array:
    """Distance (m,) of the weighted means of the contacts of either face: no two planes between them are further apart.

    Infinite where either face has no contact.
    """
    both = np.concatenate([A, B], 1)
    index = np.maximum(found.rows, 0)
    P = np.take_along_axis(both, index[..., None], 1)
    weight = np.where(found.rows >= 0, np.maximum(found.weights, 0.0), 0.0)
    side = found.rows >= A.shape[1]
    first, second = (np.where(mask, weight, 0.0) for mask in (~side, side))
    sums = first.sum(-1), second.sum(-1)
    some = (sums[0] > 0) & (sums[1] > 0)
    mean = [(w[..., None] * P).sum(1) / np.where(some, s, 1.0)[:, None] for w, s in zip((first, second), sums)]
    return np.where(some, np.linalg.norm(mean[1] - mean[0], axis=-1), np.inf)
