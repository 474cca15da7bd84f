"""The polar picture of a round shape: residuals magnified, standing out from the fitted circle, contacts marked."""

import math
from dataclasses import dataclass

import numpy as np

from ..core.arrays import Array
from .fit_marks import MANY, Contact, chain_line, dot_size, labels, point_dots, ring
from .fit_scale import magnified, places, signed_mm, times
from .fonts import sans
from .svg import Point, num, text, trace

_BASE, _ROOM, _REACH = 0.62, 0.20, 0.96  # fitted circle, room for residuals, centre lines; of half the side
_BINS = 720
_WIDE = math.radians(12)  # a gap that the profile is not drawn across
_JOINED = 60  # points from which neighbours are joined to a profile


@dataclass(frozen=True)
class Polar:
    """What a polar picture shows: angles (n) rad, residuals (n) mm, the radius they stand on, contacts,
    the words at 0 and 90 degrees.
    """

    angle: Array
    residuals: Array
    radius_mm: float
    contacts: list[Contact]
    ends: tuple[str, str]


def polar(p: Polar, side: float) -> tuple[str, str]:
    """The drawing about its own middle, for a square of that side, and what it says about its scale."""
    half = side / 2
    base = _BASE * half
    low, high = float(p.residuals.min()), float(p.residuals.max())
    factor, scale = magnified(max(abs(low), abs(high)), base / p.radius_mm, _ROOM * half, p.radius_mm)
    r = np.maximum(base + scale * p.residuals, 0.0)
    xy = np.column_stack([r * np.cos(p.angle), -r * np.sin(p.angle)])
    body = _zone(float(r.min()), float(r.max())) + _cross(half)
    body += (
        f'<circle r="{num(base, 2)}" fill="none" stroke="var(--ink-2)" stroke-width="1.4" stroke-dasharray="1.4 4"/>'
    )
    body += _profile(p.angle, r) if len(r) > MANY else _points(p.angle, xy)
    body += "".join(ring(_pair(xy[c.index]), c) for c in p.contacts)
    taken: list[tuple[float, float, float]] = []
    body += _ends(p.ends, half, taken) + _limits(p, r, taken)
    named = [(_pair(xy[c.index]), _way(float(p.angle[c.index]), c.side), c.name) for c in p.contacts]
    return body + labels(named, taken), f"Residuals are magnified {times(factor)}."


def _pair(row: Array) -> Point:
    return float(row[0]), float(row[1])


def _way(angle: float, side: int) -> Point:
    """Outer contacts are named outside, inner ones inside."""
    s = 1.0 if side > 0 else -1.0
    return s * math.cos(angle), -s * math.sin(angle)


def _zone(inner: float, outer: float) -> str:
    """The ground between the two circles that hold the points, and the circles as posts."""
    path = _circle(outer, 1) + _circle(inner, 0)
    return (
        f'<path d="{path}" fill="var(--zone)" fill-rule="evenodd"/>'
        f'<path d="{path}" fill="none" stroke="var(--post)" stroke-width="2"/>'
    )


def _circle(r: float, sweep: int) -> str:
    if not r > 0:
        return ""
    R = num(r, 2)
    half = f"A{R} {R} 0 1 {sweep} "
    return f"M{R} 0{half}-{R} 0{half}{R} 0Z"


def _cross(half: float) -> str:
    reach = _REACH * half
    return chain_line([((-reach, 0), (reach, 0)), ((0, reach), (0, -reach))])


def _points(angle: Array, xy: Array) -> str:
    """Every point; from `_JOINED` on also the line through neighbours, broken at wide gaps."""
    marks = point_dots(map(_pair, xy), 2.6 if len(xy) >= _JOINED else dot_size(len(xy)))
    if len(xy) < _JOINED:
        return marks
    order = np.argsort(angle)
    gaps = np.diff(angle[order], append=angle[order[0]] + 2 * np.pi)
    start = (int(gaps.argmax()) + 1) % len(order)
    order, gaps = np.roll(order, -start), np.roll(gaps, -start)
    cuts = np.flatnonzero(gaps[:-1] > max(6 * float(np.median(gaps)), _WIDE)) + 1
    whole = not gaps[-1] > max(6 * float(np.median(gaps)), _WIDE)
    runs = [run for run in np.split(order, cuts) if len(run) > 1]
    data = "".join(trace(map(_pair, xy[run]), close=whole and len(runs) == 1) for run in runs)
    return f'<path d="{data}" fill="none" stroke="var(--ink-2)" stroke-width=".9"/>' + marks


def _profile(angle: Array, r: Array) -> str:
    """Of many points: what stands out furthest, both ways, in each half degree."""
    k = np.minimum(((angle + np.pi) / (2 * np.pi) * _BINS).astype(int), _BINS - 1)
    low, high = np.full(_BINS, np.inf), np.full(_BINS, -np.inf)
    np.minimum.at(low, k, r)
    np.maximum.at(high, k, r)
    data = ""
    for i in np.flatnonzero(high >= low):
        t = -np.pi + (i + 0.5) * 2 * np.pi / _BINS
        c, s, a, b = math.cos(t), -math.sin(t), low[i] - 0.4, high[i] + 0.4
        data += f"M{num(a * c, 2)} {num(a * s, 2)}L{num(b * c, 2)} {num(b * s, 2)}"
    return f'<path d="{data}" stroke="var(--ink-2)" stroke-width="1.3"/>'


def _ends(words: tuple[str, str], half: float, taken: list[tuple[float, float, float]]) -> str:
    """The names of the directions at 0 and 90 degrees."""
    reach = _REACH * half
    for (x, y), word in (((reach, -8.0), words[0]), ((0.0, -reach), words[1])):
        taken.append((x, y, sans().width(word, 12) / 2))
    return text(reach, -6, words[0], size=12, fill="ink-3", anchor="end", halo=3) + text(
        6, -reach + 8, words[1], size=12, fill="ink-3", halo=3
    )


def _limits(p: Polar, r: Array, taken: list[tuple[float, float, float]]) -> str:
    """Largest and smallest residual, written on their circles at the lower right."""
    low, high = float(p.residuals.min()), float(p.residuals.max())
    n = places(high - low)
    out, c = "", math.sqrt(0.5)
    for value, radius, sign in ((high, float(r.max()), 1), (low, float(r.min()), -1)):
        words = signed_mm(value, n)
        width = sans().width(words, 12)
        x = radius * c + (4 if sign > 0 else -4 - width)
        y = radius * c + (12 if sign > 0 else -2)
        taken.append((x + width / 2, y - 4, width / 2))
        out += text(x, y, words, size=12, fill="ink-2", halo=3)
    return out
