"""Nodes of the form model on a plane: where the surface is looked at, and what its points can show."""

import math
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from ..core.arrays import Array, finite, points
from ..core.errors import InputError

FEWEST = 8
_NODES, _GAPS, _ROWS = 300, 5000, 3
_DENSE, _CELLS = 300, 225
_FEW = 0.2  # of the median count in a block
_WAVE_CELLS = 7.0  # wavelength over the width of a block mean: see docs/methods/statements.md


@dataclass(frozen=True)
class Measured:
    """Points of a plane (n, 2) mm, heights (n,) mm above their least-squares plane, error draws (M, n) mm.

    Dense points are thinned to block means; `cell_mm` is the width of the blocks, 0 for points as touched. `edge`
    (m, 2) mm holds the corners of the hull of all points where the means lie inside it.
    """

    uv: Array
    heights: Array
    errors: Array
    edge: Array
    cell_mm: float = 0.0


@dataclass(frozen=True)
class Field:
    """Nodes (P, 2) mm, the `count` measured points first; `defect_mm` is the width of a defect that is not missed."""

    nodes: Array
    count: int
    extent_mm: float
    defect_mm: float

    @property
    def columns(self) -> Array:
        return columns(self.nodes)

    @property
    def at(self) -> npt.NDArray[np.int64]:
        return np.arange(self.count)


def columns(uv: Array) -> Array:
    """Fit columns (n, 3) of a plane."""
    return np.column_stack([np.ones(len(uv)), uv])


def measured(uv_mm: npt.ArrayLike, heights_mm: npt.ArrayLike, error_draws: npt.ArrayLike) -> Measured:
    """Checked input, heights and errors freed of their least-squares planes, in block means above 300 points."""
    uv = points(uv_mm, dims=2, where="points of a plane")
    h = finite(np.asarray(heights_mm, dtype=np.float64), where="heights of a plane")
    e = finite(np.asarray(error_draws, dtype=np.float64), where="error draws of a plane")
    if uv.ndim != 2 or h.shape != (len(uv),) or e.ndim != 2 or e.shape[1] != len(uv) or len(e) < 2:
        raise InputError(
            "points of a plane", "the shapes", "be (n, 2), (n,) and (M, n)", f"{uv.shape}, {h.shape} and {e.shape}",
            "Give one height and one column of error draws for each point.",
        )  # fmt: skip
    found = Measured(uv, h, e, uv[:0]) if len(uv) <= _DENSE else _block_means(uv, h, e)
    A = columns(found.uv - found.uv.mean(axis=0))
    fit = A @ np.linalg.pinv(A)
    return replace(found, heights=found.heights - fit @ found.heights, errors=found.errors - found.errors @ fit)


def _block_means(uv: Array, heights: Array, errors: Array) -> Measured:
    """Means over equal blocks; blocks that hold far fewer points than usual are left out."""
    size = np.ptp(uv, axis=0)
    cell = math.sqrt(max(size[0] * size[1], 1e-300) / _CELLS)
    counts = np.maximum(np.round(size / cell), 1.0)
    place = np.minimum(np.floor((uv - uv.min(axis=0)) / np.where(size > 0, size, 1.0) * counts), counts - 1)
    _, block, held = np.unique(place, axis=0, return_inverse=True, return_counts=True)
    block = block.ravel()
    full = held >= _FEW * np.median(held)

    def mean(x: Array) -> Array:
        return np.stack([np.bincount(block, row, len(held))[full] for row in np.atleast_2d(x)]) / held[full]

    return Measured(mean(uv.T).T, mean(heights)[0], mean(errors), uv[_corners(uv)], float((size / counts).max()))


def field(found: Measured, outline_mm: npt.ArrayLike | None) -> Field | None:
    """Nodes inside the hull of points and outline; None where the points lie in one line."""
    corners = np.empty((0, 2)) if outline_mm is None else points(outline_mm, dims=2, where="outline of a plane")
    known = np.concatenate([found.uv, found.edge, corners])
    if _in_line(found.uv):
        return None
    nodes = np.concatenate([known, _inside(known, _NODES)])
    gap = float(_nearest(np.concatenate([known, _inside(known, _GAPS)]), found.uv).max())
    # in a square pattern of spacing d the widest gap is d / sqrt(2); a defect is seen from two spacings
    return Field(nodes, len(found.uv), float(np.ptp(nodes, axis=0).max()), 2.0 * math.sqrt(2.0) * gap)


