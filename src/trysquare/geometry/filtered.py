"""Points filtered before a shape is associated with them: round a circle, along a line, over a grid on a plane."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..core.arrays import Array
from ..core.errors import InputError
from .filters import Filtered, filter_line, filter_section, gaussian_areal, robust_gaussian_areal
from .least_squares.linear import fit_line, fit_plane
from .least_squares.round_shapes import fit_circle

KINDS = ("gaussian", "spline", "robust")
_WHERE = "filter"
_EVEN = 1e-3  # of a step: how far a place of a grid may lie off


@dataclass(frozen=True)
class FilteredPoints:
    """Points (m, d) moved, square to their least-squares shape, by what was filtered out; `kept` (m) are their indices
    among those given: places that an end or edge touches are left out. `method` and `notes` say what was done.
    """

    points_mm: Array
    kept: npt.NDArray[np.int64]
    method: str
    notes: tuple[str, ...]


def filter_points(
    points_mm: Array, shape: str, *, kind: str, cutoff_upr: float | None = None, cutoff_mm: float | None = None
) -> FilteredPoints:
    """Keep the long waves of one set of points about its least-squares circle, line or plane.

    Parameters
    ----------
    points_mm : (n, 2) or (n, 3), mm. A circle: one ring, in any order. A line: in a plane. A plane: a full, even grid
        along two of the axes of its coordinates.
    shape : "circle", "line" or "plane"
    kind : one of `KINDS`; a plane takes "gaussian" and "robust"
    cutoff_upr : of a circle, undulations per revolution; or cutoff_mm : wavelength, mm

    Returns
    -------
    FilteredPoints

    Raises
    ------
    InputError : another shape or kind, both cut-offs or none, no grid, a cut-off that leaves no place untouched by an
        end; what the filter refuses.

    Notes
    -----
    Order of operations: filtration, then association (ISO 17450-1, from memory), as roundness and straightness are
    read in the trade. Filters: ISO 16610-21, -22, -61; see `trysquare.geometry.filters`.
    """
    if shape not in ("circle", "line", "plane") or (shape == "line" and points_mm.shape[1] == 3):
        found = "a line in space" if shape == "line" else f"a {shape}"
        raise InputError(
            _WHERE, "the shape", "be a circle, a line in a plane, or a plane", found,
            "Filter the sections one by one, as circles or lines.",
        )  # fmt: skip
    if shape == "circle":
        order = 2 if kind == "robust" else 0
        fit = fit_circle(points_mm)
        section = filter_section(points_mm, fit, kind=kind, cutoff_upr=cutoff_upr, cutoff_mm=cutoff_mm, order=order)
        return _kept(section.points_mm, section.filtered)
    if cutoff_mm is None:
        found = "undulations a revolution"
        raise InputError(_WHERE, "the cut-off", f"be a wavelength for a {shape}", found, "Write for instance 8mm.")
    if shape == "line":
        order = 2 if kind == "robust" else 1
        line = filter_line(points_mm, fit_line(points_mm), kind=kind, cutoff_mm=cutoff_mm, order=order)
        return _kept(line.points_mm, line.filtered)
    return _over_grid(points_mm, kind, cutoff_mm)


def _kept(moved: Array, part: Filtered) -> FilteredPoints:
    kept = np.flatnonzero(~part.affected & np.isfinite(moved).all(1))
    if len(kept) == 0:
        way_out = "Take a shorter cut-off, or measure longer."
        raise InputError(_WHERE, "the cut-off", "leave places that no end touches", "none", way_out)
    return FilteredPoints(np.ascontiguousarray(moved[kept]), kept, part.method, part.notes)


def _over_grid(P: Array, kind: str, cutoff_mm: float) -> FilteredPoints:
    filters: dict[str, Callable[..., Filtered]] = {"gaussian": gaussian_areal, "robust": robust_gaussian_areal}
    if kind not in filters:
        raise InputError(
            _WHERE, "the filter", f"be {' or '.join(filters)} for a plane", f'"{kind}"', "Take one of these."
        )
    plane = fit_plane(P)
    order, shape, steps = _grid(P - plane.residuals_mm[:, None] * plane.normal, plane.normal)
    heights = plane.residuals_mm[order].reshape(shape)
    part = filters[kind](heights, cutoff_mm=cutoff_mm, spacing_mm=steps)
    short = np.empty(len(P))
    affected = np.empty(len(P), bool)
    short[order], affected[order] = part.short_mm.reshape(-1), part.affected.reshape(-1)
    moved = P - short[:, None] * plane.normal
    kept = np.flatnonzero(~affected & np.isfinite(short))
    if len(kept) < 3:
        raise InputError(_WHERE, "the cut-off", "leave places that no edge touches", "none", "Take a shorter cut-off.")
    return FilteredPoints(moved[kept], kept, part.method, part.notes)


def _grid(P: Array, normal: Array) -> tuple[npt.NDArray[np.int64], tuple[int, int], tuple[float, float]]:
    """Order of points of a plane by rows and columns, how many there are of each, and the steps along a row and a
    column, on the plane itself.
    """
    across = int(np.abs(normal).argmax())
    a, b = [k for k in range(3) if k != across]
    slope = normal / normal[across]
    x, y = _ladder(P[:, a]), _ladder(P[:, b])
    if x is None or y is None or x[1] * y[1] != len(P) or len(set(zip(x[0].tolist(), y[0].tolist()))) != len(P):
        raise InputError(
            _WHERE, "the points of the plane", "lie on a full, even grid along their axes",
            f"{len(P)} points that do not",
            "Lay the grid out so, or filter lines of the surface one by one.",
        )  # fmt: skip
    steps = x[2] * float(np.hypot(1.0, slope[a])), y[2] * float(np.hypot(1.0, slope[b]))
    return np.lexsort((x[0], y[0])), (y[1], x[1]), steps


def _ladder(values: Array) -> tuple[npt.NDArray[np.int64], int, float] | None:
    """Which rung each value stands on, how many rungs there are, and their step; None where they are not even."""
    ordered = np.sort(values)
    gaps = np.diff(ordered)
    wide = gaps[gaps > 0.25 * gaps.max()] if len(gaps) else gaps
    if not len(wide) or not gaps.max() > 0:
        return None
    count = len(wide) + 1
    step = float((ordered[-1] - ordered[0]) / (count - 1))
    rung = np.round((values - ordered[0]) / step)
    off = np.abs((values - ordered[0]) / step - rung).max()
    return (rung.astype(np.int64), count, step) if off < _EVEN and rung.max() == count - 1 else None
