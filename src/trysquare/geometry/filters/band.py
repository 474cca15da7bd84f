"""Band-pass: what lies between two cut-offs, by any of the filters."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from ...core.arrays import Array
from ...core.errors import InputError
from .result import Filtered, Mask


@dataclass(frozen=True, kw_only=True)
class Band:
    """Three parts that add up to what was given: longer than both cut-offs, between them, shorter than both.

    affected: samples that the ends touch, of either filter. finer, coarser: the two filters as they were applied.
    """

    long_mm: Array
    band_mm: Array
    short_mm: Array
    affected: Mask
    finer: Filtered
    coarser: Filtered

    @property
    def notes(self) -> tuple[str, ...]:
        """What either filter notes, once."""
        return tuple(dict.fromkeys((*self.finer.notes, *self.coarser.notes)))


def band_pass(
    heights_mm: npt.ArrayLike,
    by: Callable[..., Filtered],
    *,
    cutoffs_mm: tuple[float, float] | None = None,
    cutoffs_upr: tuple[float, float] | None = None,
    **options: Any,
) -> Band:
    """Filter twice: first what is shorter than the finer cut-off goes, then what is longer than the coarser.

    Parameters
    ----------
    heights_mm : as `by` takes them
    by : `gaussian_profile`, `gaussian_closed`, `gaussian_areal`, `spline_profile`, ...
    cutoffs_mm, cutoffs_upr : the two cut-offs in either order; one of the two
    options : passed on to `by` (spacing_mm, angles_rad, order, ...)

    Returns
    -------
    Band

    Raises
    ------
    InputError : not two different cut-offs; as `by`.

    Notes
    -----
    A linear filter passes T(finer) (1 - T(coarser)) of an undulation's amplitude.
    """
    if (cutoffs_mm is None) == (cutoffs_upr is None):
        raise InputError(
            "band_pass", "the cut-offs", "be given once", f"cutoffs_mm {cutoffs_mm}, cutoffs_upr {cutoffs_upr}",
            "Give cutoffs_mm or cutoffs_upr.",
        )  # fmt: skip
    name, pair = ("cutoff_mm", cutoffs_mm) if cutoffs_mm is not None else ("cutoff_upr", cutoffs_upr)
    if pair is None or len(pair) != 2 or not pair[0] != pair[1]:
        raise InputError("band_pass", "the cut-offs", "be two different numbers", f"{pair}", "Give two cut-offs.")
    fine, coarse = sorted(pair, reverse=name == "cutoff_upr")
    finer = by(heights_mm, **{name: fine}, **options)
    if not np.isfinite(finer.long_mm).all():
        raise InputError(
            "band_pass", "the finer filter", "give a value at every sample", "; ".join(finer.notes),
            "Take a longer finer cut-off, or drop the samples that stand alone.",
        )  # fmt: skip
    coarser = by(finer.long_mm, **{name: coarse}, **options)
    return Band(
        long_mm=coarser.long_mm, band_mm=coarser.short_mm, short_mm=finer.short_mm,
        affected=finer.affected | coarser.affected, finer=finer, coarser=coarser,
    )  # fmt: skip
