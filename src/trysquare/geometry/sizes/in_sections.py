"""Sizes in sections of a cylinder, and its volume diameter."""

from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

from ...core.arrays import Array, points
from ...core.errors import NumericalError
from ..least_squares.round_shapes import fit_circle
from .global_sizes import associated
from .profile_sizes import area_and_circumference, volume_diameter
from .results import MODIFIERS, Size, known, largest_gap, least_proven, undefined
from .sections import Sections, in_axis_frame

SECTION = ("GG", "GX", "GN", "GC", "CC", "CA")
OPEN_RAD = np.pi / 6  # the largest gap over which a closed profile may be drawn: 30 degrees (our choice)
ROUGH = 1e-4  # share by which a circumference may change when every second point is left out (our choice)
_ROUGH_WORDS = (
    "not defined here: the circumference, for its area, changes by {:.2g} % when every second point is left out, so it "
    "measures the roughness: filter the profile first"
)
HALF_TURN = np.pi * (1 - 1e-9)


def section_sizes(
    points_mm: npt.ArrayLike, fit: Any, sections: Sections, modifier: str, *, largest_gap_rad: float = OPEN_RAD
) -> Size:
    """Section sizes (..., s) of a cylinder: one global or calculated size in each section perpendicular to its axis.

    Parameters
    ----------
    points_mm : (..., n, 3) float, mm. Leading axes are trials.
    fit : CylinderFit of these points, or any feature with `point_mm` and `direction`
    sections : as `find_sections` found them on the value
    modifier : GG, GX, GN, GC (associated circle), CC (circumference), CA (area)
    largest_gap_rad : the largest angle without points over which CC and CA close a profile.

    Returns
    -------
    Size, local, with `heights_mm`. Not defined, with the reason: CC and CA over a larger gap; CC of a rough profile,
        whose length for its area changes by more than 1e-4 when every second point is left out; GX and GN where the
        points leave half a turn or more free, because nothing holds the circle there; any with no section.

    Raises
    ------
    InputError : another modifier, or wrong points.

    Notes
    -----
    Method: associated circles as `fit_circle` and the minimax circles; CC and CA from a closed spline through the
    points.
    """
    P = points(points_mm, where="section_sizes")
    known(modifier, SECTION, "section_sizes")
    if not sections.members:
        return undefined(modifier, P.shape[:-2], "no section holds enough points", local=True)
    across, _ = in_axis_frame(P, fit)
    found = [_in_section(across[..., m, :], modifier, largest_gap_rad) for m in sections.members]
    reasons = tuple(one.reason for one in found)
    return Size(
        modifier=modifier, size_mm=np.stack([one.size_mm for one in found], -1), local=True,
        definition=MODIFIERS[modifier][1] + ", in a section across the axis", heights_mm=sections.heights_mm,
        reason=reasons[0] if all(reasons) else "", reasons=reasons,
        proof=least_proven([one.proof for one in found]) if modifier in ("GX", "GN", "GC") else "",
    )  # fmt: skip


def volume_size(points_mm: npt.ArrayLike, fit: Any, sections: Sections, *, largest_gap_rad: float = OPEN_RAD) -> Size:
    """Volume diameter CV (...) of a cylinder between its first and last section, as `section_sizes`.

    Not defined on fewer than two sections, or where one of them has no area.
    """
    areas = section_sizes(points_mm, fit, sections, "CA", largest_gap_rad=largest_gap_rad)
    lead = areas.size_mm.shape[:-1]
    why = next((r for r in areas.reasons if r), areas.reason)
    if not why and len(sections.members) < 2:
        why = "one section alone encloses no volume"
    if why:
        return undefined("CV", lead, why)
    order = np.argsort(sections.heights_mm)
    area = np.pi / 4 * areas.size_mm[..., order] ** 2
    unknown = np.asarray(np.isnan(area).any(-1))
    value = volume_diameter(np.where(unknown[..., None], 1.0, area), sections.heights_mm[order])
    return Size(modifier="CV", size_mm=np.where(unknown, np.nan, value)[()], definition=MODIFIERS["CV"][1])


class _Found(NamedTuple):
    """Size (...) in one section, why there is none, and what proves it."""

    size_mm: Array
    reason: str = ""
    proof: str = ""


def _in_section(profile: Array, modifier: str, gap_rad: float) -> _Found:
    """Of profiles (..., k, 2)."""
    gap = _gap(profile)
    limit = gap_rad if modifier in ("CC", "CA") else HALF_TURN if modifier in ("GX", "GN") else 2 * np.pi
    if profile.shape[-2] < 3 or not gap < limit:
        return _Found(np.full(profile.shape[:-2], np.nan), _why(modifier, gap))
    known = np.asarray(np.isfinite(profile).all((-1, -2)))
    if not known.ndim:
        return _of_known(profile, modifier)
    found = _of_known(profile[known], modifier)
    sizes = np.full(known.shape, np.nan)
    sizes[known] = found.size_mm
    return found._replace(size_mm=sizes)


def _of_known(profile: Array, modifier: str) -> _Found:
    """Of profiles (..., k, 2) without NaN."""
    if modifier in ("CC", "CA"):
        found = area_and_circumference(profile, np.asarray(fit_circle(profile).center_mm))
        if modifier == "CA":
            return _Found(2 * np.sqrt(found.area_mm2 / np.pi))
        doubt = float(np.nanmin(found.length_doubt))
        if not doubt < ROUGH:
            return _Found(np.full(profile.shape[:-2], np.nan), _ROUGH_WORDS.format(100 * doubt))
        return _Found(found.length_mm / np.pi)
    fit = associated("circle", modifier)(profile)
    proof = "" if modifier == "GG" else least_proven(fit.certificate.kind)
    return _Found(2 * np.asarray(fit.radius_mm), proof=proof)


def _gap(profile: Array) -> float:
    """Largest angle without points about the least-squares circle of the first known member: 2 pi on a line."""
    flat = profile.reshape(-1, *profile.shape[-2:])
    good = np.flatnonzero(np.isfinite(flat).all((-1, -2)))
    if not len(good) or flat.shape[-2] < 3:
        return 2 * np.pi
    try:
        d = flat[good[0]] - fit_circle(flat[good[0]]).center_mm
    except NumericalError:
        return 2 * np.pi
    return float(largest_gap(np.arctan2(d[:, 1], d[:, 0])))


def _why(modifier: str, gap: float) -> str:
    if gap >= 2 * np.pi:
        return "not defined here: the points of the section carry no circle"
    degrees = f"the points leave {np.degrees(gap):.0f} degrees free"
    if modifier in ("CC", "CA"):
        return f"not defined here: {degrees}, so the section is not closed"
    return f"not defined here: {degrees}, and nothing on the other side holds the circle"
