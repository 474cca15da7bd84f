"""Marks that all pictures of fits share: points, contacts with their numbers, the key of the colours."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from ..geometry.association import Association
from .fit_scale import places, signed_mm
from .fonts import sans
from .svg import Point, dots, lozenges, num, text

#: Above so many points a picture shows what stands out of each place, not every point.
MANY = 1500
#: Points set aside that are named.
NAMED = 12
_LABEL = 12.0


@dataclass(frozen=True)
class Contact:
    """A point that holds a zone or touches a shape: where it stands, its side (+1 outer, -1 inner), its number.

    Or one that was set `aside`: then its name says how far off it lies.
    """

    index: int
    side: int
    name: str
    aside: bool = False


def contacts(a: Association) -> list[Contact]:
    """What holds a zone or touches a shape, or was set aside; numbers count the points given from 1."""
    if a.certificate is None:
        return [_aside(a, int(i)) for i in a.set_aside[:NAMED]] if beyond(a) else []
    pairs = zip(np.atleast_1d(a.certificate.contacts), np.atleast_1d(a.certificate.sides), strict=True)
    return [Contact(int(i), int(side), str(a.kept[i] + 1)) for i, side in pairs if i >= 0]


def beyond(a: Association) -> bool:
    """Whether points set aside are drawn at the edge of what the others show."""
    return a.fit is not None and a.residuals_mm is not a.fit.residuals_mm


def _aside(a: Association, i: int) -> Contact:
    off = float(a.fit.residuals_mm[i])
    return Contact(i, 1 if off > 0 else -1, f"{a.kept[i] + 1}: {signed_mm(off, places(abs(off), 3))}", aside=True)


def point_dots(at: Iterable[Point], size: float) -> str:
    """Points as round dots."""
    return f'<path d="{dots(at)}" stroke="var(--ink-2)" stroke-width="{num(size)}" stroke-linecap="round"/>'


def dot_size(n: int) -> float:
    """Width of a dot, smaller where there are many."""
    return max(2.0, min(5.0, 9.0 - 1.2 * math.log2(max(n, 1) / 8))) if n > 8 else 5.0


def ring(at: Point, contact: Contact) -> str:
    """A contact: a disc where it holds the shape from outside, a ring where from inside; a lozenge of one set aside."""
    fill, line = ("ink", "sheet") if contact.side > 0 else ("sheet", "ink")
    x, y = at
    if contact.aside:
        return f'<path d="{lozenges([at], 6)}" fill="var(--ink)" stroke="var(--sheet)" stroke-width="1.6"/>'
    return (
        f'<circle cx="{num(x)}" cy="{num(y)}" r="5.2" fill="var(--{fill})" stroke="var(--{line})" stroke-width="1.8"/>'
    )


def labels(wanted: Sequence[tuple[Point, Point, str]], taken: list[tuple[float, float, float]] | None = None) -> str:
    """Short words, each beside its mark: `wanted` are the place of the mark, the way (unit) the words lie from it, and
    the words; each moves on along its way until it is clear of those before it (`taken`: middle x, y, half width).
    """
    taken = [] if taken is None else taken
    out = ""
    for (x, y), (dx, dy), words in wanted:
        half = sans(bold=True).width(words, _LABEL) / 2
        for k in range(24):
            r = 11 + 4 * k
            mx, my = x + dx * (r + half), y + dy * (r + 4)
            if all(abs(my - ty) > 13 or abs(mx - tx) > half + th + 4 for tx, ty, th in taken):
                break
        taken.append((mx, my, half))
        out += text(mx, my + 4, words, size=_LABEL, fill="ink", anchor="middle", bold=True, halo=3.5)
    return out


def chain_line(points: Iterable[tuple[Point, Point]]) -> str:
    """Centre lines: long dash, dot."""
    data = "".join(f"M{num(a[0])} {num(a[1])}L{num(b[0])} {num(b[1])}" for a, b in points)
    return f'<path d="{data}" stroke="var(--edge)" stroke-width=".8" fill="none" stroke-dasharray="12 3 2 3"/>'
