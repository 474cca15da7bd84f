"""Gaussian filters of surfaces on a grid: linear (ISO 16610-61), robust (as in ISO 16610-71), with holes."""

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ...core.arrays import Array, finite
from ...core.errors import InputError
from .gaussian import checked_order, lost_notes, reach
from .places import Places, checked_heights, open_places
from .planes import planes
from .regression import regression
from .result import ALPHA, Filtered, Mask, RobustFiltered
from .robust import reweighted, robust_notes

_LOST = 0.5 * math.erfc(0.5 * math.sqrt(math.pi) / ALPHA[0])  # beyond half a cut-off on one side: 0.4 %


@dataclass(frozen=True)
class _Grid:
    """Heights (m, ny, nx), 0 where nothing was measured; the places along x and y; what was measured, None for all."""

    heights: Array
    across: Places
    down: Places
    measured: Mask | None

    @property
    def steps(self) -> tuple[float, float]:
        width = ALPHA[0] * self.across.cutoff
        return self.across.spacing / width, self.down.spacing / width

    @property
    def edges(self) -> Mask:
        return self.down.affected(reach(self.down, 0))[:, None] | self.across.affected(reach(self.across, 0))[None, :]


def gaussian_areal(
    heights_mm: npt.ArrayLike,
    *,
    cutoff_mm: float,
    spacing_mm: float | tuple[float, float],
    order: int = 1,
    measured: npt.ArrayLike | None = None,
) -> Filtered:
    """Long-wave and short-wave parts of a surface on a rectangular grid.

    Parameters
    ----------
    heights_mm : (..., ny, nx) float, finite where measured
        Leading axes are draws.
    cutoff_mm : the same in both directions
    spacing_mm : of rows and columns, or (along x, along y)
    order : 0 or 1
        What passes unchanged at edges and holes: a level, or a plane.
    measured : (ny, nx) bool, optional
        False where the grid has a hole; without it the grid is full.

    Returns
    -------
    Filtered : long_mm, short_mm (..., ny, nx), NaN in holes; affected (ny, nx).

    Raises
    ------
    InputError : as `gaussian_profile`; order 2; a mask of another shape.

    Notes
    -----
    Method: the weighting function of ISO 16610-61 is the product of two Gaussians, so the filter goes along the rows,
    then along the columns. Checked: tests/reference/test_against_iso_16610_gaussian.py.
    """
    where = "gaussian_areal"
    g = _grid(heights_mm, cutoff_mm, spacing_mm, order, measured, where)
    m, ny, nx = g.heights.shape
    affected = g.edges
    if g.measured is None:
        along, _ = regression(g.heights.reshape(-1, nx), g.across, order)
        turned = np.ascontiguousarray(np.swapaxes(along.reshape(m, ny, nx), 1, 2)).reshape(-1, ny)
        both, _ = regression(turned, g.down, order)
        long, lost = np.swapaxes(both.reshape(m, nx, ny), 1, 2), np.zeros((ny, nx), dtype=bool)
    else:
        value, carried, full = planes(g.heights, g.measured[None].astype(np.float64), order, g.steps)
        long, lost = np.where(g.measured, value, np.nan), g.measured & ~carried[0]
        affected = affected | (full[0] < 1.0 - _LOST * (1.0 + 1e-6)) | ~g.measured
    shape = np.shape(heights_mm)
    return Filtered(
        long_mm=long.reshape(shape), short_mm=(g.heights - long).reshape(shape), affected=affected,
        method=_method("Areal Gaussian filter (ISO 16610-61)", cutoff_mm, order),
        notes=(*_notes(g, affected), *lost_notes(lost)),
    )  # fmt: skip


