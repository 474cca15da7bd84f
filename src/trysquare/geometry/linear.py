"""Least-squares plane and line: principal axes of the points."""

from typing import Any

import numpy as np
import numpy.typing as npt

from ..core.arrays import Array, finite, points
from ..core.errors import InputError, RankError
from ..core.threads import over_slices
from .axes import read_toward, spatial, turned
from .kernels.linear import distances, heights, moments, polish
from .results import CLOSED, OPEN, STOPS, LineFit, PlaneFit

_RATIO = 1e-6  # least extent across, and least difference of extents, of the largest extent
_SLICE = 64
Mask = npt.NDArray[np.bool_]


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
        The normal is flipped to have no negative product with it; without it its largest coordinate is positive.

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
    hint = read_toward(toward, lead, "fit_plane")
    centroids, values, frames, scatter = _axes(P, W, along=False)
    ratio = np.minimum(values[:, 1], values[:, 1] - values[:, 0]) / _positive(values[:, 2])
    bad = _refused(ratio, "fit_plane", "span a plane, not one line", "Add points off that line.")
    axes = turned(frames[:, 2], hint)
    residuals = np.empty(P.shape[:2])
    over_slices(lambda a, b: heights(P[a:b], centroids[a:b], axes[a:b], residuals[a:b]), len(P), size=_SLICE)
    normal_matrix = np.zeros((len(P), 3, 3))
    normal_matrix[:, 0, 0] = W.sum(-1)
    normal_matrix[:, 1:, 1:] = scatter[:, :2, :2]
    return PlaneFit(**_result(bad, lead, "normal", centroids, axes, residuals, frames, normal_matrix, weights, W))


def fit_line(
    points_mm: npt.ArrayLike, *, weights: npt.ArrayLike | None = None, toward: npt.ArrayLike | None = None
) -> LineFit:
    """Fit the line that minimises the (weighted) sum of squared distances.

    Parameters
    ----------
    points_mm : (..., n, 3) or (..., n, 2) float, n >= 2, finite
        Points in space or in a plane, mm. Leading axes are trials.
    weights, toward : as `fit_plane`; `toward` for points in space only

    Returns
    -------
    LineFit : point_mm, the centroid, and direction, unit, with as many coordinates as the points; residuals_mm
        (..., n), distances from the line, in a plane positive on the left of the direction.

    Raises
    ------
    InputError : wrong shape, n < 2, or a value that is not finite.
    RankError : points coincide, or reach as far across as along; as `fit_plane` in a batch.

    Notes
    -----
    Method and check: as `fit_plane`.
    """
    flat = np.asarray(points_mm).shape[-1:] == (2,)
    P, W, lead = _checked(points_mm, weights, "fit_line", 2, dims=2 if flat else 3)
    hint = None if flat else read_toward(toward, lead, "fit_line")
    centroids, values, frames, scatter = _axes(P, W, along=True)
    apart = values[:, 2] > 1e-14 * np.abs(P[:, 0]).max(1)
    ratio = np.where(apart, (values[:, 2] - values[:, 1]) / _positive(values[:, 2]), 0.0)
    bad = _refused(ratio, "fit_line", "lie along a line", "Measure points further apart along it.")
    axes = turned(frames[:, 2], hint)
    residuals = np.empty(P.shape[:2])
    along = np.repeat(scatter[:, 2, 2], 2 if not flat else 1).reshape(len(P), -1)
    weight = np.broadcast_to(W.sum(-1)[:, None], along.shape)
    if flat:
        left = np.stack([-axes[:, 1], axes[:, 0], np.zeros(len(P))], -1)
        frames[:, 0], frames[:, 1] = left, [0.0, 0.0, 1.0]
        over_slices(lambda a, b: heights(P[a:b], centroids[a:b], left[a:b], residuals[a:b]), len(P), size=_SLICE)
        centroids, axes = centroids[:, :2].copy(), axes[:, :2].copy()
    else:
        over_slices(lambda a, b: distances(P[a:b], centroids[a:b], axes[a:b], residuals[a:b]), len(P), size=_SLICE)
    normal_matrix = np.concatenate([weight, along], -1)[:, :, None] * np.eye(2 * along.shape[1])
    return LineFit(**_result(bad, lead, "direction", centroids, axes, residuals, frames, normal_matrix, weights, W))


