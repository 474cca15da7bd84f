"""Checks of drawings: where every line of text starts and ends, by the widths of the typeface itself."""

import re
import xml.etree.ElementTree as ET
from dataclasses import dataclass

from trysquare.report.fonts import sans

_SHIFT = re.compile(r"translate\(([-\d.]+)[ ,]([-\d.]+)\)")


@dataclass(frozen=True)
class Line:
    """A line of text in the drawing: its words and box."""

    words: str
    left: float
    right: float
    top: float
    bottom: float


def lines(svg: str) -> list[Line]:
    """All lines of text of a drawing."""
    found: list[Line] = []
    _walk(ET.fromstring(svg), 0.0, 0.0, found)
    return found


def overflows(svg: str, *, slack: float = 1.0) -> list[str]:
    """Words that leave the drawing."""
    x, y, width, height = map(float, ET.fromstring(svg).attrib["viewBox"].split())
    return [
        line.words
        for line in lines(svg)
        if line.left < x - slack
        or line.right > x + width + slack
        or line.top < y - slack
        or line.bottom > y + height + slack
    ]


def collisions(svg: str) -> list[tuple[str, str]]:
    """Pairs of lines that lie on each other."""
    every = lines(svg)
    return [
        (a.words, b.words)
        for i, a in enumerate(every)
        for b in every[i + 1 :]
        if a.left < b.right and b.left < a.right and a.top < b.bottom and b.top < a.bottom
    ]


def _walk(element: ET.Element, dx: float, dy: float, found: list[Line]) -> None:
    shift = _SHIFT.match(element.attrib.get("transform", ""))
    if shift:
        dx, dy = dx + float(shift[1]), dy + float(shift[2])
    if element.tag.endswith("text"):
        size = float(element.attrib["font-size"])
        bold = element.attrib.get("font-weight") == "700"
        width = sans(bold=bold).width(element.text or "", size)
        for part in element:
            width += sans(bold=True).width(part.text or "", size) + sans().width(part.tail or "", size)
        start = float(element.attrib["x"]) + dx
        start -= {"middle": width / 2, "end": width}.get(element.attrib.get("text-anchor", ""), 0.0)
        base = float(element.attrib["y"]) + dy
        found.append(Line("".join(element.itertext()), start, start + width, base - 0.72 * size, base + 0.2 * size))
    for child in element:
        _walk(child, dx, dy, found)
