"""The tolerance strip. The zone always lies between the same two places, so a page of strips shares two straight lines
and one looks down them as through a gate.

Ground: the zone. Hatch: doubt, the guard band at each side of a limit (outside only where it is non-conformity that
has to be proven). Hump: where the true value may be, oxide beyond
a limit. Bar: the interval. Notch: the value. In the clear ground the notch means accept, in the hatch undecided,
outside reject.
"""

from collections.abc import Callable
from itertools import pairwise

from ..jobs.result import Judged
from .belief import curve
from .fonts import fitted
from .format import kind_of, plain, shown
from .svg import Point, drawing, hatch, num, text, trace
from .tokens import POST_HIGH, POST_LOW, STRIP_WIDTH
from .words import excess_text, spoken

_SPAN = POST_HIGH - POST_LOW
_TOP = 4.0
Scale = Callable[[float], float]


def scale(j: Judged) -> Scale:
    """From the unit of the requirement to the strip: each limit at its post."""
    low, high, kind = j.lower or 0.0, j.upper or 0.0, kind_of(j)
    reach = 10 * (j.u or 0.0)
    if kind == "least":
        span = max(1.5 * abs((j.value if j.value is not None else low) - low), reach) or 1.0
        return lambda x: POST_LOW + (x - low) / span * _SPAN
    if kind == "most":
        span = max(1.5 * abs(high - (j.value if j.value is not None else high)), reach) or 1.0
        return lambda x: POST_HIGH - (high - x) / span * _SPAN
    if kind == "none":
        middle, span = j.value or 0.0, 12 * (j.u or 1.0)
        return lambda x: STRIP_WIDTH / 2 + (x - middle) / span * _SPAN
    start = 0.0 if kind == "zero" else low
    span = high - start if high > start else 1.0
    return lambda x: POST_LOW + (x - start) / span * _SPAN


def off_scale(j: Judged) -> int:
    """+1 or -1 when the value lies off the strip on that side, else 0."""
    if j.value is None:
        return 0
    x = scale(j)(j.value)
    return 1 if x > STRIP_WIDTH - 14 else -1 if x < 14 else 0


def strip(
    j: Judged, levels: list[float], *, height: float = 46.0, axis: bool = False, key: str = "", ghost: bool = False
) -> str:
    """The strip as one drawing of 600 by `height` (27 more with an axis).

    `key` makes the names inside the drawing its own within a page; `ghost` adds, dashed, what the next step is
    predicted to bring.
    """
    x, base, off = scale(j), height - 13.0, off_scale(j)
    body = _ground(j, base, key) + _doubt(j, x, base, off)
    if j.value is not None and not off:
        body += _hump(j, levels, x, base) + (_ghost(j, levels, x, base) if ghost else "")
    body += _line(j, base) + _posts(j, base)
    if j.value is not None:
        body += _arrow(j, off, base) if off else _notch(j, x, base)
    if axis:
        body += _axis(j, height)
    return drawing(body, STRIP_WIDTH, height + (27.0 if axis else 0.0), spoken(j, levels), kind="strip")


def _edges(j: Judged) -> tuple[float, float]:
    """Where the zone starts and ends on the strip."""
    kind = kind_of(j)
    return (0.0 if kind in ("most", "none") else POST_LOW, STRIP_WIDTH if kind in ("least", "none") else POST_HIGH)


