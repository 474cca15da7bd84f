"""Least-squares plane and line: principal axes of the points."""

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from ...core.arrays import Array, points
from ...core.errors import RankError
from ...core.threads import over_slices
from ..axes import across, read_toward, spatial, turned
from ..kernels.linear import distances, heights, moments, polish
from .held import Held, read_held, read_weights
from .results import CLOSED, LIMIT, OPEN, STOPS, LineFit, PlaneFit
from .robust import Reweighted, check_loss, reweighted

_RATIO = 1e-6  # least extent across, and least difference of extents, of the largest extent
_SLICE = 64
Mask = npt.NDArray[np.bool_]
PLANE, LINE, FLAT = "plane", "line", "line in a plane"
_FREE = {PLANE: 3, LINE: 4, FLAT: 2}


def fit_plane(
    points_mm: npt.ArrayLike, *, weights: npt.ArrayLike | None = None, toward: npt.ArrayLike | None = None,
    normal: npt.ArrayLike | None = None, loss: str = "squares",
) -> PlaneFit:  # fmt: skip
    """Fit the plane that minimises the (weighted) sum of squared orthogonal distances.

    Parameters
    ----------
    points_mm : (..., n, 3) float, n >= 3, finite
        Points in one frame, mm. Leading axes are trials.
    weights : (n,) or (..., n) float, finite, not negative, optional
        Weights of the squared distances.
    toward : (3,) or (..., 3), optional
        The normal is flipped to have no negative product with it; without it its largest coordinate is positive.
    normal : (3,) or (..., 3), optional
        Holds the normal: only the place of the plane along it is free. Its sense is kept unless `toward` is given.
    loss : "squares", or robust "huber" or "tukey", which say in `set_aside` which points had no say

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
    the digits a scatter matrix loses; robust losses as `robust.reweighted`. Checked:
    tests/reference/test_against_null_space_data.py to 1e-9 mm and rad.
    """
    P = points(points_mm, at_least=3, where="fit_plane")
    lead = P.shape[:-2]
    held = read_held("fit_plane", lead, normal=normal)
    hint = read_toward(toward, lead, "fit_plane")
    return PlaneFit(**_fit(PLANE, spatial(P), weights, held, hint, loss, lead, "normal", "fit_plane"))


