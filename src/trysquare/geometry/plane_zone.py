"""Minimum zone of a plane: flatness as the part standards mean it."""

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from ..core.arrays import Array
from ..core.threads import over_slices
from .axes import read_toward, turned
from .kernels.flat import flat_zone
from .linear import fit_plane

_SLICE = 64


@dataclass(frozen=True)
class PlaneZone:
    """The two nearest parallel planes that hold the points.

    `width_mm` (...); `point_mm` (..., 3) of the middle plane, nearest the centroid; `normal` (..., 3) unit;
    `residuals_mm` (..., n) from the middle plane. `contacts` (..., 4) are the points that hold the zone (-1 where a
    place is free); `gap_mm` (...) is the width less the lower bound that they prove: nothing but rounding.
    """

    width_mm: Array
    point_mm: Array
    normal: Array
    residuals_mm: Array
    contacts: npt.NDArray[np.int64]
    gap_mm: Array
    iterations: npt.NDArray[np.int64]


def flatness(points_mm: npt.ArrayLike) -> Array:
    """Width (...) of the minimum zone of points (..., n, 3): see `minimum_zone_plane`."""
    return minimum_zone_plane(points_mm).width_mm


def minimum_zone_plane(points_mm: npt.ArrayLike, *, toward: npt.ArrayLike | None = None) -> PlaneZone:
    """Find the two parallel planes, nearest to one another, that hold the points between them (ISO 1101, flatness).

    Parameters
    ----------
    points_mm : (..., n, 3) float, n >= 3, finite
        Points in one frame, mm. Leading axes are trials.
    toward : (3,) or (..., 3), optional
        The normal is flipped to have no negative product with it.

    Returns
    -------
    PlaneZone

    Raises
    ------
    InputError, RankError : as `fit_plane`.

    Notes
    -----
    Method: exact linear Chebyshev fit (`zone_width`) over the least-squares plane, turned to its own normal and solved
    again until the width no longer falls. It is the smallest zone near that plane: for points that are flat (width
    well below their extent) the smallest of all. Checked: tests/reference/test_zone_made_backwards.py to 1e-11 mm.
    """
    start = fit_plane(points_mm)
    lead, n = start.residuals_mm.shape[:-1], start.residuals_mm.shape[-1]
    P = np.ascontiguousarray(np.asarray(points_mm, dtype=np.float64).reshape(-1, n, 3))
    hint = read_toward(toward, lead, "minimum_zone_plane")
    m = len(P)
    centroids = np.array(start.point_mm).reshape(m, 3)
    frames = np.array(start.frame).reshape(m, 3, 3)
    widths, middles, gaps = np.empty(m), np.empty(m), np.empty(m)
    contacts, turns = np.empty((m, 4), np.int64), np.empty(m, np.int64)
    over_slices(
        lambda a, b: flat_zone(
            P[a:b], centroids[a:b], frames[a:b], widths[a:b], middles[a:b], gaps[a:b], contacts[a:b], turns[a:b]
        ),
        m, size=_SLICE,
    )  # fmt: skip
    sense = frames[:, 2]
    normals = turned(sense, hint)
    points = centroids + middles[:, None] * sense
    residuals = np.einsum("mni,mi->mn", P - points[:, None], normals)
    fields = (widths, points, normals, residuals, contacts, gaps, turns)
    return PlaneZone(*(_shaped(x, lead, ~np.isfinite(centroids[:, 0])) for x in fields))


def _shaped(array: npt.NDArray[Any], lead: tuple[int, ...], bad: npt.NDArray[np.bool_]) -> Any:
    """The array with the leading axes back; NaN (-1 for whole numbers) where no plane could be fitted."""
    if bad.any():
        array[bad] = np.nan if array.dtype.kind == "f" else -1
    return array.reshape((*lead, *array.shape[1:]))[()]
