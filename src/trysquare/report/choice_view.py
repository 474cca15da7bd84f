"""The document of `choose` as the page draws it, and its files."""

import math
from pathlib import Path

from ..choose.cells import KEEPS
from ..choose.conclude import money
from ..choose.result import Choice
from ..choose.text import Row, folded
from ..core.files import write_together
from . import choice as view
from .choice_page import choice_page
from .words import Piece


def write_choice(choice: Choice, folder: Path) -> list[Path]:
    """choice.json and choice.html, made before either is written."""
    files: dict[Path, bytes | str] = {
        folder / "choice.json": choice.as_bytes(),
        folder / "choice.html": choice_page(as_view(choice)),
    }
    write_together(files)
    return list(files)


def as_view(choice: Choice) -> view.Choice:
    """The document as the page draws it: alike requirements in one row, the chosen set framed, classes that hold
    nothing left to the notes."""
    rows = folded(choice)
    chosen = next((s.by for s in choice.sets if s.chosen), {})
    shown_here = [i for i in choice.instruments if i.holds or i.holds_if]
    names = [i.name for i in shown_here]
    out = [f"{i.name}: holds nothing here; {i.how}" for i in choice.instruments if i.name not in names]
    return view.Choice(
        title="What can hold it here",
        place=f"{choice.title}; {choice.place}, part {choice.temperature_text}",
        needs=[_need(row) for row in rows],
        devices=[view.Device(i.name, i.cost.middle, money(i.cost)) for i in shown_here],
        cells=[[_cell(row, name) for name in names] for row in rows],
        picks=[names.index(chosen[row.wanted[0].id]) if row.wanted[0].id in chosen else None for row in rows],
        groups=[view.Group(" + ".join(s.instruments), s.cost.middle, s.covers) for s in choice.sets],
        say=[Piece(choice.conclusion)],
        unit_of_cost=choice.sets[0].cost.currency if choice.sets else "",
        notes=[*choice.cautions, *out, *choice.assumptions, *choice.warnings],
    )


def _need(row: Row) -> view.Need:
    w = row.wanted[0]
    factor = 180.0 / math.pi if w.unit == "rad" else 1.0
    return view.Need(
        w.id, w.name, w.characteristic, w.zone_text, w.width, limits=w.limits, count=len(row.wanted), factor=factor
    )


def _cell(row: Row, name: str) -> view.Cell:
    """The cell with the largest doubt of the row; in words only the action that it hangs on."""
    cell = row.worst(name)
    action = cell.action or ""
    if action.startswith(KEEPS):
        action = f"{KEEPS} the bar drawn"
    return view.Cell(cell.predicted_u, cell.target_u, cell.word, action)