def _in_line(uv: Array) -> bool:
    spread = np.linalg.svd(uv - uv.mean(axis=0), compute_uv=False)
    return len(uv) < 3 or bool(spread[1] <= 1e-3 * spread[0])


def _corners(uv: Array) -> npt.NDArray[np.int64]:
    """Indices of the corners of the hull of the points."""
    from scipy.spatial import ConvexHull

    return np.empty(0, dtype=np.int64) if _in_line(uv) else np.asarray(ConvexHull(uv).vertices, dtype=np.int64)


def _inside(known: Array, count: int) -> Array:
    """Grid of about `count` nodes in true proportion over the hull of `known`, none of them on a known one."""
    from scipy.spatial import ConvexHull

    hull = ConvexHull(known)
    size, step = np.ptp(known, axis=0), math.sqrt(hull.volume / count)
    counts = np.maximum(np.ceil(size / step).astype(int) + 1, _ROWS)
    axes = [np.linspace(low, low + length, n) for low, length, n in zip(known.min(axis=0), size, counts, strict=True)]
    grid = np.stack(np.meshgrid(*axes), axis=-1).reshape(-1, 2)
    within = (grid @ hull.equations[:, :2].T + hull.equations[:, 2] <= 1e-9 * size.max()).all(axis=1)
    apart = _nearest(grid, known) > 1e-3 * step
    return grid[within & apart]


def _nearest(a: Array, b: Array) -> Array:
    """Distance (n,) of each a (n, 2) from the nearest b (m, 2)."""
    from scipy.spatial import KDTree

    return np.asarray(KDTree(b).query(a)[0], dtype=np.float64)


def refusal(found: Measured, there: Field | None, smallest_defect_mm: float | None) -> str | None:
    """Why nothing can be stated, and what would help; None when something can."""
    n = len(found.uv)
    if n < FEWEST:
        return f"cannot be stated from {n} points: {FEWEST - n} more, spread over the surface, would do"
    if there is None:
        return "cannot be stated: the points lie in one line; spread them over the surface"
    if smallest_defect_mm is not None and there.defect_mm > smallest_defect_mm * (1 + 1e-9):
        size = np.ptp(there.nodes, axis=0)
        needed = int(np.prod(np.ceil(2.0 * size / smallest_defect_mm - 1e-9) + 1))
        return (
            f"cannot be stated for defects under {there.defect_mm:.3g} mm (asked: {smallest_defect_mm:.3g} mm): "
            f"about {needed} points, evenly spread, would do"
        )
    return None


def _bow_unseen(uv: Array) -> bool:
    """Whether some bending or twist vanishes at all points (n, 2) but for a plane: they lie in two rows, say."""
    x, y = (2.0 * (uv - uv.mean(axis=0)) / np.maximum(np.ptp(uv, axis=0), 1e-300)).T
    quadratic = np.column_stack([np.ones_like(x), x, y, x * x, x * y, y * y])
    return bool(np.linalg.svd(quadratic, compute_uv=False)[-1] <= 1e-2 * math.sqrt(len(uv)))


def reach(found: Measured, there: Field) -> tuple[str, ...]:
    """What the points can show, as notes."""
    wave = max(2.0 * there.defect_mm, _WAVE_CELLS * found.cell_mm)
    said = [
        f"valid for form wavelengths of at least {wave:.3g} mm and defects of at least w = {there.defect_mm:.3g} mm "
        "(twice the spacing of the points)"
    ]
    if _bow_unseen(found.uv):
        said.append("a bow across the rows of points is not seen by them: a third row between would show it")
    if found.cell_mm > 0:
        said.append(f"heights averaged in cells of {found.cell_mm:.3g} mm: finer form is left out")
    return tuple(said)
