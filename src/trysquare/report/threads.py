"""The threads of the chain: which source at which link has which share, and the words that stand over them."""

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

from ..chance.sources import LINKS
from ..jobs.result import Contribution
from .fonts import sans, wrap
from .format import clean, share
from .svg import num, text

UNTRACED = "not traced"
_LEAST, _MOST = 0.01, 5  # at one link, threads below this share, or beyond this many, are drawn and named together
_BIG = 0.3


@dataclass(frozen=True)
class Thread:
    """One source, or several small ones together, at one link."""

    name: str
    link: int
    share: float


def threads(contributions: Sequence[Contribution], remainder: float | None) -> list[Thread]:
    """Threads in the order of the links; what is not traced comes last, at the last link."""
    found = []
    for index, link in enumerate(LINKS):
        here = sorted((c for c in contributions if c.link == link and c.share > 0), key=lambda c: -c.share)
        large = [c for c in here if c.share >= _LEAST][:_MOST]
        small = here[len(large) :]
        if len(small) == 1:
            large, small = here, []
        found += [Thread(clean(c.source), index, c.share) for c in large]
        if small:
            found.append(Thread(f"{len(small)} smaller ones", index, sum(c.share for c in small)))
    if remainder is not None and remainder >= 0.005 and found:
        found.append(Thread(UNTRACED, len(LINKS) - 1, remainder))
    return found


def largest(parts: Sequence[Thread]) -> Thread:
    """The thread that a reader should see first."""
    return max(parts, key=lambda t: t.share)


def label(parts: Sequence[Thread]) -> str:
    """What the drawing says to a screen reader."""
    top = largest(parts)
    return f"Shares of the variance by link; the largest: {top.name}, {share(top.share)}."


def tone(thread: Thread, top: Thread) -> str:
    """Ink for the largest, grey for the considerable, a hairline colour for the rest."""
    if thread == top:
        return "ink"
    return "hump" if thread.share >= 0.08 and thread.name != UNTRACED else "edge"


def heading(here: Sequence[Thread], link: str, room: float, size: float, top: Thread) -> tuple[str, float]:
    """The words over one column (link, shares, sources) and how deep they reach; the largest share stands out."""
    y, parts = size, ""
    for line in wrap(link[0].upper() + link[1:], room, size + 1, bold=True):
        parts += text(0, y, line, size=size + 1, fill="ink", bold=True)
        y += 1.25 * size
    y += 0.15 * size
    for thread in sorted(here, key=lambda t: -t.share):
        if thread == top and thread.share >= _BIG:
            parts += text(0, y + 1.6 * size, share(thread.share), size=2.4 * size, fill="ink", bold=True)
            y += 2.9 * size
            lines, figure = wrap(thread.name, room, size), ""
        else:
            figure = share(thread.share)
            lines = wrap(f"{figure} {thread.name}", room - 0.08 * size * len(figure), size)
        for k, line in enumerate(lines):
            parts += _named(line, y, size, figure if k == 0 else "")
            y += 1.2 * size
    return parts, y - 0.6 * size


def _named(line: str, y: float, size: float, figure: str) -> str:
    """A line whose figure is stressed."""
    if not figure or not line.startswith(figure):
        return text(0, y, line, size=size)
    stressed = f'<tspan font-weight="700" fill="var(--ink)">{figure}</tspan>'
    return (
        f'<text x="0" y="{num(y)}" font-size="{num(size)}" fill="var(--ink-2)">{stressed}'
        f"{escape(line[len(figure) :], quote=False)}</text>"
    )


def least_room(here: Sequence[Thread], link: str, size: float) -> float:
    """The width in which no word of a column has to be broken."""
    words = max(sans(bold=True).width(word, size + 1) for word in link.capitalize().split())
    names = [sans().width(word, size) for thread in here for word in thread.name.split()]
    return max([words, *names])
