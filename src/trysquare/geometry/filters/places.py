"""Where the samples of a profile lie: checked positions, gaps, and what the cut-off asks of the spacing."""

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ...core.arrays import Array, finite
from ...core.errors import InputError
from .result import Mask

_EVEN = 1e-6  # of the spacing: largest departure of a sample from its even place
_USUAL_OPEN, _USUAL_CLOSED = 5.0, 7.0  # samples a cut-off
_SMOOTH = 20.0  # uneven samples a cut-off below which the sum is no longer the integral within some tenths of a percent
_ROUGH = (
    f"Uneven samples, fewer than {_SMOOTH:g} a cut-off: the amplitude near the cut-off may be off by a percent or more."
)
TURN = 2.0 * math.pi


@dataclass(frozen=True)
class Places:
    """Positions (n,) ascending, the width (n,) each sample stands for, and how the profile closes.

    turn: length after which the profile repeats, 0 for an open one. spacing: where the samples are even, else 0.
    roll: an even arc that is all there is of a closed profile is taken as an open one that starts at this sample.
    """

    at: Array
    cells: Array
    gaps: Mask
    turn: float
    spacing: float
    cutoff: float
    roll: int
    notes: tuple[str, ...]

    def affected(self, reach: float) -> Mask:
        """Samples nearer than `reach` to an end or to the edge of a gap."""
        after = np.flatnonzero(self.gaps)
        edges = self.at[np.concatenate([after, (after + 1) % len(self.at)])]
        if self.turn:
            edges = np.concatenate([edges - self.turn, edges, edges + self.turn])
        if not len(edges):
            return np.zeros(len(self.at), dtype=bool)
        edges = np.sort(edges)
        right = np.clip(np.searchsorted(edges, self.at), 1, len(edges) - 1)
        return np.minimum(np.abs(self.at - edges[right - 1]), np.abs(edges[right] - self.at)) < reach * (1.0 - 1e-9)


def checked_heights(value: npt.ArrayLike, where: str, *, axes: int = 1, least: int = 3) -> Array:
    """`value` as finite heights (..., n) or (..., ny, nx) with `least` samples or more along each axis."""
    try:
        Z = np.asarray(value, dtype=np.float64)
    except (TypeError, ValueError) as error:
        raise InputError(where, "the heights", "be numbers", str(error), "Give an array of heights in mm.") from None
    if Z.ndim < axes or min(Z.shape[-axes:]) < least:
        shape = "(..., n)" if axes == 1 else "(..., ny, nx)"
        raise InputError(
            where, "the heights", f"be {shape} with {least} samples or more along each axis", f"shape {Z.shape}",
            "Give one number for each sample; draws come first.",
        )  # fmt: skip
    return finite(Z, where=f"{where}: heights")


def positive(value: float, what: str, where: str) -> float:
    """`value` as a finite number above 0."""
    try:
        number = float(value)
    except (TypeError, ValueError):
        number = math.nan
    if not (number > 0 and math.isfinite(number)):
        raise InputError(where, what, "be a finite number above 0", f"{value!r}", "Correct it.")
    return number


def open_places(
    n: int, cutoff: float, spacing: float | None, positions: npt.ArrayLike | None, where: str
) -> Places:  # fmt: skip
    """Places of an open profile from its spacing or its positions, mm."""
    cutoff = positive(cutoff, "the cut-off", where)
    if (spacing is None) == (positions is None):
        raise InputError(
            where, "the places of the samples", "be given once", "both" if spacing is not None else "neither",
            "Give spacing_mm for even samples or positions_mm for any.",
        )  # fmt: skip
    if spacing is not None:
        at = np.arange(n, dtype=np.float64) * positive(spacing, "the spacing", where)
    else:
        at = _ascending(positions, n, where, "positions_mm")
    length = float(at[-1] - at[0])
    if cutoff > length:
        raise InputError(
            where, "the cut-off", "be no longer than the profile", f"{cutoff:g} mm on {length:g} mm",
            "Take a shorter cut-off, or fit a line or polynomial instead.",
        )  # fmt: skip
    if spacing is None:
        return _uneven(at, cutoff, 0.0, where, "mm")
    return _even_places(at, cutoff, 0.0, float(spacing), where, "mm")


def closed_places(
    n: int, cutoff_upr: float | None, cutoff_mm: float | None, radius_mm: float | None,
    angles: npt.ArrayLike | None, where: str,
) -> Places:  # fmt: skip
    """Places around a closed profile, rad, from a cut-off in undulations per revolution or in mm with the radius."""
    upr = _upr(cutoff_upr, cutoff_mm, radius_mm, where)
    if upr < 1.0:
        raise InputError(
            where, "the cut-off", "be 1 undulation per revolution or more", f"{upr:g} UPR",
            "A longer wave does not fit around; take 1 or more.",
        )  # fmt: skip
    at = np.arange(n, dtype=np.float64) * (TURN / n) if angles is None else _ascending(angles, n, where, "angles_rad")
    if at[-1] - at[0] >= TURN:
        raise InputError(
            where, "angles_rad", "stay within one turn, without the first point again at its end",
            f"{at[-1] - at[0]:.9g} rad from first to last", "Drop the repeated point, or fold the turns and sort.",
        )  # fmt: skip
    if angles is not None:
        return _uneven(at, TURN / upr, TURN, where, "rad")
    return _even_places(at, TURN / upr, TURN, TURN / n, where, "rad")


