"""Spline filter of even profiles (ISO 16610-22), open with natural ends or closed."""

import math

import numpy as np
import numpy.typing as npt

from ...core.arrays import Array
from ...core.errors import InputError
from ...core.threads import over_slices
from .gaussian import end_notes
from .places import Places, checked_heights, closed_places, open_places
from .result import Filtered

#: Tension at which the spline filter comes near the Gaussian (ISO/TS 16610-22:2006 as quoted by D. Ott, H. Zhang,
#: X. Zhao, J. Song, "Analysis of the boundary conditions of the spline filter", Meas. Sci. Technol. 2015).
GAUSSIAN_LIKE = 0.62524
_LOST = 0.5 * math.erfc(0.5 * math.sqrt(math.pi) / math.sqrt(math.log(2.0) / math.pi))  # as for the Gaussian: 0.4 %
_MOST_SAMPLES = 1e5  # a cut-off: beyond, rounding shows


def spline_profile(
    heights_mm: npt.ArrayLike,
    *,
    cutoff_mm: float,
    spacing_mm: float | None = None,
    positions_mm: npt.ArrayLike | None = None,
    tension: float = 0.0,
) -> Filtered:
    """Parts of an open profile of even samples: the smoothing spline that passes half the amplitude at the cut-off.

    Parameters
    ----------
    As `gaussian_profile`; positions must be even.
    tension : 0 to 1
        0 is the natural cubic spline: straight lines pass unchanged, ends and all. `GAUSSIAN_LIKE` comes near the
        Gaussian; levels pass, lines are bent at the ends.

    Returns
    -------
    Filtered : affected are the samples within about 1.1 cut-offs of an end.

    Raises
    ------
    InputError : as `gaussian_profile`; uneven positions; a tension outside 0 to 1; more than 1e5 samples a cut-off.

    Notes
    -----
    Method: (I + b a^2 P + (1 - b) a^4 Q) w = z with a = 1 / (2 sin(pi dx / cutoff)), b the tension, P and Q the squares
    of first and second differences (ISO 16610-22, from memory). Solved with the second differences as unknowns of
    their own, whose condition is the root of that of the equations. Checked:
    tests/reference/test_against_iso_16610_spline.py.
    """
    where = "spline_profile"
    Z = checked_heights(heights_mm, where)
    places = open_places(Z.shape[-1], cutoff_mm, spacing_mm, positions_mm, where)
    b, a = _checked(places, tension, where)
    rows = Z.reshape(-1, Z.shape[-1])
    long = np.empty(rows.shape)

    def work(first: int, last: int) -> None:
        part = rows[first:last]
        level = part.mean(-1, keepdims=True)
        long[first:last] = _solved(part - level, a, b) + level

    over_slices(work, len(rows), size=max(1, (1 << 20) // rows.shape[1]))
    return _filtered(Z, long.reshape(Z.shape), places, b)


def spline_closed(
    heights_mm: npt.ArrayLike,
    *,
    cutoff_upr: float | None = None,
    cutoff_mm: float | None = None,
    radius_mm: float | None = None,
    angles_rad: npt.ArrayLike | None = None,
    tension: float = 0.0,
) -> Filtered:
    """The same round a closed profile of even samples without a gap; parameters as `gaussian_closed`."""
    from scipy import fft

    where = "spline_closed"
    Z = checked_heights(heights_mm, where)
    places = closed_places(Z.shape[-1], cutoff_upr, cutoff_mm, radius_mm, angles_rad, where)
    b, a = _checked(places, tension, where)
    if places.gaps.any():
        raise InputError(
            where, "the profile", "close without a gap", places.notes[-1],
            "Take gaussian_closed, which treats the edges of a gap as ends.",
        )  # fmt: skip
    n = Z.shape[-1]
    s2 = np.square(2.0 * a * np.sin(np.pi * np.arange(n // 2 + 1) / n))
    share = 1.0 / (1.0 + b * s2 + (1.0 - b) * s2 * s2)
    rows = Z.reshape(-1, n)
    long = np.empty(rows.shape)

    def work(first: int, last: int) -> None:
        long[first:last] = fft.irfft(fft.rfft(rows[first:last], axis=-1) * share, n, axis=-1)

    over_slices(work, len(rows), size=max(1, (1 << 20) // n))
    return _filtered(Z, long.reshape(Z.shape), places, b)


def _checked(places: Places, tension: float, where: str) -> tuple[float, float]:
    """The tension, and a = 1 / (2 sin(pi dx / cutoff))."""
    if not 0.0 <= tension <= 1.0:
        raise InputError(where, "the tension", "be between 0 and 1", f"{tension!r}", "Take 0, or GAUSSIAN_LIKE.")
    if not places.spacing:
        raise InputError(
            where, "the samples", "be even", "steps that differ by more than 1e-6 of themselves",
            "Take the Gaussian filter, which weighs each sample by its spacing; or bring them to even places first.",
        )  # fmt: skip
    samples = places.cutoff / places.spacing
    if samples > _MOST_SAMPLES:
        raise InputError(
            where, "the cut-off", f"span no more than {_MOST_SAMPLES:g} samples", f"{samples:.3g}",
            "Average neighbouring samples, or take the Gaussian filter.",
        )  # fmt: skip
    return float(tension), 1.0 / (2.0 * math.sin(math.pi / samples))


def _solved(Z: Array, a: float, b: float) -> Array:
    """w of [I + b a^2 P, c D'; c D, -I] [w; v] = [z; 0], c = sqrt(1 - b) a^2, D the second differences; banded.

    Unknowns alternate w_0, v_0, w_1, v_1, ...; v_0 and v_last are 0.
    """
    from scipy.linalg import solve_banded

    n = Z.shape[-1]
    c, t = math.sqrt(1.0 - b) * a * a, b * a * a
    bands = np.zeros((7, 2 * n))  # bands[3 + i - j, j] holds element (i, j)
    bands[3, 0::2] = 1.0 + 2.0 * t
    bands[3, [0, 2 * n - 2]] = 1.0 + t
    bands[1, 2::2] = bands[5, :-2:2] = -t
    bands[3, 1::2] = -1.0
    v = 2 * np.arange(1, n - 1) + 1
    for shift, value in ((-3, c), (-1, -2.0 * c), (1, c)):  # to the w on its left, its own and the one on its right
        w = v + shift
        bands[3 + v - w, w] = value
        bands[3 + w - v, v] = value
    right = np.zeros((2 * n, len(Z)))
    right[0::2] = Z.T
    return np.ascontiguousarray(solve_banded((3, 3), bands, right, overwrite_ab=True, overwrite_b=True)[0::2].T)


def _filtered(Z: Array, long: Array, places: Places, b: float) -> Filtered:
    affected = places.affected(_reach(b) * places.cutoff)
    cut = f"{2 * math.pi / places.cutoff:.6g} UPR" if places.turn else f"{places.cutoff:.6g} mm"
    ends = ("; at ends a straight line passes unchanged" if b == 0 else "; at ends a level passes unchanged") if (
        not places.turn
    ) else ""  # fmt: skip
    return Filtered(
        long_mm=long, short_mm=Z - long, affected=affected,
        method=f"Spline filter (ISO 16610-22), tension {b:g}, cut-off {cut}, 50 % of the amplitude passes there{ends}.",
        notes=(*places.notes, *end_notes(affected, bool(places.turn))),
    )  # fmt: skip


def _reach(b: float) -> float:
    """Distance over the cut-off beyond which less than 0.4 % of the weighting function lies.

    Its transform 1 / (1 + b q^2 + (1 - b) q^4), q = cutoff / wavelength, has its poles at the roots q; the one nearest
    the real axis tells how fast it falls.
    """
    roots = np.roots([1.0 - b, 0.0, b, 0.0, 1.0]) if b < 1.0 else np.array([1j])
    return math.log(0.5 / _LOST) / (2.0 * math.pi * float(np.abs(roots.imag).min()))
