"""Gaussian filter of open and closed profiles (ISO 16610-21), its ends by local regression (as in ISO 16610-28)."""

import numpy as np
import numpy.typing as npt

from ...core.arrays import Array
from ...core.errors import InputError
from .places import Places, checked_heights, closed_places, open_places
from .regression import regression
from .result import ALPHA, Filtered

_HOW = {0: "level", 1: "straight line", 2: "parabola"}


def gaussian_profile(
    heights_mm: npt.ArrayLike,
    *,
    cutoff_mm: float,
    spacing_mm: float | None = None,
    positions_mm: npt.ArrayLike | None = None,
    order: int = 1,
) -> Filtered:
    """Long-wave and short-wave parts of an open profile.

    Parameters
    ----------
    heights_mm : (..., n) float, finite, n >= 3
        Leading axes are draws.
    cutoff_mm : wavelength of which half the amplitude passes; from two spacings to the length of the profile
    spacing_mm : of even samples; or
    positions_mm : (n,) ascending; each sample counts for the length it stands for
    order : 0, 1 or 2
        Polynomial fitted around each sample. 0 and 1 are the Gaussian of ISO 16610-21; at the ends 0 lets a level
        pass unchanged, 1 a straight line too. 2 lets parabolas pass everywhere and cuts more steeply, with the
        alpha of ISO 16610-31.

    Returns
    -------
    Filtered : long_mm, short_mm (..., n); affected (n,), `masked()` sets those samples to NaN.

    Raises
    ------
    InputError : values that are not finite, places that do not ascend, a cut-off too short for the spacing or longer
        than the profile.

    Notes
    -----
    Method: weighting function exp(-pi (x / (alpha cutoff))^2) / (alpha cutoff), alpha = sqrt(ln 2 / pi), cut where it
    is 1e-15 of its top. Even samples by Fourier transforms, others pair by pair. Checked:
    tests/reference/test_against_iso_16610_gaussian.py.
    """
    where = "gaussian_profile"
    Z = checked_heights(heights_mm, where)
    places = open_places(Z.shape[-1], cutoff_mm, spacing_mm, positions_mm, where)
    return gaussian(Z, places, checked_order(order, where))


def gaussian_closed(
    heights_mm: npt.ArrayLike,
    *,
    cutoff_upr: float | None = None,
    cutoff_mm: float | None = None,
    radius_mm: float | None = None,
    angles_rad: npt.ArrayLike | None = None,
    order: int = 1,
) -> Filtered:
    """Long-wave and short-wave parts of a profile that closes on itself, such as a roundness profile.

    Parameters
    ----------
    heights_mm : (..., n) float, finite, n >= 3
        Radii or residuals in the order of their angles. Leading axes are draws.
    cutoff_upr : undulations per revolution of which half the amplitude passes, at least 1; or
    cutoff_mm, radius_mm : the same as a wavelength along the circumference
    angles_rad : (n,) ascending within one turn; without it even samples all round
        A step longer than half a cut-off is a gap: its edges are taken as ends.
    order : as `gaussian_profile`; without gaps 0 and 1 are the same on even samples

    Returns
    -------
    Filtered : as `gaussian_profile`; `affected` only beside gaps. No phase is shifted.

    Raises
    ------
    InputError : as `gaussian_profile`, or a cut-off below 1 UPR.

    Notes
    -----
    Method: as `gaussian_profile`, round the profile (ISO 16610-21, closed profiles).
    """
    where = "gaussian_closed"
    Z = checked_heights(heights_mm, where)
    places = closed_places(Z.shape[-1], cutoff_upr, cutoff_mm, radius_mm, angles_rad, where)
    return gaussian(Z, places, checked_order(order, where))


def gaussian(Z: Array, places: Places, order: int) -> Filtered:
    """Filter checked heights at checked places."""
    values, carried = regression(Z.reshape(-1, Z.shape[-1]), places, order)
    long = values.reshape(Z.shape)
    affected = places.affected(reach(places, order))
    notes = (*places.notes, *end_notes(affected, bool(places.turn)), *lost_notes(~carried[0]))
    return Filtered(
        long_mm=long, short_mm=Z - long, affected=affected | ~carried[0], method=method_text(places, order), notes=notes
    )


def reach(places: Places, order: int) -> float:
    """How far from an end the weighting function loses more than 0.4 %: half a cut-off for the Gaussian."""
    return 0.5 * ALPHA[order] / ALPHA[0] * places.cutoff


def method_text(places: Places, order: int, *, head: str = "Gaussian filter (ISO 16610-21)") -> str:
    """What was done, in a sentence."""
    if order == 2:
        head = head.replace("Gaussian filter (ISO 16610-21)", "Gaussian regression of order 2 (alpha of ISO 16610-31)")
    cut = f"{2 * np.pi / places.cutoff:.6g} UPR" if places.turn else f"{places.cutoff:.6g} mm"
    ends = f"; at ends a {_HOW[order]} passes unchanged" if places.gaps.any() else ""
    return f"{head}, cut-off {cut}, 50 % of the amplitude passes there{ends}."


def end_notes(affected: npt.NDArray[np.bool_], closed: bool) -> tuple[str, ...]:
    """How many samples the ends touch."""
    if not affected.any():
        return ()
    if affected.all():
        return ("Every sample lies so near an end that its value rests on the ends.",)
    if closed:
        return (f"Near the edge of a gap, where part of the weighting function is lost: {affected.sum()} samples.",)
    inside = np.flatnonzero(~affected)
    a, b = int(inside[0]), int(len(affected) - 1 - inside[-1])
    return (f"So near an end that part of the weighting function is lost: {a} samples at the start, {b} at the end.",)


def lost_notes(lost: npt.NDArray[np.bool_]) -> tuple[str, ...]:
    """Samples without a value."""
    return (f"No value (NaN) for want of neighbours that count: {lost.sum()} samples.",) if lost.any() else ()


def checked_order(order: int, where: str) -> int:
    """0, 1 or 2."""
    if order not in ALPHA or isinstance(order, bool):
        raise InputError(where, "the order", "be 0, 1 or 2", f"{order!r}", "Take 1: the Gaussian, with sound ends.")
    return int(order)
