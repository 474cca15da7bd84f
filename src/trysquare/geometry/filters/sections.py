"""Filters on measured points: round a circle or a section of a cylinder, and along a line in a plane."""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any, Protocol

import numpy as np
import numpy.typing as npt

from ...core.arrays import Array, finite, points
from ...core.errors import InputError
from .gaussian import gaussian_closed, gaussian_profile
from .places import TURN
from .result import Filtered
from .robust import robust_gaussian_closed, robust_gaussian_profile
from .spline import spline_closed, spline_profile

_CLOSED: dict[str, Callable[..., Filtered]] = {
    "gaussian": gaussian_closed, "robust": robust_gaussian_closed, "spline": spline_closed,
}  # fmt: skip
_OPEN: dict[str, Callable[..., Filtered]] = {
    "gaussian": gaussian_profile, "robust": robust_gaussian_profile, "spline": spline_profile,
}  # fmt: skip
_GAP = 5.0  # median steps: a longer one is not bridged


class Round(Protocol):
    """A fit with a radius; also `center_mm` or `point_mm`, and `normal` or `direction` in space."""

    @property
    def radius_mm(self) -> Array: ...


class Straight(Protocol):
    """A line in a plane."""

    @property
    def point_mm(self) -> Array: ...
    @property
    def direction(self) -> Array: ...


@dataclass(frozen=True, kw_only=True)
class FilteredSection:
    """What a filter makes of points about a fit, in the order of the points.

    places (n,): angles, rad, or lengths along the line, mm. filtered: the parts of the residuals (..., n).
    points_mm (..., n, d): the points moved, square to the fit, by the short-wave part.
    """

    places: Array
    filtered: Filtered
    points_mm: Array

    @property
    def form_mm(self) -> Array:
        """Largest less smallest long-wave residual (...), of the samples that no end touches."""
        long = self.filtered.long_mm[..., ~self.filtered.affected]
        return np.ptp(long, axis=-1) if long.shape[-1] else np.full(long.shape[:-1], np.nan)


def filter_section(
    points_mm: npt.ArrayLike,
    fit: Round,
    *,
    cutoff_upr: float | None = None,
    cutoff_mm: float | None = None,
    kind: str = "gaussian",
    order: int | None = None,
    tension: float = 0.0,
) -> FilteredSection:
    """Filter the radial residuals of one ring of points about a fitted circle or cylinder.

    Parameters
    ----------
    points_mm : (..., n, 2 or 3) float, mm
        In any order, over one turn or part of one. Leading axes are draws; the first sets the order of all.
    fit : a circle or cylinder of these points, by any criterion
    cutoff_upr, or cutoff_mm along the circumference of the (first) radius
    kind : "gaussian", "robust" or "spline"
    order : of the Gaussian ones, else their own; tension : of the spline, which needs even angles

    Returns
    -------
    FilteredSection : angles about the axis from the projection of x (of y where x lies near the axis), right-handed.

    Raises
    ------
    InputError : points of another shape than the fit's, two points at one angle; as `gaussian_closed`.
    """
    where = "filter_section"
    P, center, axis = _about(points_mm, fit, where)
    radius = np.asarray(fit.radius_mm, dtype=np.float64)
    d = P - center[..., None, :]
    if axis is not None:
        d = d - (d * axis[..., None, :]).sum(-1, keepdims=True) * axis[..., None, :]
    distance = np.linalg.norm(d, axis=-1)
    angles = _angles(d.reshape(-1, *d.shape[-2:])[0], None if axis is None else axis.reshape(-1, 3)[0])
    order_of = np.argsort(angles, kind="stable")
    options: dict[str, Any] = {"cutoff_upr": cutoff_upr, "cutoff_mm": cutoff_mm, "angles_rad": angles[order_of]}
    if cutoff_mm is not None:
        options["radius_mm"] = float(radius.reshape(-1)[0])
    by = _by(kind, _CLOSED, where)
    part = _unsorted(
        by((distance - radius[..., None])[..., order_of], **options, **_own(kind, order, tension)), order_of
    )
    moved = P - part.short_mm[..., None] * (d / np.where(distance > 0, distance, 1.0)[..., None])
    return FilteredSection(places=angles, filtered=part, points_mm=moved)


def filter_line(
    points_mm: npt.ArrayLike, fit: Straight, *, cutoff_mm: float, kind: str = "gaussian", order: int | None = None,
    tension: float = 0.0,
) -> FilteredSection:  # fmt: skip
    """Filter the residuals of points in a plane along a fitted line, positive on the left of its direction.

    Parameters
    ----------
    points_mm : (..., n, 2) float, mm, in any order; the first draw sets the order of all
    fit : a line of these points, by any criterion
    cutoff_mm, kind, order, tension : as `filter_section` and `gaussian_profile`

    Raises
    ------
    InputError : points in space, whose distances from a line have no sign; as `gaussian_profile`.
    """
    where = "filter_line"
    P = points(points_mm, at_least=3, dims=2, where=where)
    at, along = np.asarray(fit.point_mm, dtype=np.float64), np.asarray(fit.direction, dtype=np.float64)
    _same(P, at, where)
    left = np.stack([-along[..., 1], along[..., 0]], -1)
    d = P - at[..., None, :]
    heights, lengths = (d * left[..., None, :]).sum(-1), (d * along[..., None, :]).sum(-1)
    place = lengths.reshape(-1, P.shape[-2])[0]
    order_of = np.argsort(place, kind="stable")
    by, own = _by(kind, _OPEN, where), _own(kind, order, tension)
    part = _unsorted(
        by(heights[..., order_of], cutoff_mm=cutoff_mm, positions_mm=place[order_of], **own), order_of
    )  # fmt: skip
    return FilteredSection(
        places=place, filtered=part, points_mm=P - part.short_mm[..., None] * left[..., None, :]
    )  # fmt: skip


