"""Two-point sizes section by section, through the centre of each section's own circle (ISO 14405-1, LP)."""

from typing import Any

import numpy as np
import numpy.typing as npt

from ...core.arrays import Array, points
from ...core.errors import InputError, NumericalError
from ..least_squares.round_shapes import fit_circle
from .results import MODIFIERS, Size, undefined
from .sections import Index, Sections, in_axis_frame


def section_two_point_sizes(
    points_mm: npt.ArrayLike, fit: Any, sections: Sections, *, tolerance_rad: float,
    pairs: npt.NDArray[np.int64] | None = None,
) -> Size:  # fmt: skip
    """Two-point sizes LP (..., k) of a cylinder in its sections.

    The join of two opposite points passes through the centre of the least-squares circle of their section, in a plane
    perpendicular to the axis of the associated cylinder (ISO 17450-3, from memory). `cylinder_two_point_sizes` takes
    the axis of the whole cylinder instead, and needs no sections: on a bent bore the two differ.

    Parameters
    ----------
    points_mm : (..., n, 3) float, mm. Leading axes are trials.
    fit : CylinderFit of these points, or any feature with `point_mm` and `direction`
    sections : as `find_sections` found them on the value
    tolerance_rad : float > 0
        How far from opposite two points may be, as an angle about the centre.
    pairs : (k, 2) int, optional
        Pairs found before: draws use those of the value.

    Returns
    -------
    Size, local, with `pairs` and `heights_mm` of each; not defined where no points are opposite. A section whose points
        carry no circle has no pairs.

    Raises
    ------
    InputError : bad points, a tolerance not above 0, or pairs that no section holds.
    """
    where = "section_two_point_sizes"
    P = points(points_mm, where=where)
    if not tolerance_rad > 0:
        raise InputError(where, "the tolerance", "be above 0", f"{tolerance_rad} rad", "Give an angle.")
    across, _ = in_axis_frame(P, fit)
    wanted = None if pairs is None else np.asarray(pairs, np.int64).reshape(-1, 2)
    sizes, kept, heights = [], [], []
    for height, member in zip(sections.heights_mm, sections.members):
        profile = across[..., member, :]
        if not _carries_a_circle(profile):
            continue
        radius, angle = _polar(profile)
        place = _opposite(angle, tolerance_rad) if wanted is None else _within(member, wanted)
        sizes.append(radius[..., place[:, 0]] + radius[..., place[:, 1]])
        kept.append(member[place])
        heights.append(np.full(len(place), height))
    found = np.concatenate([np.empty((0, 2), np.int64), *kept])
    if wanted is not None and len(found) != len(wanted):
        raise InputError(
            where, "the pairs", "lie in one section each", f"{len(wanted) - len(found)} that do not",
            "Give the pairs and sections of one and the same value.",
        )  # fmt: skip
    if not len(found):
        return undefined("LP", P.shape[:-2], "not defined here: no points are opposite one another", local=True)
    return Size(
        modifier="LP", size_mm=np.concatenate(sizes, -1), local=True, pairs=found, heights_mm=np.concatenate(heights),
        definition=MODIFIERS["LP"][1] + ", along the diameter through the least-squares centre of the section",
    )  # fmt: skip


def _carries_a_circle(profile: Array) -> bool:
    """Whether the first known member of profiles (..., k, 2) lies on a circle, not a line."""
    flat = profile.reshape(-1, *profile.shape[-2:])
    good = np.flatnonzero(np.isfinite(flat).all((-1, -2)))
    try:
        fit_circle(flat[good[:1]])
    except NumericalError:
        return False
    return bool(len(good))


def _polar(profile: Array) -> tuple[Array, Array]:
    """Distances (..., k) from the least-squares centre, and angles (k,) about it of the first known member."""
    flat = profile.reshape(-1, *profile.shape[-2:])
    good = np.flatnonzero(np.isfinite(flat).all((-1, -2)))
    d = np.full(flat.shape, np.nan)
    d[good] = flat[good] - fit_circle(flat[good]).center_mm[:, None]
    radius = np.hypot(d[..., 0], d[..., 1]).reshape(profile.shape[:-1])
    first = d[np.isfinite(d).all((-1, -2))][0]
    return radius, np.arctan2(first[:, 1], first[:, 0])


def _opposite(angle: Array, tolerance: float) -> Index:
    """Pairs of places (k, 2) that are opposite: each point goes with the nearest to its opposite."""
    from scipy.spatial import cKDTree

    place = np.stack([np.cos(angle), np.sin(angle)], -1)
    chord, other = cKDTree(place).query(-place)
    first = np.arange(len(angle))
    fits = (2 * np.arcsin(np.minimum(chord / 2, 1.0)) <= tolerance) & (other != first)
    ordered = np.sort(np.stack([first, other], -1)[fits], -1)
    return np.asarray(np.unique(ordered, axis=0).reshape(-1, 2), dtype=np.int64)


def _within(member: Index, pairs: Index) -> Index:
    """Those of the pairs (of points) that lie in a section, as places in it."""
    order = np.argsort(member)
    at = np.minimum(np.searchsorted(member[order], pairs), len(member) - 1)
    place = order[at]
    return np.asarray(place[(member[place] == pairs).all(-1)], dtype=np.int64)
