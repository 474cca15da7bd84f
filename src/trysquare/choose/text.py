"""The choice as a person reads it in a terminal, at 80 columns: conclusion, matrix, sets, what must go elsewhere."""

import re
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from .conclude import money
from .result import Cell, Choice, Wanted

_MARKS = {"holds": "hold", "holds if": "if", "send out": "out", None: "-"}
_LEGEND = (
    "hold: holds as it is set up here; if: holds with an action or a promise of the maker; out: send out; -: cannot "
    "measure it. A word near its border can change with --seed and --draws; choice.html (--out) has every figure and "
    "action."
)
_COLUMN = 5
_LABEL = 25
_CODE = 4
_HELD = re.compile(r"(?<=\d) (?=(?:mm|m|deg|K|EUR)\b|%)")
_VAGUE = ("gauge", "machine", "scanner")


@dataclass(frozen=True)
class Row:
    """Requirements that are alike, each with its cells by class."""

    wanted: tuple[Wanted, ...]
    cells: tuple[dict[str, Cell], ...]

    def alike(self, other: "Row") -> bool:
        """Whether two rows ask the same and hear the same from every class."""
        a, b = self.wanted[0], other.wanted[0]
        words = ([cell.word for cell in row.cells[0].values()] for row in (self, other))
        return (a.characteristic, a.zone_text) == (b.characteristic, b.zone_text) and next(words) == next(words)

    def worst(self, name: str) -> Cell:
        """The cell of one class with the largest doubt."""
        return max((cells[name] for cells in self.cells), key=lambda cell: cell.predicted_u or 0.0)


def summary(choice: Choice, *, files: Sequence[Path] = (), width: int = 80) -> str:
    """The summary: what was asked, the conclusion, the matrix, the sets, the rest."""
    blocks = [
        [choice.title, f"{choice.place}; part {choice.temperature_text}"],
        _wrapped(choice.conclusion, width),
        _matrix(choice, width),
        _wrapped(_LEGEND, width),
        _codes(choice, width),
        _sets(choice, width),
        _ifs(choice, width),
        _lab(choice, width),
        [line for text in choice.assumptions for line in _item(text, width)],
        [line for text in (*choice.cautions, *choice.warnings) for line in _wrapped(text, width)],
        ["Written:", *(f"  {file}" for file in files)] if files else [],
    ]
    return "\n\n".join("\n".join(block) for block in blocks if block)


def codes(names: Sequence[str]) -> dict[str, str]:
    """A short code for each class name, all different: four letters of its telling word."""
    out: dict[str, str] = {}
    for name in names:
        words = name.replace("-", " ").split()
        telling = words[0] if words[-1] in _VAGUE else words[-1]
        tries = [telling[:_CODE], *(w[:_CODE] for w in words), *(f"{telling[: _CODE - 1]}{i}" for i in range(2, 100))]
        out[name] = next(code for code in tries if code not in out.values())
    return out


def _matrix(choice: Choice, width: int) -> list[str]:
    """Rows of requirements, equal ones folded; as many columns at a time as fit."""
    short = codes([i.name for i in choice.instruments])
    rows = folded(choice)
    at_once = max(1, (width - _LABEL) // _COLUMN)
    lines: list[str] = []
    for first in range(0, len(choice.instruments), at_once):
        names = [i.name for i in choice.instruments[first : first + at_once]]
        lines += [""] if lines else []
        lines.append("requirement".ljust(_LABEL) + "".join(short[n].rjust(_COLUMN) for n in names))
        for row in rows:
            marks = "".join(_MARKS[row.cells[0][n].word].rjust(_COLUMN) for n in names)
            lines.append(_label(row.wanted).ljust(_LABEL) + marks)
        held = {i.name: i.holds for i in choice.instruments}
        foot = f"held of {len(choice.requirements)}".ljust(_LABEL)
        lines.append(foot + "".join(str(held[n]).rjust(_COLUMN) for n in names))
    return lines


def folded(choice: Choice) -> list[Row]:
    """Neighbours with the same characteristic, zone and words folded into one row."""
    cells: dict[str, dict[str, Cell]] = {}
    for cell in choice.matrix:
        cells.setdefault(cell.requirement, {})[cell.instrument] = cell
    out: list[Row] = []
    for wanted in choice.requirements:
        row = Row((wanted,), (cells[wanted.id],))
        if out and out[-1].alike(row):
            out[-1] = Row((*out[-1].wanted, wanted), (*out[-1].cells, cells[wanted.id]))
        else:
            out.append(row)
    return out


def _label(group: Sequence[Wanted]) -> str:
    ids = group[0].id if len(group) == 1 else f"{group[0].id}-{group[-1].id}"
    name = "" if group[0].name == group[0].id else f" {group[0].name}"
    label, room = f"{ids}{name}", _LABEL - 1
    return label if len(label) <= room else label[: room - 1] + "~"


def _codes(choice: Choice, width: int) -> list[str]:
    short = codes([i.name for i in choice.instruments])
    lines = ["Each as it is set up here, and the cost of what it holds"]
    for i in choice.instruments:
        cost = f"; {money(i.cost)}" if i.holds else ""
        text = f"{i.name}: {i.how}{cost}"
        lines += _filled(text, width, f"{short[i.name]:<6}", " " * 6)
    return lines


def _sets(choice: Choice, width: int) -> list[str]:
    if not choice.sets:
        return []
    lines = ["Cheapest sets (* chosen)"]
    for s in choice.sets:
        mark = "*" if s.chosen else " "
        head = f"{mark} {s.covers:>3} of {len(choice.requirements)}  {money(s.cost):<18} "
        lines += _filled(", ".join(s.instruments), width, head, " " * len(head))
    return lines


def _ifs(choice: Choice, width: int) -> list[str]:
    """What the requirements hang on that only hold with an action."""
    lines = []
    for x in choice.lab:
        if x.holds is None and x.action is not None:
            lines += _item(f"{x.requirement} {x.name}: {x.why}", width)
    return ["Only with an action", *lines] if lines else []


def _lab(choice: Choice, width: int) -> list[str]:
    lines = []
    for x in choice.lab:
        if x.holds is not None:
            lines += _item(f"{x.requirement} {x.name}: {x.holds}. {x.why}", width)
        elif x.action is None:
            lines += _item(f"{x.requirement} {x.name}: nobody. {x.why}", width)
    return ["To the laboratory, or nobody", *lines] if lines else []


def _item(text: str, width: int) -> list[str]:
    return _filled(text, width, "- ", "  ")


def _wrapped(text: str, width: int) -> list[str]:
    return _filled(text, width, "", "")


def _filled(text: str, width: int, first: str, rest: str) -> list[str]:
    """Lines that keep a number and its unit together."""
    held = _HELD.sub("\0", text)
    lines = textwrap.wrap(held, width, initial_indent=first, subsequent_indent=rest, break_on_hyphens=False)
    return [line.replace("\0", " ") for line in lines]