def fit_line(
    points_mm: npt.ArrayLike, *, weights: npt.ArrayLike | None = None, toward: npt.ArrayLike | None = None,
    direction: npt.ArrayLike | None = None, loss: str = "squares",
) -> LineFit:  # fmt: skip
    """Fit the line that minimises the (weighted) sum of squared distances.

    Parameters
    ----------
    points_mm : (..., n, 3) or (..., n, 2) float, n >= 2, finite
        Points in space or in a plane, mm. Leading axes are trials.
    weights, toward, loss : as `fit_plane`; `toward` for points in space only
    direction : (3,) or (..., 3), of points in a plane (2,) or (..., 2), optional
        Holds the direction; its sense is kept unless `toward` is given.

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
    P = points(points_mm, at_least=2, dims=2 if flat else 3, where="fit_line")
    lead = P.shape[:-2]
    held = read_held("fit_line", lead, direction=_raised(direction) if flat else direction)
    hint = None if flat else read_toward(toward, lead, "fit_line")
    fields = _fit(FLAT if flat else LINE, spatial(P), weights, held, hint, loss, lead, "direction", "fit_line")
    if flat:
        fields["point_mm"], fields["direction"] = fields["point_mm"][..., :2], fields["direction"][..., :2]
    return LineFit(**fields)


def _raised(direction: npt.ArrayLike | None) -> npt.ArrayLike | None:
    """A direction in the plane with z = 0; anything else is left for the check."""
    array = np.asarray(direction, dtype=np.float64) if direction is not None else None
    if array is None or array.shape[-1:] != (2,):
        return direction
    return np.concatenate([array, np.zeros((*array.shape[:-1], 1))], -1)


@dataclass(frozen=True)
class Principal:
    """Of m members: centroids, extents (m, 3) ascending, frames (m, 3, 3) whose last row is the axis, the scatter in
    them, and the signed residuals (m, n).
    """

    centroids: Array
    extents: Array
    frames: Array
    scatter: Array
    residuals: Array

    @property
    def magnitudes(self) -> Array:
        return np.abs(self.residuals)

    @property
    def extent(self) -> Array:
        return self.extents[:, 2]


def _fit(
    kind: str, P: Array, weights: npt.ArrayLike | None, held: Held, hint: Array | None, loss: str,
    lead: tuple[int, ...], axis: str, where: str,
) -> dict[str, Any]:  # fmt: skip
    """Fields of the fit."""
    check_loss(loss, where)
    W = read_weights(weights, lead, P.shape[1], {PLANE: 3, LINE: 2, FLAT: 2}[kind], where)
    robust = None
    if loss == "squares":
        done = _principal(kind, P, W, held, hint)
    else:
        free = _FREE[kind] - (0 if held.axis is None else (1 if kind == FLAT else 2))
        done, robust = reweighted(
            loss, lambda weight, _: _principal(kind, P, weight, held, hint), np.broadcast_to(W, P.shape[:2]), free,
            coordinates=2 if kind == LINE else 1,
        )  # fmt: skip
    bad = _bad(kind, P, done, held, where)
    N = _normal_matrix(kind, P, W, done, exact=robust is None)
    fields = _result(kind, bad, lead, axis, done, N, held, None if weights is None else W, W, loss, robust)
    if weights is not None and robust is None:
        between = _normal_matrix(kind, P, W * W, done, exact=False)
        inverse = _cofactor(kind, N, bad, held)
        fields["alike"] = (inverse @ between @ inverse).reshape(*lead, *N.shape[1:])
    return fields


def _principal(kind: str, P: Array, W: Array, held: Held, hint: Array | None) -> Principal:
    centroids, scatter, residuals = np.empty((len(P), 3)), np.empty((len(P), 3, 3)), np.empty(P.shape[:2])

    def part(array: Array, a: int, b: int) -> Array:
        return array if len(array) == 1 else array[a:b]

    over_slices(lambda a, b: moments(P[a:b], part(W, a, b), centroids[a:b], scatter[a:b]), len(P), size=_SLICE)
    lost = ~np.isfinite(scatter).all((1, 2))
    scatter[lost], centroids[lost] = np.eye(3), np.nan  # beyond what numbers hold: residuals become NaN
    values, vectors = np.linalg.eigh(scatter)
    if held.axis is None:
        frames = np.ascontiguousarray(np.swapaxes(vectors, -1, -2)[:, [2, 1, 0] if kind == PLANE else [0, 1, 2]])
        over_slices(lambda a, b: polish(P[a:b], part(W, a, b), centroids[a:b], frames[a:b]), len(P), size=_SLICE)
        frames[:, 2] = turned(frames[:, 2], hint)
    else:
        frames = np.broadcast_to(across(held.axis), (len(P), 3, 3)).copy()
        if hint is not None:
            frames[:, 2] = turned(frames[:, 2], hint)
    if kind == FLAT:
        frames[:, 0] = np.stack([-frames[:, 2, 1], frames[:, 2, 0], np.zeros(len(P))], -1)
        frames[:, 1] = [0.0, 0.0, 1.0]
    line = np.ascontiguousarray(frames[:, 0 if kind == FLAT else 2])
    measure = distances if kind == LINE else heights
    over_slices(lambda a, b: measure(P[a:b], centroids[a:b], line[a:b], residuals[a:b]), len(P), size=_SLICE)
    total = W.sum(-1)[:, None]
    extents = np.sqrt(np.maximum(values, 0.0) / np.where(total > 0, total, 1.0))
    return Principal(centroids, extents, frames, frames @ scatter @ np.swapaxes(frames, -1, -2), residuals)


def _bad(kind: str, P: Array, done: Principal, held: Held, where: str) -> Mask:
    """Members that leave the axis open; raises when there is no other."""
    lost: Mask = np.asarray(~np.isfinite(done.residuals).all(-1))
    if held.axis is not None:
        return lost
    values = done.extents
    largest = np.where(values[:, 2] > 0, values[:, 2], 1.0)
    if kind == PLANE:
        ratio = np.minimum(values[:, 1], values[:, 1] - np.minimum(values[:, 0], values[:, 1])) / largest
        rule, way_out = "span a plane, not one line", "Add points off that line."
    else:
        apart = values[:, 2] > 1e-14 * np.abs(P[:, 0]).max(1)
        ratio = np.where(apart, (values[:, 2] - values[:, 1]) / largest, 0.0)
        rule, way_out = "lie along a line", "Measure points further apart along it."
    bad = np.asarray(~(ratio > _RATIO)) | lost
    if bad.all():
        found = f"a ratio of extents of {ratio[0]:.3g}, below {_RATIO:g}"
        if not values[0, 2] > 1e-14 * np.abs(P[0, 0]).max():
            rule, found, way_out = "lie apart", "points that coincide", "Measure points that lie apart."
        raise RankError(
            where, "the points", rule, found, way_out,
            ratio=float(ratio[0]), threshold=_RATIO,
        )  # fmt: skip
    return bad


def _normal_matrix(kind: str, P: Array, W: Array, done: Principal, *, exact: bool) -> Array:
    """J' W J (m, k, k) of shifts and tilts; `exact` when the centroids are those of W."""
    if exact:
        along, total = done.scatter, np.broadcast_to(W.sum(-1), len(P))
        mean = np.zeros((len(P), 3))
    else:
        d = (P - done.centroids[:, None]) @ np.swapaxes(done.frames, -1, -2)
        along = np.swapaxes(d * W[:, :, None], -1, -2) @ d
        total, mean = np.broadcast_to(W.sum(-1), len(P)), (W[:, :, None] * d).sum(1)
    if kind == PLANE:
        N = np.zeros((len(P), 3, 3))
        N[:, 0, 0] = total
        N[:, 1:, 1:] = along[:, :2, :2]
        N[:, 0, 1:] = N[:, 1:, 0] = mean[:, :2]
        return N
    ways = 1 if kind == FLAT else 2
    N = np.zeros((len(P), 2 * ways, 2 * ways))
    for i in range(ways):
        N[:, i, i], N[:, ways + i, ways + i] = total, along[:, 2, 2]
        N[:, i, ways + i] = N[:, ways + i, i] = mean[:, 2]
    return N