def evenly_around(
    angles_rad: npt.ArrayLike, heights_mm: npt.ArrayLike, *, count: int
) -> tuple[Array, Array]:  # fmt: skip
    """Angles (count,) from 0 and heights (..., count) there, by the cubic spline that closes on itself.

    Parameters
    ----------
    angles_rad : (n,) ascending within one turn, without a gap of more than five usual steps
    heights_mm : (..., n)

    Raises
    ------
    InputError : angles that do not ascend, a gap.
    """
    from scipy.interpolate import CubicSpline

    where = "evenly_around"
    at, Z = np.asarray(angles_rad, dtype=np.float64), np.asarray(heights_mm, dtype=np.float64)
    if at.ndim != 1 or len(at) < 3 or Z.shape[-1:] != at.shape or count < 3:
        raise InputError(
            where, "the shapes", "be (n,) angles and (..., n) heights, 3 or more", f"{at.shape}, {Z.shape}, {count}",
            "Give one height for each angle.",
        )  # fmt: skip
    finite(at, where=f"{where}: angles")
    finite(Z, where=f"{where}: heights")
    steps = np.append(np.diff(at), at[0] + TURN - at[-1])
    if not (steps > 0).all() or steps.max() > _GAP * np.median(steps):
        raise InputError(
            where, "angles_rad", "ascend within one turn without a gap",
            f"steps from {steps.min():.3g} to {steps.max():.3g} rad",
            "Sort the points, and filter an arc with a gap by gaussian_closed.",
        )  # fmt: skip
    even = np.arange(count, dtype=np.float64) * (TURN / count)
    closed = np.concatenate([Z, Z[..., :1]], -1)
    spline = CubicSpline(np.append(at, at[0] + TURN), closed, axis=-1, bc_type="periodic")
    heights: Array = spline(at[0] + np.mod(even - at[0], TURN))
    return even, heights


def _about(value: npt.ArrayLike, fit: Round, where: str) -> tuple[Array, Array, Array | None]:
    """Points, centre (..., d) and, in space, unit axis (..., 3)."""
    center = getattr(fit, "center_mm", None)
    center = np.asarray(fit.point_mm if center is None else center, dtype=np.float64)  # type: ignore[attr-defined]
    P = points(value, at_least=3, dims=center.shape[-1], where=where)
    _same(P, center, where)
    if center.shape[-1] == 2:
        return P, center, None
    normal = getattr(fit, "normal", None)
    axis = np.asarray(fit.direction if normal is None else normal, dtype=np.float64)  # type: ignore[attr-defined]
    return P, center, axis


def _same(P: Array, at: Array, where: str) -> None:
    if P.shape[:-2] != at.shape[:-1]:
        raise InputError(
            where, "the points", "be those of the fit", f"leading axes {P.shape[:-2]} and {at.shape[:-1]}",
            "Pass the points that were fitted.",
        )  # fmt: skip
    finite(at, where=f"{where}: the fit")


def _angles(d: Array, axis: Array | None) -> Array:
    """Angles (n,) in [0, 2 pi) of radial vectors (n, 2 or 3)."""
    if axis is None:
        return np.mod(np.arctan2(d[:, 1], d[:, 0]), TURN)
    hint = np.eye(3)[0 if abs(axis[0]) < math.sqrt(0.5) else 1]
    u = hint - (hint @ axis) * axis
    u /= np.linalg.norm(u)
    return np.mod(np.arctan2(d @ np.cross(axis, u), d @ u), TURN)


def _by(kind: str, filters: dict[str, Callable[..., Filtered]], where: str) -> Callable[..., Filtered]:
    if kind not in filters:
        raise InputError(where, "the kind of filter", f"be {', '.join(filters)}", f"{kind!r}", "Take one of these.")
    return filters[kind]


def _own(kind: str, order: int | None, tension: float) -> dict[str, Any]:
    if kind == "spline":
        return {"tension": tension}
    return {} if order is None else {"order": order}


def _unsorted(part: Filtered, order_of: npt.NDArray[np.intp]) -> Filtered:
    """The parts back in the order of the points."""
    back = np.argsort(order_of, kind="stable")
    arrays = {name: getattr(part, name)[..., back] for name in ("long_mm", "short_mm", "affected")}
    weights = getattr(part, "weights", None)
    return replace(part, **arrays, **({} if weights is None else {"weights": weights[..., back]}))
