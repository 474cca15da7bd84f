"""Gaussian filters of surfaces on a grid: linear (ISO 16610-61) and robust of order 0 (as in ISO 16610-71)."""

import numpy as np
import numpy.typing as npt

from ...core.arrays import Array
from ...core.errors import InputError
from .engine import convolved
from .gaussian import checked_order, reach
from .places import Places, checked_heights, open_places
from .regression import regression
from .result import ALPHA, Filtered, Mask, RobustFiltered
from .robust import reweighted, robust_notes

Steps = float | tuple[float, float]


def gaussian_areal(
    heights_mm: npt.ArrayLike, *, cutoff_mm: float, spacing_mm: Steps, order: int = 1
) -> Filtered:  # fmt: skip
    """Long-wave and short-wave parts of a surface on a rectangular grid.

    Parameters
    ----------
    heights_mm : (..., ny, nx) float, finite
        Leading axes are draws.
    cutoff_mm : the same in both directions
    spacing_mm : of rows and columns, or (along x, along y)
    order : 0 or 1
        What passes unchanged at the edges: a level, or along each side a straight line (planes and twisted planes).

    Returns
    -------
    Filtered : long_mm, short_mm (..., ny, nx); affected (ny, nx).

    Raises
    ------
    InputError : as `gaussian_profile`; order 2.

    Notes
    -----
    Method: the weighting function of ISO 16610-61 is the product of two Gaussians, so the filter goes along the rows,
    then along the columns. Checked: tests/reference/test_against_iso_16610_gaussian.py.
    """
    where = "gaussian_areal"
    if checked_order(order, where) == 2:
        raise InputError(where, "the order", "be 0 or 1 on a surface", "2", "Take 1, or fit the form first.")
    Z, across, down = _grid(heights_mm, cutoff_mm, spacing_mm, where)
    ny, nx = Z.shape[-2:]
    along, _ = regression(Z.reshape(-1, nx), across, order)
    turned = np.ascontiguousarray(np.swapaxes(along.reshape(-1, ny, nx), 1, 2).reshape(-1, ny))
    both, _ = regression(turned, down, order)
    long = np.swapaxes(both.reshape(-1, nx, ny), 1, 2).reshape(Z.shape)
    affected = _affected(across, down)
    head = "Areal Gaussian filter (ISO 16610-61)"
    return Filtered(
        long_mm=long, short_mm=Z - long, affected=affected, method=_method(head, cutoff_mm, order),
        notes=_notes(across, down, affected),
    )  # fmt: skip


def robust_gaussian_areal(
    heights_mm: npt.ArrayLike, *, cutoff_mm: float, spacing_mm: Steps
) -> RobustFiltered:  # fmt: skip
    """As `gaussian_areal` of order 0, with scratches, dirt and holes set aside.

    Returns
    -------
    RobustFiltered : also weights (..., ny, nx). A slope is pulled level within half a cut-off of an edge.

    Notes
    -----
    Method: weights of `robust_gaussian_profile`, over the whole surface.
    """
    where = "robust_gaussian_areal"
    Z, across, down = _grid(heights_mm, cutoff_mm, spacing_mm, where)
    ny, nx = Z.shape[-2:]
    steps = across.spacing / (ALPHA[0] * cutoff_mm), down.spacing / (ALPHA[0] * cutoff_mm)

    def mean(part: Array, weights: Array | None) -> tuple[Array, Mask]:
        grid = part.reshape(-1, ny, nx)
        W = np.ones((1, ny, nx)) if weights is None else weights.reshape(-1, ny, nx)
        level = grid.mean((1, 2), keepdims=True)
        full = _both_ways(W, steps)
        carried = full > 1e-6
        value = _both_ways((grid - level) * W, steps) / np.where(carried, full, 1.0) + level
        return np.where(carried, value, np.nan).reshape(part.shape), carried.reshape(len(full), -1)

    long, weights, iterations, stopped, lost = reweighted(Z.reshape(-1, ny * nx), mean)
    lead = Z.shape[:-2]
    affected = _affected(across, down) | lost.any(0).reshape(ny, nx)
    long = long.reshape(Z.shape)
    return RobustFiltered(
        long_mm=long, short_mm=Z - long, affected=affected, weights=weights.reshape(Z.shape),
        method=_method("Robust areal Gaussian regression (as ISO 16610-71)", cutoff_mm, 0),
        notes=(*_notes(across, down, _affected(across, down)), *robust_notes(weights, stopped, lost)),
        iterations=iterations.reshape(lead)[()], stopped=stopped.reshape(lead)[()],
    )  # fmt: skip


def _both_ways(grid: Array, steps: tuple[float, float]) -> Array:
    m, ny, nx = grid.shape
    (rows,) = convolved(grid.reshape(-1, nx), steps[0], 1)
    (columns,) = convolved(np.swapaxes(rows.reshape(m, ny, nx), 1, 2).reshape(-1, ny), steps[1], 1)
    return np.swapaxes(columns.reshape(m, nx, ny), 1, 2)


def _grid(value: npt.ArrayLike, cutoff: float, spacing: Steps, where: str) -> tuple[Array, Places, Places]:
    Z = checked_heights(value, where, axes=2)
    pair = tuple(spacing) if isinstance(spacing, tuple | list) else (spacing, spacing)
    if len(pair) != 2:
        raise InputError(where, "the spacing", "be one number or two, along x and y", f"{spacing}", "Correct it.")
    ny, nx = Z.shape[-2:]
    across = open_places(nx, cutoff, pair[0], None, f"{where}, along x")
    return Z, across, open_places(ny, cutoff, pair[1], None, f"{where}, along y")


def _affected(across: Places, down: Places) -> Mask:
    return down.affected(reach(down, 0))[:, None] | across.affected(reach(across, 0))[None, :]


def _method(head: str, cutoff: float, order: int) -> str:
    ends = "level" if order == 0 else "straight line along a side"
    return f"{head}, cut-off {cutoff:.6g} mm, 50 % of the amplitude passes there; at edges a {ends} passes unchanged."


def _notes(across: Places, down: Places, affected: Mask) -> tuple[str, ...]:
    own = [f"Along {axis}: {note}" for axis, places in (("x", across), ("y", down)) for note in places.notes]
    share = f"{affected.mean():.3g} of the surface lies within half a cut-off of an edge, where part of the weighting"
    return (*own, f"{share} function is lost.")