def _ground(j: Judged, base: float, key: str) -> str:
    (left, right), kind = _edges(j), kind_of(j)
    box = f'x="{num(left)}" y="{num(_TOP)}" width="{num(right - left)}" height="{num(base - _TOP)}"'
    if kind == "none":
        return ""
    if j.value is None:
        lines = hatch(left, right, _TOP, base, period=17.0)
        return f'<rect {box} fill="none" stroke="var(--rule)" stroke-width="1.4"/>' + (
            f'<path d="{lines}" stroke="var(--unseen-line)" stroke-width="1.2"/>'
        )
    if kind not in ("least", "most"):
        return f'<rect {box} fill="var(--zone)" stroke="var(--zone-line)" stroke-width="1.4"/>'
    solid, open_end = ('offset=".6"', 'offset="1"') if kind == "least" else ('offset=".4"', 'offset="0"')
    stops = [
        f'<stop {solid} stop-color="var(--zone)"/>',
        f'<stop {open_end} stop-color="var(--zone)" stop-opacity="0"/>',
    ]
    stops = stops if kind == "least" else stops[::-1]
    name = f"open-{key}"
    return f'<linearGradient id="{name}">{"".join(stops)}</linearGradient><rect {box} fill="url(#{name})"/>'


def _line(j: Judged, base: float) -> str:
    start = POST_LOW if kind_of(j) == "zero" else 0.0
    return f'<path d="M{num(start)} {num(base)}H600" stroke="var(--rule)" stroke-width="1.6"/>'


def _doubt(j: Judged, x: Scale, base: float, off: int) -> str:
    """The guard band, as wide outside a limit as inside; the whole zone when no value would be accepted."""
    if j.value is None or j.U is None or kind_of(j) == "none":
        return ""
    (left, right), kind, lines = _edges(j), kind_of(j), ""
    for limit, guard, side in ((j.lower, j.guard[0], -1), (j.upper, j.guard[1], 1)):
        if limit is None or (side < 0 and kind == "zero"):
            continue
        post = x(limit)
        width = STRIP_WIDTH if guard is None else abs(x(limit + guard) - post)
        lenient = guard is not None and guard < 0  # non-conformity has to be proven: all inside is accepted
        inner = post if lenient else min(right, max(left, post - side * width))
        outer = post if guard is None or off == side else min(STRIP_WIDTH, max(0.0, post + side * width))
        lines += hatch(min(inner, outer), max(inner, outer), _TOP, base)
    return f'<path d="{lines}" stroke="var(--doubt)" stroke-width="2.4"/>' if lines else ""


def _shape(j: Judged, levels: list[float], x: Scale, base: float) -> list[Point]:
    if j.belief is None:
        return []
    at, height = curve(j.belief, levels, floor=0.0 if kind_of(j) == "zero" else None)
    return [(x(float(a)), base - float(h) * (base - _TOP - 3)) for a, h in zip(at, height, strict=True)]


def _clip(points: list[Point], low: float, high: float) -> list[Point]:
    """The part of a curve between two places, ends interpolated."""
    kept: list[Point] = []
    for (xa, ya), (xb, yb) in pairwise(points):
        a, b = max(xa, low), min(xb, high)
        if b <= a:
            continue
        slope = (yb - ya) / (xb - xa)
        if not kept:
            kept.append((a, ya + (a - xa) * slope))
        kept.append((b, ya + (b - xa) * slope))
    return kept


def _filled(points: list[Point], base: float, fill: str) -> str:
    if len(points) < 2:
        return ""
    closed = [(points[0][0], base), *points, (points[-1][0], base)]
    return f'<path d="{trace(closed, close=True)}" fill="var(--{fill})"/>'


def _hump(j: Judged, levels: list[float], x: Scale, base: float) -> str:
    points = _clip(_shape(j, levels, x, base), 0.0, STRIP_WIDTH)
    if not points:
        return ""
    left, right = _edges(j)
    inside = _filled(_clip(points, left, right), base, "hump")
    past = _filled(_clip(points, 0.0, left), base, "past") if left else ""
    past += _filled(_clip(points, right, STRIP_WIDTH), base, "past") if right < STRIP_WIDTH else ""
    line = f'<path d="{trace(points)}" fill="none" stroke="var(--hump-line)" stroke-width="1.6"/>'
    return inside + past + line


