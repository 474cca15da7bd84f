"""What a filter returns, and the share of an undulation that each filter lets pass."""

import math
from dataclasses import dataclass, replace
from typing import Self

import numpy as np
import numpy.typing as npt

from ...core.arrays import Array

Mask = npt.NDArray[np.bool_]

#: Width of the weighting function exp(-pi (x / (alpha cutoff))^2) for 50 % transmission at the cut-off, by the order of
#: the local polynomial. Orders 0 and 1 are the Gaussian itself: exp(-pi alpha^2) = 1/2. For order 2 the transmission
#: is (1 + v) exp(-v), v = pi (alpha cutoff / wavelength)^2, one half at v = 1.6783...
ALPHA = {
    0: math.sqrt(math.log(2.0) / math.pi),
    1: math.sqrt(math.log(2.0) / math.pi),
    2: math.sqrt(1.6783469900166605 / math.pi),
}


@dataclass(frozen=True, kw_only=True)
class Filtered:
    """The two parts of a profile or surface, which add up to what was given.

    long_mm, short_mm (..., n) or (..., ny, nx): longer and shorter than the cut-off.
    affected (n,) or (ny, nx): samples so near an end, an edge or a gap that more than 0.4 % of the weighting function
    falls outside what was measured (half a cut-off for the Gaussian).
    method: what was done, in a sentence; notes: what the reader must know about this profile.
    """

    long_mm: Array
    short_mm: Array
    affected: Mask
    method: str
    notes: tuple[str, ...] = ()

    @property
    def at_ends(self) -> tuple[int, int]:
        """Affected samples at the start and at the end of a profile."""
        inside = np.flatnonzero(~self.affected)
        n = self.affected.shape[-1]
        return (n, n) if not len(inside) else (int(inside[0]), int(n - 1 - inside[-1]))

    def masked(self) -> Self:
        """The same with NaN at the affected samples."""
        parts = {name: np.where(self.affected, np.nan, getattr(self, name)) for name in ("long_mm", "short_mm")}
        return replace(self, **parts)  # type: ignore[arg-type]


@dataclass(frozen=True, kw_only=True)
class RobustFiltered(Filtered):
    """As `Filtered`; also how far each sample counted.

    weights, as the heights: 1 counts in full, 0 is set aside. iterations, stopped (...): of each member.
    """

    weights: Array
    iterations: npt.NDArray[np.int64]
    stopped: npt.NDArray[np.str_]


def gaussian_transmission(ratio: npt.ArrayLike, *, order: int = 0) -> Array:
    """Share of the amplitude in the long-wave part, away from ends; `ratio` is wavelength / cut-off, above 0.

    Source: ISO 16610-21 for orders 0 and 1; for order 2 derived from its weighting function (Fourier transform of
    (3/2 - pi t^2) exp(-pi t^2)), used by ISO 16610-31.
    """
    v = np.pi * (ALPHA[order] / np.asarray(ratio, dtype=np.float64)) ** 2
    return np.exp(-v) * (1.0 + v if order == 2 else 1.0)


def spline_transmission(ratio: npt.ArrayLike, *, samples: float, tension: float = 0.0) -> Array:
    """The same for the spline filter with `samples` samples a cut-off.

    1 / (1 + tension q^2 + (1 - tension) q^4) with q = sin(pi dx / wavelength) / sin(pi dx / cut-off): derived from the
    equations of ISO 16610-22, which are quoted from memory.
    """
    r = np.asarray(ratio, dtype=np.float64)
    q2 = (np.sin(np.pi / (samples * r)) / math.sin(math.pi / samples)) ** 2
    return 1.0 / (1.0 + tension * q2 + (1.0 - tension) * q2 * q2)