def robust_gaussian_areal(
    heights_mm: npt.ArrayLike,
    *,
    cutoff_mm: float,
    spacing_mm: float | tuple[float, float],
    order: int = 1,
    measured: npt.ArrayLike | None = None,
) -> RobustFiltered:
    """As `gaussian_areal`, with scratches and dirt set aside.

    Returns
    -------
    RobustFiltered : also weights (..., ny, nx).

    Notes
    -----
    Method: weights of `robust_gaussian_profile`, over the whole surface; local levels or planes.
    """
    where = "robust_gaussian_areal"
    g = _grid(heights_mm, cutoff_mm, spacing_mm, order, measured, where)
    m, ny, nx = g.heights.shape
    counts = np.ones((ny, nx), dtype=bool) if g.measured is None else g.measured
    base = counts[None].astype(np.float64)

    def fit(part: Array, weights: Array | None) -> tuple[Array, Mask]:
        W = base if weights is None else weights.reshape(-1, ny, nx) * base
        value, carried, _ = planes(part.reshape(-1, ny, nx), W, order, g.steps)
        return value.reshape(part.shape), carried.reshape(len(carried), -1)

    value, weights, iterations, stopped, lost = reweighted(g.heights.reshape(m, -1), fit, counts.reshape(-1))
    long = np.where(counts, value.reshape(m, ny, nx), np.nan)
    lost = lost & counts.reshape(-1)
    affected = g.edges | lost.any(0).reshape(ny, nx) | ~counts
    shape = np.shape(heights_mm)
    return RobustFiltered(
        long_mm=long.reshape(shape), short_mm=(g.heights - long).reshape(shape), affected=affected,
        weights=(weights.reshape(m, ny, nx) * base).reshape(shape),
        method=_method("Robust areal Gaussian regression (as ISO 16610-71)", cutoff_mm, order),
        notes=(*_notes(g, g.edges), *robust_notes(weights[:, counts.reshape(-1)], stopped, lost)),
        iterations=iterations.reshape(shape[:-2])[()], stopped=stopped.reshape(shape[:-2])[()],
    )  # fmt: skip


def _grid(
    value: npt.ArrayLike, cutoff: float, spacing: float | tuple[float, float], order: int,
    measured: npt.ArrayLike | None, where: str,
) -> _Grid:  # fmt: skip
    if checked_order(order, where) == 2:
        raise InputError(where, "the order", "be 0 or 1 on a surface", "2", "Take 1, or fit the form first.")
    mask = None
    if measured is not None:
        Z, mask = _holes(value, np.asarray(measured), where)
    else:
        Z = checked_heights(value, where, axes=2)
    pair = tuple(spacing) if isinstance(spacing, tuple | list) else (spacing, spacing)
    if len(pair) != 2:
        raise InputError(where, "the spacing", "be one number or two, along x and y", f"{spacing}", "Correct it.")
    ny, nx = Z.shape[-2:]
    across = open_places(nx, cutoff, pair[0], None, f"{where}, along x")
    down = open_places(ny, cutoff, pair[1], None, f"{where}, along y")
    return _Grid(Z.reshape(-1, ny, nx), across, down, mask)


def _holes(value: npt.ArrayLike, mask: npt.NDArray[np.bool_], where: str) -> tuple[Array, Mask | None]:
    """Heights with 0 in the holes, and the mask; None for a mask without a hole."""
    Z = np.asarray(value, dtype=np.float64)
    if mask.dtype != np.bool_ or mask.shape != Z.shape[-2:] or not mask.any():
        raise InputError(
            where, "measured", f"be (ny, nx) true or false, some of it true, for heights {Z.shape}",
            f"{mask.dtype} {mask.shape}", "Give one mask for the grid; all draws share it.",
        )  # fmt: skip
    filled = checked_heights(np.where(mask, Z, 0.0), where, axes=2)
    return finite(filled, where=where), None if mask.all() else mask


def _method(head: str, cutoff: float, order: int) -> str:
    ends = "level" if order == 0 else "plane"
    return f"{head}, cut-off {cutoff:.6g} mm, 50 % of the amplitude passes there; at edges a {ends} passes unchanged."


def _notes(g: _Grid, affected: Mask) -> tuple[str, ...]:
    own = [f"Along {axis}: {note}" for axis, places in (("x", g.across), ("y", g.down)) for note in places.notes]
    if g.measured is not None:
        own.append(f"Not measured: {(~g.measured).mean():.3g} of the grid; nothing is said of the holes.")
    share = f"{affected.mean():.3g} of the grid lies in holes or so near them or an edge that part of the weighting"
    return (*own, f"{share} function is lost.")
