"""Least-squares plane and line: principal axes of the points."""

import numpy as np
import numpy.typing as npt

from ..core.arrays import Array, finite, points
from ..core.errors import InputError, RankError
from ..core.threads import over_slices
from .kernels.linear import distances, heights, moments, polish
from .results import CLOSED, OPEN, STOPS, LineFit, PlaneFit

_RATIO = 1e-6  # least extent across, and least difference of extents, of the largest extent
_SLICE = 64


def fit_plane(
    points_mm: npt.ArrayLike, *, weights: npt.ArrayLike | None = None, toward: npt.ArrayLike | None = None
) -> PlaneFit:
    """Fit the plane that minimises the (weighted) sum of squared orthogonal distances.

    Parameters
    ----------
    points_mm : (..., n, 3) float, n >= 3, finite
        Points in one frame, mm. Leading axes are trials.
    weights : (n,) or (..., n) float, finite, not negative, optional
        Weights of the squared distances.
    toward : (3,) or (..., 3), optional
        The normal is flipped to have no negative product with it.

    Returns
    -------
    PlaneFit : point_mm (..., 3), the centroid; normal (..., 3), unit; residuals_mm (..., n), positive on its side.

    Raises
    ------
    InputError : wrong shape, n < 3, or a value that is not finite.
    RankError : points on one line, or spread alike in two directions across; carries `ratio` and `threshold`. In a
        batch only when no member can be fitted: a single one gets NaN and says so in `stopped`.

    Notes
    -----
    Method: principal axes (K. Pearson, Philosophical Magazine 2, 1901), centred, with one Newton step that gives back
    the digits a scatter matrix loses. Checked: tests/reference/test_against_null_space_data.py to 1e-9 mm and rad.
    """
    P, W, lead = _checked(points_mm, weights, "fit_plane", 3)
    centroids, values, frames = _axes(P, W, along=False)
    ratio = np.minimum(values[:, 1], values[:, 1] - values[:, 0]) / _positive(values[:, 2])
    normals = _turned(frames[:, 2], toward, lead, "fit_plane")
    bad = _refuse(ratio, "fit_plane", "the points", "span a plane, not one line", "Add points off that line.")
    residuals = np.empty(P.shape[:2])
    over_slices(lambda a, b: heights(P[a:b], centroids[a:b], normals[a:b], residuals[a:b]), len(P), size=_SLICE)
    for array in (centroids, normals, residuals):
        array[bad] = np.nan
    return PlaneFit(
        residuals.reshape(*lead, -1), *_status(bad, 3, lead),
        centroids.reshape(*lead, 3), normals.reshape(*lead, 3),
    )  # fmt: skip


def fit_line(
    points_mm: npt.ArrayLike, *, weights: npt.ArrayLike | None = None, toward: npt.ArrayLike | None = None
) -> LineFit:
    """Fit the line that minimises the (weighted) sum of squared distances. Parameters as `fit_plane`, n >= 2.

    Returns
    -------
    LineFit : point_mm (..., 3), the centroid; direction (..., 3), unit; residuals_mm (..., n), distances from the line.

    Raises
    ------
    InputError : wrong shape, n < 2, or a value that is not finite.
    RankError : points coincide, or reach as far across as along; as `fit_plane` in a batch.

    Notes
    -----
    Method and check: as `fit_plane`.
    """
    P, W, lead = _checked(points_mm, weights, "fit_line", 2)
    centroids, values, frames = _axes(P, W, along=True)
    size = np.abs(P).max((1, 2))
    ratio = np.where(values[:, 2] > 1e-14 * size, (values[:, 2] - values[:, 1]) / _positive(values[:, 2]), 0.0)
    directions = _turned(frames[:, 2], toward, lead, "fit_line")
    bad = _refuse(ratio, "fit_line", "the points", "lie along a line", "Measure points further apart along it.")
    residuals = np.empty(P.shape[:2])
    over_slices(lambda a, b: distances(P[a:b], centroids[a:b], directions[a:b], residuals[a:b]), len(P), size=_SLICE)
    for array in (centroids, directions, residuals):
        array[bad] = np.nan
    return LineFit(
        residuals.reshape(*lead, -1), *_status(bad, 4, lead),
        centroids.reshape(*lead, 3), directions.reshape(*lead, 3),
    )  # fmt: skip


