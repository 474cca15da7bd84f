"""The chain of evidence. Each source of doubt is a thread as wide as its share of the variance; variances add, so the
rope at the end is as thick as what the verdict has to live with. Drawn lying for wide sheets, standing for narrow ones.
"""

from collections.abc import Sequence

from ..chance.sources import LINKS
from ..jobs.result import Judged
from .svg import drawing, num
from .threads import UNTRACED, Thread, heading, label, largest, least_room, threads, tone

_END = 44.0  # room for the bracket at the rope's end
_EDGE = 8.0  # from a column's line to its first thread


def chain(j: Judged, *, width: float = 1160.0, thick: float = 190.0, size: float = 13.0, drop: float = 44.0) -> str:
    """The lying chain: seven columns, the rope's end at the right, `drop` below; empty without contributions."""
    parts = threads(j.contributions, j.remainder)
    if not parts:
        return ""
    stop = width - _END
    links = [[t for t in parts if t.link == i] for i in range(len(LINKS))]
    columns = _columns(links, stop, size)
    thick = min([thick, *(_fitting(here, w - 2 * _EDGE) for here, w in zip(links, columns, strict=True) if here)])
    top_thread = largest(parts)
    heads = [heading(h, link, w - 14, size, top_thread) for h, link, w in zip(links, LINKS, columns, strict=True)]
    top = max(depth for _, depth in heads) + 12
    base = top + drop + sum(t.share for t in parts) * thick
    starts = [sum(columns[:i]) for i in range(len(LINKS))]
    lines = "".join(f"M{num(x)} 2V{num(base)}" for x in starts)
    body, lane = f'<path d="{lines}" stroke="var(--rule)"/>', base
    for i, here in enumerate(links):
        at, gap = starts[i] + _EDGE, _gap(here, columns[i] - 2 * _EDGE, thick)
        body += f'<g transform="translate({num(at)} 0)">{heads[i][0]}</g>'
        for thread in here:
            w = thread.share * thick
            body += _stroke(_bend(at + w / 2, top, lane - w / 2, w, stop), w, thread, parts)
            at, lane = at + w + gap, lane - w
    x = num(stop + 6)
    body += _bracket(f"M{num(stop + 12)} {num(lane)}V{num(base)}M{x} {num(lane)}h12M{x} {num(base)}h12")
    return drawing(body, width, base + 4, label(parts), kind="chain")


def _columns(links: Sequence[Sequence[Thread]], width: float, size: float) -> list[float]:
    """Widths of the columns: room for the longest word, the rest by how much there is to show."""
    least = [least_room(here, link, size) + 15 for here, link in zip(links, LINKS, strict=True)]
    weight = [0.4 + 0.5 * len(here) + 3 * sum(t.share for t in here) for here in links]
    spare = width - sum(least)
    if spare < 0:
        return [width / len(LINKS)] * len(LINKS)
    return [a + spare * w / sum(weight) for a, w in zip(least, weight, strict=True)]


def standing_chain(j: Judged, *, width: float = 330.0, thick: float = 96.0, size: float = 13.0) -> str:
    """The chain for narrow sheets: links one below the other, the rope runs down at the left to its end."""
    parts = threads(j.contributions, j.remainder)
    if not parts:
        return ""
    left = sum(t.share for t in parts) * thick + 40
    body, lane, y = "", 4.0, 8.0
    rows: list[tuple[float, Thread]] = []
    for i, link in enumerate(LINKS):
        here = sorted((t for t in parts if t.link == i), key=lambda t: -t.share)
        words, depth = heading(here, link, width - left - 6, size, largest(parts))
        body += f'<path d="M{num(left)} {num(y)}H{num(width)}" stroke="var(--rule)"/>'
        body += f'<g transform="translate({num(left + 2)} {num(y + 6)})">{words}</g>'
        at = y + 12
        for thread in here:
            rows.append((at + thread.share * thick / 2, thread))
            at += thread.share * thick + 5
        y = max(y + depth + 14, at + 12)
    end = y + 16
    for at, thread in rows:
        w = thread.share * thick
        body += _stroke(_turn(left - 4, at, lane + w / 2, w, end), w, thread, parts)
        lane += w
    body += _bracket(f"M4 {num(end + 8)}H{num(lane)}M4 {num(end + 2)}v12M{num(lane)} {num(end + 2)}v12")
    return drawing(body, width, end + 16, label(parts), kind="chain standing")


def _fitting(here: Sequence[Thread], room: float) -> float:
    """The thickness of the whole rope at which the threads of one link just fit their column."""
    return (room - 4.0 * (len(here) - 1)) / sum(t.share for t in here)


def _gap(here: Sequence[Thread], room: float, thick: float) -> float:
    return min(14.0, (room - sum(t.share for t in here) * thick) / max(1, len(here) - 1))


def _bend(cx: float, top: float, y: float, w: float, stop: float) -> str:
    """Down from its column, round a corner, along to the rope's end."""
    r = w / 2 + 10
    return f"M{num(cx)} {num(top)}V{num(y - r)}A{num(r)} {num(r)} 0 0 0 {num(cx + r)} {num(y)}H{num(stop)}"


def _turn(x: float, y: float, lane: float, w: float, end: float) -> str:
    """From its row to the left, round a corner, down to the rope's end."""
    r = w / 2 + 6
    return f"M{num(x)} {num(y)}H{num(lane + r)}A{num(r)} {num(r)} 0 0 0 {num(lane)} {num(y + r)}V{num(end)}"


def _stroke(data: str, w: float, thread: Thread, parts: Sequence[Thread]) -> str:
    """A thread in its tone; what is not traced to a source is dashed."""
    dash = ' stroke-dasharray="3 3"' if thread.name == UNTRACED else ""
    colour = tone(thread, largest(parts))
    return f'<path d="{data}" fill="none" stroke="var(--{colour})" stroke-width="{num(max(1.1, w - 1.1))}"{dash}/>'


def _bracket(data: str) -> str:
    return f'<path d="{data}" fill="none" stroke="var(--ink)" stroke-width="2"/>'
