"""Twenty grains: the confidence distribution in twenty equal shares, heaped between the posts. A grain is inside or
beyond a limit, never across it."""

import math

from ..jobs.result import Judged
from .belief import grain_values
from .format import kind_of, plain, shown
from .strip import off_scale, scale
from .svg import Point, dots, drawing, lozenges, num, text
from .tokens import POST_HIGH, POST_LOW, STRIP_WIDTH
from .words import excess_text

COUNT = 20
_SMALL, _LARGE = 8.0, 26.0


def beyond_count(j: Judged, levels: list[float]) -> int:
    """How many of the twenty grains lie beyond a limit."""
    if j.belief is None:
        return 0
    return sum(_out(j, float(v)) != 0 for v in grain_values(j.belief, levels, COUNT))


def _out(j: Judged, value: float) -> int:
    if j.upper is not None and value > j.upper:
        return 1
    return -1 if j.lower is not None and kind_of(j) != "zero" and value < j.lower else 0


def grains(j: Judged, levels: list[float], *, height: float = 190.0) -> str:
    """The heap as one drawing of 600 by `height`; empty where nothing can be stated."""
    if j.belief is None:
        return ""
    base, x, off = height - 26.0, scale(j), off_scale(j)
    if off:
        label = f"Twenty grains, {COUNT} beyond a limit, off the picture by {excess_text(j)}."
        return drawing(
            _ground(j, base) + _far(j, off, base) + _limits(j, base, height), STRIP_WIDTH, height, label, kind="grains"
        )
    values = [float(v) for v in grain_values(j.belief, levels, COUNT)]
    places = [x(v) for v in values]
    size = _whole(min(_LARGE, max(_SMALL, (places[-1] - places[0]) / 7)))
    tallest = 1 + max(level for _, level, _ in _heap(j, values, places, size))
    size = _whole(min(size, (base - 8) / tallest))
    heap = _heap(j, values, places, size)
    inside = [(cx, base - (level + 0.5) * size) for cx, level, out in heap if not out]
    past = [(cx, base - (level + 0.5) * size) for cx, level, out in heap if out]
    count = len(past)
    label = f"Twenty grains, each a twentieth of the confidence distribution: {count} beyond a limit."
    return drawing(
        _ground(j, base) + _marks(inside, past, size) + _limits(j, base, height),
        STRIP_WIDTH,
        height,
        label,
        kind="grains",
    )


def _far(j: Judged, off: int, base: float) -> str:
    """All grains in one block at the edge, an arrow and the excess: they lie further out than the picture."""
    size = 13.0
    edge = STRIP_WIDTH - 24 if off > 0 else 24.0
    block = [(edge - off * (0.5 + i % 5) * size, base - (0.5 + i // 5) * size) for i in range(COUNT)]
    colour = "past" if excess_text(j) else "hump"
    marks = f'<path d="{lozenges(block, size * 0.5)}" fill="var(--{colour})"/>'
    marks += f'<path d="M{num(edge + off * 22)} {num(base - 2 * size)}l{-16 * off} -12v24z" fill="var(--{colour})"/>'
    anchor = "end" if off > 0 else "start"
    return marks + text(edge, base - 4.6 * size, excess_text(j), size=22, fill=colour, anchor=anchor, bold=True, halo=6)


def _heap(j: Judged, values: list[float], places: list[float], size: float) -> list[tuple[float, int, int]]:
    """(place, level, beyond which limit) of each grain: columns start at the posts."""
    heights: dict[float, int] = {}
    heap = []
    for value, place in zip(values, places, strict=True):
        out = _out(j, value)
        cx = POST_HIGH + (math.floor((place - POST_HIGH) / size) + 0.5) * size
        if out == 0 and kind_of(j) == "both":
            cx = min(POST_HIGH - size / 2, max(POST_LOW + size / 2, cx))
        cx = min(STRIP_WIDTH - size / 2, max(size / 2, cx))
        key = round(cx, 3)
        heap.append((cx, heights.get(key, 0), out))
        heights[key] = heights.get(key, 0) + 1
    return heap


def _whole(size: float) -> float:
    """The next smaller size that fills the zone with whole columns, so that they start at both posts."""
    span = POST_HIGH - POST_LOW
    return span / math.ceil(span / size - 1e-9)


def _marks(inside: list[Point], past: list[Point], size: float) -> str:
    parts = ""
    if inside:
        dot = num(size * 0.86)
        parts += f'<path d="{dots(inside)}" stroke="var(--hump)" stroke-width="{dot}" stroke-linecap="round"/>'
    if past:
        parts += f'<path d="{lozenges(past, size * 0.5)}" fill="var(--past)"/>'
    return parts


def _ground(j: Judged, base: float) -> str:
    kind = kind_of(j)
    left = POST_LOW if kind != "most" else 0.0
    right = POST_HIGH if kind != "least" else STRIP_WIDTH
    return f'<rect x="{num(left)}" y="6" width="{num(right - left)}" height="{num(base - 6)}" fill="var(--zone)"/>'


def _limits(j: Judged, base: float, height: float) -> str:
    s, kind, degree = shown(j), kind_of(j), "°" if j.unit == "rad" else ""
    parts = f'<path d="M0 {num(base)}H600" stroke="var(--ink)" stroke-width="1.2"/>'
    post = 'stroke="var(--post)" stroke-width="3"'
    if kind == "zero":
        parts += f'<path d="M{num(POST_LOW - 6)} 0h6v{num(base + 6)}h-6z" fill="var(--post)"/>'
        parts += text(POST_LOW - 3, height - 3, "0", size=16, anchor="middle", axis=True)
    elif s.lower is not None:
        parts += f'<path d="M{num(POST_LOW)} 0V{num(base + 6)}" {post}/>'
        parts += text(POST_LOW, height - 3, plain(s.lower) + degree, size=16, anchor="middle", axis=True)
    if s.upper is not None:
        parts += f'<path d="M{num(POST_HIGH)} 0V{num(base + 6)}" {post}/>'
        parts += text(POST_HIGH, height - 3, plain(s.upper) + degree, size=16, anchor="middle", axis=True)
    return parts
