"""Whether points carry the shape that is asked of them, said in the words of who measured them."""

import math

import numpy as np

from ...core.arrays import Array
from ...core.errors import ConvergenceError, RankError
from ..kernels.turn_rows import BALL, CONE, TORUS, TUBE
from .doubts import doubts
from .evidence import WORDS, Evidence
from .results import LIMIT, NO_DECREASE

THRESHOLD = 1e-6  # least sine between one column of the Jacobian and the others; least ratio of extents
_SPREAD = 3.0  # least thickness of the set of points over the standard deviation of the residuals
_SAME = 1.001  # ratio of the sums of squares of two shapes below which they are the same
_STRAIGHT = 10.0  # radius over extent above which a descent without an end is one towards a straight line
HEIGHTS = "lie at two heights or more along the axis"
RING_MORE = "Add a ring of points at another height."
_PLANE_WAY_OUT = "Fit a plane or a circle, or add points off it."


def refuse(e: Evidence, where: str, *, single: bool, guided: bool) -> tuple[RankError, ...]:
    """Raise where no member could be fitted, or where a single set leaves the shape open; else the doubts about it.

    The rules for a single set hold for a value, not for its draws: dropping draws by their noise would bias the others.
    """
    if e.failed:
        _failed(e, where)
    if not single or e.code > NO_DECREASE:
        return ()
    word = WORDS[e.kind]
    if e.kind in (TUBE, CONE, TORUS) and not guided and e.rival < _SAME:
        raise RankError(
            where, "the points", f"lie on one {word}", f"points that another {word}, with its axis elsewhere, fits as"
            " well", "Add points at other heights or angles, or give the direction of the axis.", ratio=e.rival,
            threshold=_SAME,
        )  # fmt: skip
    if e.kind == TUBE and e.sd is not None and "direction" not in e.held:
        _one_ring(e, where)
    return doubts(e, where, guided=guided)


def extents(P: Array) -> tuple[Array, Array]:
    """Root-mean-square extents (3), largest first, and principal axes (rows)."""
    _, s, axes = np.linalg.svd(P - P.mean(0), full_matrices=False)
    return np.pad(s / math.sqrt(len(P)), (0, 3 - len(s))), axes


def _failed(e: Evidence, where: str) -> None:
    _flat(e, where)
    if e.code == LIMIT and not e.radius > _STRAIGHT * e.extent:
        raise ConvergenceError(
            where, "the descent", "end", f"{e.passes} steps without an end",
            "Look for points that belong to another feature.",
        )  # fmt: skip
    if e.kind in (CONE, TORUS):
        others = "a plane, a cylinder or a sphere" if e.kind == CONE else "a cylinder, a cone or a sphere"
        raise RankError(
            where, "the points", f"fix the {WORDS[e.kind]}", f"points that {others} fits as well",
            "Fit the simpler shape, or measure over more of the surface.", ratio=e.ratio, threshold=THRESHOLD,
        )  # fmt: skip
    word, flat = ("cap", "a plane") if e.kind == BALL else ("arc", "a line")
    raise RankError(
        where, "the points", f"cover a longer {word}", f"points that {flat} fits as well: too short to say anything",
        f"Measure over a longer {word}, best half way round.", ratio=e.ratio, threshold=THRESHOLD,
    )  # fmt: skip


def _flat(e: Evidence, where: str) -> None:
    """Raise where the places of the points alone leave a direction open; an arc or cap is to blame elsewhere."""
    spread, _ = extents(e.points)
    if not spread[0] > 1e-14 * np.abs(e.points).max():
        _open(where, "lie apart", "points that coincide", "Measure points that lie apart.", 0.0)
    ratio = spread / spread[0]
    if ratio[1] < THRESHOLD:
        _open(where, "lie off one line", "points on one line", "Add points off that line.", float(ratio[1]))
    if ratio[2] >= THRESHOLD:
        return
    if e.kind == BALL:
        found = "points in one plane: many spheres pass through one circle"
        _open(where, "lie off one plane", found, "Add a point off that plane, best the pole.", float(ratio[2]))
    if e.kind == TUBE:
        _open(where, HEIGHTS, "points in one plane", RING_MORE, float(ratio[2]))
    if e.kind in (CONE, TORUS):
        _open(where, "lie off one plane", "points in one plane", _PLANE_WAY_OUT, float(ratio[2]))


def _open(where: str, rule: str, found: str, way_out: str, ratio: float) -> None:
    raise RankError(where, "the points", rule, found, way_out, ratio=ratio, threshold=THRESHOLD)


def _one_ring(e: Evidence, where: str) -> None:
    """Raise where the heights of the points along the axis are no more than their residuals."""
    spread, axes = extents(e.points)
    sd = e.sd or 0.0
    if spread[2] < _SPREAD * sd and abs(axes[2] @ e.frame[2]) > 0.7:
        raise RankError(
            where, "the points", HEIGHTS, f"points within {spread[2]:.2g} mm of one plane, with residuals of "
            f"{sd:.2g} mm", RING_MORE, ratio=float(spread[2] / sd), threshold=_SPREAD,
        )  # fmt: skip
