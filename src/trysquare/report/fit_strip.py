"""The strip of residuals along a line, an arc or a section: the ground between the two limits that hold the points."""

from dataclasses import dataclass

import numpy as np

from ..core.arrays import Array
from .fit_marks import MANY, Contact, dot_size, labels, point_dots, ring
from .fit_scale import magnified, places, signed_mm, step_below, times
from .format import plain
from .svg import Point, num, text, trace

_SIDE = 64.0  # room right of the strip for its two limits


@dataclass(frozen=True)
class Strip:
    """What a strip shows: places (n) along it and residuals (n) mm across; contacts; what is written at
    its figures and below; whether neighbours are joined to a profile. `per_mm` is how many mm of the shape one unit of
    place is.
    """

    place: Array
    residuals: Array
    contacts: list[Contact]
    unit: str
    under: str
    joined: bool = False
    per_mm: float = 1.0


def strip(s: Strip, width: float, height: float) -> str:
    """The drawing from its upper left corner on."""
    right, middle = width - _SIDE, (height - 34) / 2
    low, high = float(s.residuals.min()), float(s.residuals.max())
    start, length = float(s.place.min()), max(float(np.ptp(s.place)), 1e-300)
    pixels = (right - 24) / length
    extent = max(high - low, 1e-300)
    factor, scale = magnified(extent, pixels / s.per_mm, 2 * middle - 30, length * s.per_mm)
    x, y = 12 + (s.place - start) * pixels, middle - scale * (s.residuals - (low + high) / 2)
    xy = np.column_stack([x, y])
    top, bottom, zero = float(y.min()), float(y.max()), middle + scale * (low + high) / 2
    body = _ground(right, top, bottom)
    if top - 0.5 <= zero <= bottom + 0.5:
        body += (
            f'<path d="M0 {num(zero)}H{num(right)}" stroke="var(--ink-2)" stroke-width="1.4" stroke-dasharray="1.4 4"/>'
        )
    body += _marks(s, xy) + "".join(ring(_pair(xy[c.index]), c) for c in s.contacts)
    taken: list[tuple[float, float, float]] = []
    body += _limits(low, high, right, top, bottom) + _axis(s, start, length, height, right, factor)
    named = [(_pair(xy[c.index]), (0.0, -1.0 if c.side > 0 else 1.0), c.name) for c in s.contacts]
    return body + labels(named, taken)


def _pair(row: Array) -> Point:
    return float(row[0]), float(row[1])


def _ground(right: float, top: float, bottom: float) -> str:
    return (
        f'<rect x="0" y="{num(top)}" width="{num(right)}" height="{num(bottom - top)}" fill="var(--zone)"/>'
        f'<path d="M0 {num(top)}H{num(right)}M0 {num(bottom)}H{num(right)}" stroke="var(--post)" stroke-width="2"/>'
    )


def _marks(s: Strip, xy: Array) -> str:
    n = len(xy)
    if n > MANY:
        return _profile(xy)
    marks = point_dots(map(_pair, xy), 2.6 if s.joined and n > 60 else dot_size(n))
    if not s.joined or n < 20:
        return marks
    order = np.argsort(s.place, kind="stable")
    return f'<path d="{trace(map(_pair, xy[order]))}" fill="none" stroke="var(--ink-2)" stroke-width=".9"/>' + marks


def _profile(xy: Array) -> str:
    """Of many points: what stands out furthest, both ways, in each pixel."""
    k = np.round(xy[:, 0]).astype(int)
    low, high = np.full(k.max() + 1, np.inf), np.full(k.max() + 1, -np.inf)
    np.minimum.at(low, k, xy[:, 1])
    np.maximum.at(high, k, xy[:, 1])
    data = "".join(f"M{i} {num(low[i] - 0.5)}V{num(high[i] + 0.5)}" for i in np.flatnonzero(high >= low))
    return f'<path d="{data}" stroke="var(--ink-2)" stroke-width="1.1"/>'


def _limits(low: float, high: float, right: float, top: float, bottom: float) -> str:
    """The two limits, written at the end of their lines and clear of one another."""
    n = places(high - low)
    apart = max(0.0, 14 - (bottom - top)) / 2
    upper = text(right + 6, top + 4 - apart, signed_mm(high, n), size=12, fill="ink-2")
    return upper + text(right + 6, bottom + 4 + apart, signed_mm(low, n), size=12, fill="ink-2")


def _axis(s: Strip, start: float, length: float, height: float, right: float, factor: float) -> str:
    """Round figures below, and what they are."""
    step = step_below(length / 3)
    first = np.ceil(start / step - 1e-9) * step
    out, y = "", height - 16
    for tick in np.arange(first, start + length + step * 1e-6, step):
        at = 12 + (tick - start) / length * (right - 24)
        words = plain(round(float(tick), 9)) + s.unit
        out += text(at, y, words, size=12, fill="ink-3", anchor="middle")
    under = f"{s.under}; residuals magnified {times(factor)}"
    return out + text(0, height - 1, under, size=12, fill="ink-3")