def _upr(upr: float | None, cutoff_mm: float | None, radius_mm: float | None, where: str) -> float:
    if upr is not None and cutoff_mm is None and radius_mm is None:
        return positive(upr, "the cut-off", where)
    if upr is None and cutoff_mm is not None and radius_mm is not None:
        return TURN * positive(radius_mm, "the radius", where) / positive(cutoff_mm, "the cut-off", where)
    raise InputError(
        where, "the cut-off", "be given once, as cutoff_upr or as cutoff_mm with radius_mm",
        f"cutoff_upr {upr}, cutoff_mm {cutoff_mm}, radius_mm {radius_mm}", "Give one of the two.",
    )  # fmt: skip


def _ascending(value: npt.ArrayLike | None, n: int, where: str, name: str) -> Array:
    at = np.asarray(value, dtype=np.float64)
    if at.shape != (n,):
        raise InputError(
            where, name, f"be one number for each of the {n} samples", f"shape {at.shape}",
            "Draws share their places: give those of the value.",
        )  # fmt: skip
    finite(at, where=f"{where}: {name}")
    wrong = np.flatnonzero(~(np.diff(at) > 0))
    if len(wrong):
        i = int(wrong[0])
        raise InputError(
            where, name, "ascend without repeats", f"{at[i]:.9g} then {at[i + 1]:.9g} at sample {i + 1}",
            "Sort the samples by place, and average those at the same place.",
        )  # fmt: skip
    return at


def _even_places(at: Array, cutoff: float, turn: float, spacing: float, where: str, unit: str) -> Places:
    samples = _samples(cutoff, spacing, where, unit)
    gaps = np.zeros(len(at), dtype=bool)
    gaps[-1] = not turn
    return Places(at, np.full(len(at), spacing), gaps, turn, spacing, cutoff, 0, _few(samples, turn))


def _uneven(at: Array, cutoff: float, turn: float, where: str, unit: str) -> Places:
    """Spacing, gaps and cells. A step longer than half a cut-off is a gap: nothing is known of the profile within."""
    n = len(at)
    steps = np.append(np.diff(at), at[0] + turn - at[-1] if turn else np.inf)
    usual = float(np.median(steps[:-1]))
    samples = _samples(cutoff, usual, where, unit)
    gaps = steps > 0.5 * cutoff * (1.0 + 1e-9)
    half = 0.5 * np.where(gaps, 0.0, steps)
    before, after = np.roll(half, 1), half
    cells = np.where(before == 0, after, before) + np.where(after == 0, before, after)
    even, roll = _even(at, gaps, turn)
    cells = np.full(n, even) if even else np.where(cells > 0, cells, usual)
    sparsest = cutoff / float(steps[~gaps].max()) if not gaps.all() else samples
    rough = () if even or samples >= _SMOOTH else (_ROUGH,)
    notes = (*_few(sparsest, turn), *rough, *_missing(steps, gaps, turn))
    return Places(at, cells, gaps, turn, even, cutoff, roll, notes)


def _samples(cutoff: float, spacing: float, where: str, unit: str) -> float:
    """Samples a cut-off, two or more."""
    samples = cutoff / spacing
    if samples < 2.0 * (1.0 - 1e-9):
        raise InputError(
            where, "the cut-off", "span two samples or more", f"{samples:.3g} samples ({spacing:.4g} {unit} apart)",
            "Take a longer cut-off, or measure more densely: undulations near this one are not in the samples.",
        )  # fmt: skip
    return samples


def _even(at: Array, gaps: Mask, turn: float) -> tuple[float, int]:
    """The even spacing, else 0, and the first sample of the one arc that a closed profile with one gap is."""
    n, where = len(at), np.flatnonzero(gaps)
    if len(where) > 1:
        return 0.0, 0
    roll = int(where[0] + 1) % n if len(where) else 0
    line = np.concatenate([at[roll:], at[:roll] + turn])
    spacing = float(turn / n if turn and not len(where) else (line[-1] - line[0]) / (n - 1))
    off = np.abs(line - line[0] - spacing * np.arange(n)).max()
    return (spacing, roll) if off <= _EVEN * spacing else (0.0, 0)


def _few(samples: float, turn: float) -> tuple[str, ...]:
    least, source = (_USUAL_CLOSED, "ISO 12181-2") if turn else (_USUAL_OPEN, "the spacings of ISO 3274")
    if samples >= least * (1.0 - 1e-9):
        return ()
    return (f"{samples:.3g} samples a cut-off, where they lie furthest apart; {least:g} or more are usual ({source}, "
            "from memory): undulations near the cut-off may be aliased.",)  # fmt: skip


def _missing(steps: Array, gaps: Mask, turn: float) -> tuple[str, ...]:
    inner = steps[gaps] if turn else steps[:-1][gaps[:-1]]
    if not len(inner):
        return ()
    size = f"{np.degrees(inner.sum()):.3g} deg" if turn else f"{inner.sum():.4g} mm"
    return (f"{len(inner)} gap{'s' if len(inner) > 1 else ''} longer than half a cut-off, {size} in all: "
            "their edges are taken as ends, and nothing is said of what lies within.",)  # fmt: skip
