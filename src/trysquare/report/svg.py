"""Small pieces that drawings are written with: numbers, text, paths, hatching."""

import math
from collections.abc import Iterable
from html import escape

Point = tuple[float, float]


def num(x: float, decimals: int = 1) -> str:
    """A coordinate, short: no trailing zeros, no negative zero."""
    text = f"{x:.{decimals}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text == "-0" else text


def text(
    x: float, y: float, words: str, *, size: float, fill: str = "ink-2", anchor: str = "start", bold: bool = False,
    halo: float = 0.0, axis: bool = False,
) -> str:  # fmt: skip
    """One line of text; `halo` is the width of the sheet-coloured rim that keeps it readable on lines.

    An `axis` figure is written larger where the page is narrow.
    """
    name = ' class="ax"' if axis else ""
    rim = f' stroke="var(--sheet)" stroke-width="{num(halo)}" paint-order="stroke"' if halo else ""
    where = "" if anchor == "start" else f' text-anchor="{anchor}"'
    weight = ' font-weight="700"' if bold else ""
    return (
        f'<text{name} x="{num(x)}" y="{num(y)}" font-size="{num(size)}"{where}{weight} fill="var(--{fill})"{rim}>'
        f"{escape(words, quote=False)}</text>"
    )


def trace(points: Iterable[Point], *, close: bool = False, decimals: int = 1) -> str:
    """Path data through points."""
    data = "M" + " ".join(f"{num(x, decimals)} {num(y, decimals)}" for x, y in points)
    return data + "Z" if close else data


def dots(points: Iterable[Point]) -> str:
    """Path data of zero-length strokes: drawn with a round cap, each is a dot as wide as the stroke."""
    return "".join(f"M{num(x)} {num(y)}h0" for x, y in points)


def lozenges(points: Iterable[Point], half: float) -> str:
    """Path data of lozenges: the mark of what lies beyond a limit."""
    h = num(half)
    return "".join(f"M{num(x)} {num(y - half)}l{h} {h}-{h} {h}-{h}-{h}z" for x, y in points)


def hatch(x0: float, x1: float, y0: float, y1: float, *, period: float = 9.9) -> str:
    """Path data of rising lines inside a rectangle; neighbouring rectangles continue each other."""
    if x1 - x0 < 0.5:
        return ""
    parts = []
    for k in range(math.ceil((x0 + y0) / period), math.floor((x1 + y1) / period) + 1):
        c = k * period  # the line x + y = c
        left, right = max(x0, c - y1), min(x1, c - y0)
        if right - left > 0.3:
            parts.append(f"M{num(left)} {num(c - left)} {num(right)} {num(c - right)}")
    return "".join(parts)


def slug(words: str) -> str:
    """A name for use inside a page: letters, figures and hyphens; equal only for equal words."""
    return "".join(c if c.isascii() and (c.isalnum() or c == "-") else f"_{ord(c):x}" for c in words)


def drawing(body: str, width: float, height: float, label: str, *, kind: str = "", box: str = "") -> str:
    """The drawing as one element with a spoken label."""
    name = f'class="{kind}" ' if kind else ""
    view = box or f"0 0 {num(width)} {num(height)}"
    return f'<svg {name}viewBox="{view}" role="img" aria-label="{escape(label)}">{body}</svg>'