def _checked(
    value: npt.ArrayLike, weights: npt.ArrayLike | None, where: str, least: int, dims: int = 3
) -> tuple[Array, Array, tuple[int, ...]]:
    """Points (m, n, 3), weights (m or 1, n) and the leading axes."""
    P = points(value, at_least=least, dims=dims, where=where)
    lead, n = P.shape[:-2], P.shape[-2]
    flat = spatial(P)
    if weights is None:
        return flat, np.ones((1, n)), lead
    W = finite(np.asarray(weights, dtype=np.float64), where=f"{where}: weights")
    if W.shape not in ((n,), (*lead, n)) or (W < 0).any() or ((W > 0).sum(-1) < least).any():
        raise InputError(
            where, "the weights", f"be one number >= 0 per point, {least} or more of them above 0",
            f"shape {W.shape}, least {W.min() if W.size else 'none'}", "Give weights of shape (n,) or (..., n).",
        )  # fmt: skip
    return flat, np.ascontiguousarray(W.reshape(-1, n)), lead


def _axes(P: Array, W: Array, *, along: bool) -> tuple[Array, Array, Array, Array]:
    """Centroids (m, 3), root-mean-square extents (m, 3) ascending, frames (m, 3, 3) whose last row is the axis, and
    the scatter in those frames.
    """
    centroids, scatter = np.empty((len(P), 3)), np.empty((len(P), 3, 3))

    def weights(a: int, b: int) -> Array:
        return W if len(W) == 1 else W[a:b]

    over_slices(
        lambda a, b: moments(P[a:b], weights(a, b), centroids[a:b], scatter[a:b]), len(P), size=_SLICE
    )  # fmt: skip
    values, vectors = np.linalg.eigh(scatter)
    order = [0, 1, 2] if along else [2, 1, 0]
    frames = np.ascontiguousarray(np.swapaxes(vectors, -1, -2)[:, order])
    over_slices(
        lambda a, b: polish(P[a:b], weights(a, b), centroids[a:b], frames[a:b]), len(P), size=_SLICE
    )  # fmt: skip
    extents = np.sqrt(np.maximum(values, 0.0) / W.sum(-1)[:, None])
    return centroids, extents, frames, frames @ scatter @ np.swapaxes(frames, -1, -2)


def _positive(x: Array) -> Array:
    return np.where(x > 0, x, 1.0)


def _refused(ratio: Array, where: str, rule: str, way_out: str) -> Mask:
    """Members whose ratio is too small; raises when there is no other."""
    bad = ~(ratio > _RATIO)
    if bad.all():
        raise RankError(
            where, "the points", rule, f"a ratio of extents of {ratio[0]:.3g}, below {_RATIO:g}", way_out,
            ratio=float(ratio[0]), threshold=_RATIO,
        )  # fmt: skip
    return bad


def _result(
    bad: Mask, lead: tuple[int, ...], axis: str, centroids: Array, axes: Array, residuals: Array, frames: Array,
    normal_matrix: Array, weights: npt.ArrayLike | None, W: Array,
) -> dict[str, Any]:  # fmt: skip
    """Fields of the fit, with the leading axes back and NaN where it failed."""
    for array in (centroids, axes, residuals):
        array[bad] = np.nan
    full = normal_matrix.shape[-1]
    fields: dict[str, npt.NDArray[Any]] = {
        "point_mm": centroids, axis: axes, "residuals_mm": residuals, "frame": frames, "normal_matrix": normal_matrix,
        "rank": np.where(bad, full - 1, full), "iterations": np.ones(len(bad), np.int64),
        "stopped": np.array(STOPS)[np.where(bad, OPEN, CLOSED)],
    }  # fmt: skip
    out = {name: array.reshape((*lead, *array.shape[1:]))[()] for name, array in fields.items()}
    if weights is not None:
        out["weights"] = W[0] if len(W) == 1 else W.reshape(*lead, -1)
    return out
