"""What a set of instruments costs against what it holds: the best sets as steps, the others as open dots."""

import math
from collections.abc import Sequence

from .choice import Choice, Group
from .fonts import sans
from .format import clean, plain
from .svg import Point, drawing, num, text, trace


def cost_plot(choice: Choice, *, width: float = 460.0, height: float = 250.0) -> str:
    """Cost of a set against requirements held: the best sets as steps, the others as open dots."""
    if not choice.groups:
        return ""
    total = max(1, sum(need.count for need in choice.needs))
    top_cost = 1.08 * max(1e-9, *(g.cost for g in choice.groups))
    left, base, roof, right = 40.0, height - 32.0, 22.0, width - 8.0

    def at(cost: float, covers: float) -> Point:
        return left + cost / top_cost * (right - left), base - covers / total * (base - roof)

    best = frontier(choice.groups)
    corners = [at(0, 0)]
    for group in best:
        x, y = at(group.cost, group.covers)
        corners += [(x, corners[-1][1]), (x, y)]
    corners.append((right, corners[-1][1]))
    body = f'<path d="M{num(left)} {num(base)}H{num(right)}" stroke="var(--ink)"/>'
    body += f'<path d="M{num(left)} {num(roof)}H{num(right)}" stroke="var(--rule)" stroke-width="1.4"/>'
    body += "".join(
        text(left - 6, at(0, n)[1] + 4, str(n), size=12, anchor="end") for n in sorted({0, total // 2, total})
    )
    body += "".join(_cost_mark(choice, x, at(x, 0)[0], base) for x in _round_costs(top_cost))
    body += f'<path d="{trace(corners)}" fill="none" stroke="var(--ink)" stroke-width="3"/>'
    body += "".join(_dot(at(g.cost, g.covers), filled=False) for g in choice.groups if g not in best)
    body += "".join(_dot(at(g.cost, g.covers), filled=True) for g in best)
    dots = [at(g.cost, g.covers) for g in choice.groups]
    body += _labels([(at(g.cost, g.covers), clean(g.name)) for g in best], dots, right, base)
    label = "Cost against requirements held: " + "; ".join(f"{clean(g.name)}, {g.covers} of {total}" for g in best)
    return drawing(body, width, height, label, kind="plot")


def frontier(groups: Sequence[Group]) -> list[Group]:
    """Sets that no cheaper set equals, by rising cost."""
    best: list[Group] = []
    for group in sorted(groups, key=lambda g: (g.cost, -g.covers)):
        if not best or group.covers > best[-1].covers:
            best.append(group)
    return best


def _dot(place: Point, *, filled: bool) -> str:
    paint = 'fill="var(--ink)"' if filled else 'fill="var(--sheet)" stroke="var(--edge)" stroke-width="2"'
    return f'<circle cx="{num(place[0])}" cy="{num(place[1])}" r="{"5.5" if filled else "4.5"}" {paint}/>'


def _cost_mark(choice: Choice, cost: float, x: float, base: float) -> str:
    words = f"{choice.unit_of_cost} {plain(cost)}".strip() if cost else "0"
    return text(x, base + 18, words, size=12, anchor="middle")


def _round_costs(top: float) -> list[float]:
    """From 0 up in round steps, five marks at most."""
    power = 10.0 ** math.floor(math.log10(top / 4.5))
    step = next(n * power for n in (1, 2, 5, 10) if top / (n * power) <= 4.5)
    return [k * step for k in range(int(top / step) + 1)]


def _labels(best: Sequence[tuple[Point, str]], dots: Sequence[Point], right: float, base: float) -> str:
    """Names beside their dots, at the first place that is clear of other dots and names."""
    taken = [(x - 6, y - 6, x + 6, y + 6) for x, y in dots]
    parts = ""
    for (x, y), name in best:
        w = sans().width(name, 13)
        start = min(x + 11, right - w)
        lines = [y + 19, y - 10, *(y + 19 + 14 * k for k in range(1, 12))]
        fits = [line for line in lines if line < base and not _hits((start, line - 11, start + w, line + 3), taken)]
        line = fits[0] if fits else y + 19
        taken.append((start, line - 11, start + w, line + 3))
        parts += text(start, line, name, size=13, fill="ink", halo=4)
    return parts


def _hits(box: tuple[float, ...], others: Sequence[tuple[float, ...]]) -> bool:
    return any(box[0] < o[2] and o[0] < box[2] and box[1] < o[3] and o[1] < box[3] for o in others)