def _cofactor(kind: str, N: Array, bad: Mask, held: Held) -> Array:
    """Inverse of N (m, k, k), with zeros for what is held."""
    if held.axis is None:
        return np.linalg.inv(np.where(bad[:, None, None], np.eye(N.shape[-1]), N))
    shifts = range(1 if kind in (PLANE, FLAT) else 2)
    out = np.zeros_like(N)
    out[:, shifts, shifts] = 1 / N[:, shifts, shifts]
    return out


def _result(
    kind: str, bad: Mask, lead: tuple[int, ...], axis: str, done: Principal, N: Array, held: Held, given: Array | None,
    W: Array, loss: str, robust: Reweighted | None,
) -> dict[str, Any]:  # fmt: skip
    """Fields of the fit, with the leading axes back and NaN where it failed."""
    m, free = len(bad), int(N.shape[-1])
    arrays = [done.centroids.copy(), done.frames[:, 2].copy(), done.residuals.copy()]
    for array in arrays:
        array[bad] = np.nan
    code = np.where(bad, OPEN, CLOSED)
    cofactor = None
    if held.axis is not None:
        cofactor = _cofactor(kind, N, bad, held)
        free = 1 if kind in (PLANE, FLAT) else 2
    if robust is not None:
        code = np.where((code == CLOSED) & ~robust.settled, LIMIT, code)
    fields: dict[str, npt.NDArray[Any]] = {
        "point_mm": arrays[0], axis: arrays[1], "residuals_mm": arrays[2], "frame": done.frames, "normal_matrix": N,
        "rank": np.where(bad, free - 1, free), "iterations": np.full(m, 1 if robust is None else robust.rounds),
        "stopped": np.array(STOPS)[code],
    }  # fmt: skip
    if cofactor is not None:
        fields["cofactor"] = cofactor
    if robust is not None:
        scale, point_u = (np.where(bad, np.nan, value) for value in (robust.scale, robust.point_u))
        fields |= {"set_aside": robust.set_aside, "scale_mm": scale, "point_u_mm": point_u}
        fields["weights"] = W * robust.weights
    out: dict[str, Any] = {name: array.reshape((*lead, *array.shape[1:]))[()] for name, array in fields.items()}
    if robust is None and given is not None:
        out["weights"] = W[0] if len(W) == 1 else W.reshape(*lead, -1)
    return out | {"held": held.names, "loss": loss}