def _checked(
    value: npt.ArrayLike, weights: npt.ArrayLike | None, where: str, least: int
) -> tuple[Array, Array, tuple[int, ...]]:
    """Points (m, n, 3), weights (m or 1, n) and the leading axes."""
    P = points(value, at_least=least, where=where)
    lead, n = P.shape[:-2], P.shape[-2]
    flat = np.ascontiguousarray(P.reshape(-1, n, 3))
    if weights is None:
        return flat, np.ones((1, n)), lead
    W = finite(np.asarray(weights, dtype=np.float64), where=f"{where}: weights")
    if W.shape not in ((n,), (*lead, n)) or (W < 0).any() or ((W > 0).sum(-1) < least).any():
        raise InputError(
            where, "the weights", f"be one number >= 0 per point, {least} or more of them above 0",
            f"shape {W.shape}, least {W.min() if W.size else 'none'}", "Give weights of shape (n,) or (..., n).",
        )  # fmt: skip
    return flat, np.ascontiguousarray(W.reshape(-1, n)), lead


def _axes(P: Array, W: Array, *, along: bool) -> tuple[Array, Array, Array]:
    """Centroids (m, 3), root-mean-square extents (m, 3) ascending, frames (m, 3, 3) whose last row is the axis."""
    centroids, scatter = np.empty((len(P), 3)), np.empty((len(P), 3, 3))
    shared = len(W) == 1
    over_slices(
        lambda a, b: moments(P[a:b], W if shared else W[a:b], centroids[a:b], scatter[a:b]), len(P), size=_SLICE
    )
    values, vectors = np.linalg.eigh(scatter)
    order = [0, 1, 2] if along else [2, 1, 0]
    frames = np.ascontiguousarray(np.swapaxes(vectors, -1, -2)[:, order])
    over_slices(lambda a, b: polish(P[a:b], W if shared else W[a:b], centroids[a:b], frames[a:b]), len(P), size=_SLICE)
    return centroids, np.sqrt(np.maximum(values, 0.0) / W.sum(-1)[:, None]), frames


def _positive(x: Array) -> Array:
    return np.where(x > 0, x, 1.0)


def _turned(axes: Array, toward: npt.ArrayLike | None, lead: tuple[int, ...], where: str) -> Array:
    """Axes (m, 3) flipped towards `toward`; without it the largest coordinate is positive."""
    if toward is None:
        sign = np.take_along_axis(axes, np.abs(axes).argmax(-1)[:, None], -1)[:, 0]
    else:
        T = finite(np.asarray(toward, dtype=np.float64), where=f"{where}: toward")
        if T.shape not in ((3,), (*lead, 3)):
            raise InputError(where, "toward", "be (3,) or (..., 3)", f"shape {T.shape}", "Give one direction.")
        sign = (axes * T.reshape(-1, 3)).sum(-1)
    return np.where(sign[:, None] < 0, -axes, axes)


def _refuse(ratio: Array, where: str, what: str, rule: str, way_out: str) -> npt.NDArray[np.bool_]:
    """Members whose ratio is too small; raises when there is no other."""
    bad = ~(ratio > _RATIO)
    if bad.all():
        raise RankError(
            where, what, rule, f"a ratio of extents of {ratio[0]:.3g}, below {_RATIO:g}", way_out,
            ratio=float(ratio[0]), threshold=_RATIO,
        )  # fmt: skip
    return bad


def _status(
    bad: npt.NDArray[np.bool_], full: int, lead: tuple[int, ...]
) -> tuple[npt.NDArray[np.int64], npt.NDArray[np.int64], npt.NDArray[np.str_]]:
    """Rank, iterations and reason to stop."""
    rank = np.where(bad, full - 1, full).reshape(lead)[()]
    stopped = np.array(STOPS)[np.where(bad, OPEN, CLOSED)].reshape(lead)[()]
    return rank, np.ones(lead, np.int64)[()], stopped
