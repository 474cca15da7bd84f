"""The choice: which instrument would hold which requirement here, as a matrix.

A cell is the zone less the doubt; the bar beneath is what is left for the maker: whole (holds), dashed (holds if, with
the action named), none and hatched full (send out). A cell without a picture: that instrument cannot measure it.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from html import escape
from typing import Literal

from .format import clean, decimals, figure
from .glyphs import symbol
from .svg import drawing, hatch, num
from .words import Piece

Word = Literal["holds", "holds if", "send out"]
_GUARD = 1.645  # standard uncertainties from a limit to where conformity is proven with 95 % (ISO 14253-1)
_W, _LEFT, _RIGHT = 118.0, 3.0, 115.0


@dataclass(frozen=True)
class Need:
    """One requirement, or `count` alike; `width` is its zone in mm or rad, None when it has one limit only."""

    id: str
    name: str
    characteristic: str
    zone: str
    width: float | None
    limits: Literal["both", "zero", "least", "most"] = "zero"
    count: int = 1
    factor: float = 1.0  # from the unit of `width` and u to what is shown


@dataclass(frozen=True)
class Device:
    """One instrument class; what it costs a part, in words and as a number that can be compared."""

    name: str
    cost: float | None = None
    cost_text: str = ""


@dataclass(frozen=True)
class Cell:
    """What is predicted for one requirement with one instrument; without a word it cannot measure it."""

    predicted_u: float | None = None
    target_u: float | None = None
    word: Word | None = None
    why: str = ""


@dataclass(frozen=True)
class Group:
    """A set of instruments: its name, cost and how many requirements it holds."""

    name: str
    cost: float
    covers: int


@dataclass(frozen=True)
class Choice:
    """All that the view shows; `cells[need][device]`, `picks[need]` the chosen device or None (send it out)."""

    title: str
    place: str
    needs: Sequence[Need]
    devices: Sequence[Device]
    cells: Sequence[Sequence[Cell]]
    picks: Sequence[int | None] = ()
    groups: Sequence[Group] = ()
    say: Sequence[Piece] = ()
    unit_of_cost: str = ""
    notes: Sequence[str] = field(default=())


def doubt(need: Need, cell: Cell) -> float:
    """The share of the zone that doubt takes at one limit, 0 to 1 (half of it at most where there are two)."""
    if cell.predicted_u is None:
        return 0.0
    if need.width:
        return min(0.5 if need.limits == "both" else 1.0, _GUARD * cell.predicted_u / need.width)
    return min(1.0, 0.25 * cell.predicted_u / cell.target_u) if cell.target_u else 0.0


def cell_picture(need: Need, cell: Cell) -> str:
    """The zone less the doubt, and the bar that is left for the maker; a hairline where nothing can be measured."""
    if cell.word is None or cell.predicted_u is None:
        line = f'<path d="M14 12H{num(_W - 14)}" stroke="var(--rule)"/>'
        return drawing(line, _W, 24, "cannot measure it", kind="cell")
    span, share = _RIGHT - _LEFT, doubt(need, cell)
    low = _LEFT + (span * share if need.limits in ("both", "least") else 0.0)
    high = _RIGHT - (span * share if need.limits != "least" else 0.0)
    box = f'x="{num(_LEFT)}" y="2" width="{num(span)}" height="14"'
    body = f'<rect {box} fill="var(--zone)" stroke="var(--zone-line)"/>'
    lines = hatch(_LEFT, low, 2, 16, period=6.2) + hatch(high, _RIGHT, 2, 16, period=6.2)
    body += f'<path d="{lines}" stroke="var(--doubt)" stroke-width="1.6"/>' if lines else ""
    if cell.word != "send out" and high > low:
        dash = ' stroke-dasharray="5 2.5"' if cell.word == "holds if" else ""
        tone = "ask" if cell.word == "holds if" else "ink"
        body += f'<path d="M{num(low + 1)} 20.5H{num(high)}" stroke="var(--{tone})" stroke-width="4"{dash}/>'
    if need.limits != "most":
        wall = 4.5 if need.limits == "zero" else 2.0
        body += f'<path d="M{num(_LEFT)} 0V23" stroke="var(--post)" stroke-width="{num(wall)}"/>'
    if need.limits != "least":
        body += f'<path d="M{num(_RIGHT)} 0V23" stroke="var(--post)" stroke-width="2"/>'
    left = max(0.0, 1 - (2 if need.limits == "both" else 1) * share)
    return drawing(body, _W, 24, f"{cell.word}: {round(100 * left)} % of the zone is left for the maker", kind="cell")


def matrix(choice: Choice) -> str:
    """The table: requirements down, instruments across, the chosen cells framed, at the foot how many each holds."""
    marks = _marks(choice)
    head = '<th scope="col"><span class="cap">requirement, zone in mm</span></th>'
    head += "".join(_device(device, choice.devices) for device in choice.devices)
    rows = ""
    for i, need in enumerate(choice.needs):
        pick = choice.picks[i] if i < len(choice.picks) else None
        cells = "".join(_cell(need, cell, marks, picked=k == pick) for k, cell in enumerate(choice.cells[i]))
        rows += f'<tr><th scope="row">{_need(need)}</th>{cells}</tr>'
    total = sum(need.count for need in choice.needs)
    foot = "".join(f"<td><b>{held(choice, k)}</b></td>" for k in range(len(choice.devices)))
    return (
        '<div class="matrix" tabindex="0" role="region" aria-label="Requirements and instruments">'
        f"<table><thead><tr>{head}</tr></thead><tbody>{rows}</tbody>"
        f'<tfoot><tr><th scope="row"><span class="cap">held of {total}</span></th>{foot}</tr></tfoot></table></div>'
        + _actions(marks)
    )


def _marks(choice: Choice) -> dict[str, int]:
    """Every action that a cell hangs on, numbered in the order met."""
    found = (cell.why for cells in choice.cells for cell in cells if cell.word == "holds if" and cell.why)
    return {why: i + 1 for i, why in enumerate(dict.fromkeys(found))}


def _actions(marks: dict[str, int]) -> str:
    if not marks:
        return ""
    rows = "".join(f"<li>{escape(clean(why))}</li>" for why in marks)
    return f'<div class="actions"><b class="label">holds if</b><ol>{rows}</ol></div>'


def held(choice: Choice, device: int) -> int:
    """How many requirements one instrument holds by itself, with no action."""
    pairs = zip(choice.needs, choice.cells, strict=True)
    return sum(need.count for need, cells in pairs if cells[device].word == "holds")


def _device(device: Device, devices: Sequence[Device]) -> str:
    top = max((d.cost for d in devices if d.cost), default=0.0)
    bar = ""
    if device.cost is not None and top > 0:
        width = max(3.0, 100.0 * (device.cost / top) ** 0.5)
        bar = f'<i class="cost" style="width:{width:.0f}%"></i>'
    cost = f'<span class="cap">{escape(clean(device.cost_text))}</span>' if device.cost_text else ""
    return f'<th scope="col">{escape(clean(device.name))}{cost}{bar}</th>'


def _need(need: Need) -> str:
    many = f", {need.count} of them" if need.count > 1 else ""
    zone = f'<span class="cap">{escape(clean(need.zone))}{many}</span>'
    return f'<span class="need">{symbol(need.characteristic)}<span>{escape(clean(need.name))}{zone}</span></span>'


def _cell(need: Need, cell: Cell, marks: dict[str, int], *, picked: bool) -> str:
    name = (cell.word or "none").replace(" ", "-") + (" pick" if picked else "")
    if cell.predicted_u is None or cell.word is None:
        why = f'<span class="why">{escape(clean(cell.why))}</span>' if cell.why else ""
        return f'<td class="{name}">{cell_picture(need, cell)}{why}</td>'
    big_u = 2 * cell.predicted_u * need.factor
    mark = f" {marks[cell.why]}" if cell.why in marks else ""
    word = "" if cell.word == "holds" else f"<i>{cell.word}{mark}</i>"
    chosen = '<span class="far">chosen</span>' if picked else ""
    figures = f'<span class="u"><span>± {figure(big_u, decimals(big_u))}</span>{word}</span>'
    return f'<td class="{name}">{chosen}{cell_picture(need, cell)}{figures}</td>'
