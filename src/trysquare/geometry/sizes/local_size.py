"""Two-point sizes of a cylinder: what a calliper or micrometer would read across it."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ...core.arrays import Array, points
from ...core.errors import InputError
from ..least_squares.results import CylinderFit
from .results import MODIFIERS, Size, undefined


@dataclass(frozen=True)
class TwoPointSizes:
    """`sizes_mm` (..., k) and the `pairs` (k, 2) of points they stand between; k is 0 where no points are opposite."""

    sizes_mm: Array
    pairs: npt.NDArray[np.int64]


def two_point_sizes(
    points_mm: npt.ArrayLike,
    fit: CylinderFit,
    *,
    tolerance_rad: float,
    along_mm: float | None = None,
    pairs: npt.NDArray[np.int64] | None = None,
) -> TwoPointSizes:
    """Sizes between diametrically opposite points: the sum of their distances from the least-squares axis.

    Parameters
    ----------
    points_mm : (..., n, 3) float, mm
        The points that were fitted. Leading axes are trials.
    fit : CylinderFit of these points
    tolerance_rad : float > 0
        How far from opposite two points may be, as an angle about the axis.
    along_mm : float > 0, optional
        How far apart along the axis; without it the length of the arc of `tolerance_rad`.
    pairs : (k, 2) int, optional
        Pairs found before: draws use those of the value. Without it the first member that was fitted sets them; each
        point goes with the point nearest to its opposite.

    Returns
    -------
    TwoPointSizes

    Raises
    ------
    InputError : a tolerance not above 0, or points of another number than the fit's.

    Notes
    -----
    Method: ISO 14405-1, two-point size (LP), taken along the diameter through the least-squares axis.
    """
    P = points(points_mm, where="two_point_sizes")
    if not tolerance_rad > 0 or (along_mm is not None and not along_mm > 0):
        raise InputError(
            "two_point_sizes", "the tolerance", "be above 0", f"{tolerance_rad} rad, {along_mm} mm",
            "Give how far from opposite two points may be.",
        )  # fmt: skip
    if P.shape[:-1] != fit.residuals_mm.shape:
        raise InputError(
            "two_point_sizes", "the points", "be those of the fit", f"{P.shape[:-1]} and {fit.residuals_mm.shape}",
            "Pass the points that were fitted.",
        )  # fmt: skip
    found = _pairs(P, fit, tolerance_rad, along_mm) if pairs is None else np.asarray(pairs, np.int64).reshape(-1, 2)
    distance = fit.residuals_mm + np.asarray(fit.radius_mm)[..., None]
    return TwoPointSizes(distance[..., found[:, 0]] + distance[..., found[:, 1]], found)


def cylinder_two_point_sizes(
    points_mm: npt.ArrayLike,
    fit: CylinderFit,
    *,
    tolerance_rad: float,
    along_mm: float | None = None,
    pairs: npt.NDArray[np.int64] | None = None,
) -> Size:
    """Two-point sizes LP (..., k) of a cylinder as a `Size`; arguments and errors as `two_point_sizes`.

    Not defined where no two points are opposite, as on an arc of less than half a turn.
    """
    found = two_point_sizes(points_mm, fit, tolerance_rad=tolerance_rad, along_mm=along_mm, pairs=pairs)
    if not len(found.pairs):
        return undefined(
            "LP", found.sizes_mm.shape[:-1], "not defined here: no points are opposite one another", local=True
        )
    return Size(
        modifier="LP", size_mm=found.sizes_mm, local=True, pairs=found.pairs,
        definition=MODIFIERS["LP"][1] + ", along the diameter through the least-squares axis",
    )  # fmt: skip


def _pairs(P: Array, fit: CylinderFit, tolerance: float, along: float | None) -> npt.NDArray[np.int64]:
    """Pairs (k, 2), lower index first, in the first member that was fitted."""
    from scipy.spatial import cKDTree

    n = P.shape[-2]
    good = np.flatnonzero(np.asarray(fit.ok).reshape(-1))
    if not len(good):
        return np.empty((0, 2), np.int64)
    i = good[0]
    d = P.reshape(-1, n, 3)[i] - fit.point_mm.reshape(-1, 3)[i]
    u, v, w = fit.frame.reshape(-1, 3, 3)[i]
    angle, height = np.arctan2(d @ v, d @ u), d @ w
    reach = along if along is not None else tolerance * float(np.asarray(fit.radius_mm).reshape(-1)[i])
    place = np.stack([np.cos(angle), np.sin(angle), height * tolerance / reach], -1)
    _, other = cKDTree(place).query(place * [-1.0, -1.0, 1.0])
    first = np.arange(n)
    apart = np.abs(np.angle(np.exp(1j * (angle - angle[other])) * -1.0))
    fits = (apart <= tolerance) & (np.abs(height - height[other]) <= reach) & (first != other)
    ordered = np.sort(np.stack([first, other], -1)[fits], -1)
    return np.unique(ordered, axis=0).reshape(-1, 2)
