"""Sizes that decide a fit: mating size, and the two sizes of the envelope requirement."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..least_squares.results import CylinderFit
from .global_sizes import global_size
from .local_size import cylinder_two_point_sizes
from .results import Size, rank_order
from .widths import width_size, width_two_point_sizes


@dataclass(frozen=True, kw_only=True)
class Envelope:
    """The two sizes of the envelope requirement (ISO 14405-1, E; ASME Y14.5, rule 1): `mating` (...) against the limit
    of most material, `local` (...), the extreme two-point size, against that of least material.

    Of a shaft or tab (external) the mating size has the upper limit, of a hole or slot the lower.
    """

    mating: Size
    local: Size
    external: bool


def mating_size(
    points_mm: npt.ArrayLike, *, external: bool, shape: str = "cylinder", direction: npt.ArrayLike | None = None,
    toward: npt.ArrayLike | None = None,
) -> Size:  # fmt: skip
    """Size of the actual mating envelope of a shaft, hole or ball (ASME Y14.5.1).

    Parameters
    ----------
    points_mm : (..., n, 3) float, mm
    external : True for a shaft: the smallest cylinder around it; False for a hole: the largest inside it
    shape, toward : as `global_size`
    direction : (3,), optional
        Axis given by datums: the related envelope. Without it, the unrelated one.

    Returns
    -------
    Size, not defined on partial arcs as `global_size`.

    Raises
    ------
    InputError, RankError, ConvergenceError : as `global_size`.
    """
    return global_size(points_mm, "GN" if external else "GX", shape=shape, direction=direction, toward=toward)


def envelope_of_cylinder(
    points_mm: npt.ArrayLike, fit: CylinderFit, *, external: bool, tolerance_rad: float, along_mm: float | None = None,
    pairs: npt.NDArray[np.int64] | None = None, toward: npt.ArrayLike | None = None,
) -> Envelope:  # fmt: skip
    """Mating size and extreme two-point size of a shaft or hole from its points (..., n, 3) mm.

    `fit`, `tolerance_rad`, `along_mm` and `pairs` as `two_point_sizes`.
    """
    local = cylinder_two_point_sizes(points_mm, fit, tolerance_rad=tolerance_rad, along_mm=along_mm, pairs=pairs)
    return Envelope(
        mating=mating_size(points_mm, external=external, toward=toward), external=external,
        local=rank_order(local, "SN" if external else "SX"),
    )  # fmt: skip


def envelope_of_width(
    first_mm: npt.ArrayLike,
    second_mm: npt.ArrayLike,
    *,
    external: bool,
    reach_mm: float,
    pairs: npt.NDArray[np.int64] | None = None,
) -> Envelope:
    """Mating size and extreme two-point size of a tab (external) or slot; arguments as `width_two_point_sizes`."""
    local = width_two_point_sizes(first_mm, second_mm, reach_mm=reach_mm, pairs=pairs)
    return Envelope(
        mating=width_size(first_mm, second_mm, "GN" if external else "GX"), external=external,
        local=rank_order(local, "SN" if external else "SX"),
    )  # fmt: skip