def _ghost(j: Judged, levels: list[float], x: Scale, base: float) -> str:
    """The hump after the next step, if the value stays: dashed."""
    if j.next is None or not j.next.predicted_U or not j.U or j.value is None:
        return ""
    ratio, middle = j.next.predicted_U / j.U, x(j.value)
    points = [(middle + (a - middle) * ratio, h) for a, h in _shape(j, levels, x, base)]
    data = trace(_clip(points, 0.0, STRIP_WIDTH)) if points else ""
    return f'<path d="{data}" fill="none" stroke="var(--ask)" stroke-width="2" stroke-dasharray="5 4"/>' if data else ""


def _posts(j: Judged, base: float) -> str:
    kind, post = kind_of(j), 'stroke="var(--post)" stroke-width="3.4"'
    parts = ""
    if kind == "zero":
        parts += f'<path d="M{num(POST_LOW - 7)} 1h7v{num(base + 2)}h-7z" fill="var(--post)"/>'
    elif j.lower is not None:
        parts += f'<path d="M{num(POST_LOW)} 0V{num(base + 5)}" {post}/>'
    if j.upper is not None:
        parts += f'<path d="M{num(POST_HIGH)} 0V{num(base + 5)}" {post}/>'
    return parts


def _notch(j: Judged, x: Scale, base: float) -> str:
    """The value and its interval; a hollow notch on a dotted line where no interval can be stated."""
    at = x(j.value or 0.0)
    notch = f"M{num(at)} {num(base - 1)}l6.5 13h-13z"
    if j.interval is None:
        dotted = f'<path d="M14 {num(base + 7)}H586" stroke="var(--ink-2)" stroke-width="3" stroke-dasharray="3 7"/>'
        return f'{dotted}<path d="{notch}" fill="var(--sheet)" stroke="var(--ink)" stroke-width="2"/>'
    low, high = (x(end) for end in j.interval)
    a, b = max(6.0, low), min(STRIP_WIDTH - 6.0, high)
    bar = f'<path d="M{num(a)} {num(base + 7)}H{num(b)}" stroke="var(--ink)" stroke-width="5"/>' if b > a else ""
    ends = f"M7 {num(base + 1)}l-7 6 7 6z" if low < 6 else ""
    ends += f"M593 {num(base + 1)}l7 6-7 6z" if high > STRIP_WIDTH - 6 else ""
    bar += f'<path d="{ends}" fill="var(--ink)"/>' if ends else ""
    return f'{bar}<path d="{notch}" fill="var(--ink)" stroke="var(--sheet)" stroke-width="1.5"/>'


def _arrow(j: Judged, off: int, base: float) -> str:
    """Off the strip: an arrow with the excess."""
    end, middle = (STRIP_WIDTH - 4, (_TOP + base) / 2) if off > 0 else (4.0, (_TOP + base) / 2)
    colour = "past" if excess_text(j) else "ink"
    head = f'<path d="M{num(end)} {num(middle)}l{-18 * off} -13v26z" fill="var(--{colour})"/>'
    room = STRIP_WIDTH - POST_HIGH - 36
    size = fitted(excess_text(j), 27.0, room)
    where, anchor = end - 25 * off, "end" if off > 0 else "start"
    return head + text(
        where, middle + size * 0.35, excess_text(j), size=size, fill=colour, anchor=anchor, bold=True, halo=7
    )


def _axis(j: Judged, height: float) -> str:
    """The limits, written under their posts."""
    s, kind, degree = shown(j), kind_of(j), "°" if j.unit == "rad" else ""
    parts, y = "", height + 19.0
    if kind == "zero":
        parts += text(POST_LOW - 3, y, "0", size=17, anchor="middle", axis=True)
    elif s.lower is not None:
        parts += text(POST_LOW, y, plain(s.lower) + degree, size=17, anchor="middle", axis=True)
    if s.upper is not None:
        parts += text(POST_HIGH, y, plain(s.upper) + degree, size=17, anchor="middle", axis=True)
    return parts
