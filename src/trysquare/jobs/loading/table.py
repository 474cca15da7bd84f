"""A CSV file as columns of text: header with units in square brackets, comment lines, line numbers kept."""

import csv
import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import NoReturn

import numpy as np
import numpy.typing as npt

from ...core.arrays import Array
from ...core.errors import FormatError
from ...core.files import sha256
from ...core.units import UNITS
from ..job import InputFile
from .messages import nearest
from .toml_file import text_of

_TITLE = re.compile(r"\s*([^\[\]]*?)\s*(?:\[\s*([^\[\]]*?)\s*\])?\s*")
#: So many bad cells of one column are named one by one.
_NAMED = 20
Report = Callable[[FormatError], None]


@dataclass(frozen=True)
class Column:
    """A column that a file may have. `kind` "" is text; `unit` is its default unit, "" when it must be written."""

    name: str
    text: str
    kind: str = ""
    unit: str = ""
    needed: bool = True

    def title(self) -> str:
        """How its header looks."""
        unit = self.unit or ("deg" if self.kind == "angle" else "")
        return f"{self.name} [{unit}]" if unit else self.name


@dataclass(frozen=True)
class CsvTable:
    """Columns by name, cells stripped; `lines` (n,) are line numbers; `units` as written or by default."""

    file: str
    cells: dict[str, list[str]]
    units: dict[str, str]
    lines: npt.NDArray[np.int64]
    source: InputFile

    def error(self, row: int, what: str, rule: str, found: str, way_out: str) -> FormatError:
        return FormatError(self.file, int(self.lines[row]), what, rule, found, way_out)

    def numbers(self, column: Column, report: Report) -> Array:
        """The numbers (n,) of a column in the inside unit; bad cells are reported and become nan."""
        cells = self.cells[column.name]
        values = _all_numbers(cells)
        if values is None:
            values = np.full(len(cells), np.nan)
            for row in self._bad_numbers(column, cells, values)[:_NAMED]:
                report(self._bad_cell(row, column, cells[row]))
        factor, offset = UNITS[column.kind][self.units[column.name]]
        return factor * (values + offset)

    def _bad_numbers(self, column: Column, cells: list[str], values: Array) -> list[int]:
        bad = []
        for row, cell in enumerate(cells):
            one = _all_numbers([cell])
            if one is None:
                bad.append(row)
            else:
                values[row] = one[0]
        return bad

    def _bad_cell(self, row: int, column: Column, cell: str) -> FormatError:
        rule = "be a finite number"
        way_out = "Correct it at its source, or drop the line."
        if re.fullmatch(r"[-+]?\d+,\d+", cell):
            rule, way_out = "use a point as decimal sign and no comma", f"Write {cell.replace(',', '.')}."
        return self.error(row, column.title(), rule, f'"{cell}"' if cell else "an empty cell", way_out)

    def unknown(self, column: str, known: Iterable[str], what: str, otherwise: str, report: Report) -> bool:
        """Report every distinct cell of a column that is not among `known`; True where there was one."""
        known = list(known)
        cells = self.cells[column]
        strangers = [name for name in dict.fromkeys(cells) if name not in set(known)]
        for name in strangers[:_NAMED]:
            near = nearest(name, known)
            rows = cells.count(name)
            found = f'"{name}"' + (f" (on {rows} lines)" if rows > 1 else "") if name else "an empty cell"
            way_out = f'Did you mean "{near}"?' if near else otherwise
            report(self.error(cells.index(name), column, f"be {what}", found, way_out))
        return bool(strangers)


def _all_numbers(cells: Sequence[str]) -> Array | None:
    """Cells as finite numbers, or None where one of them is none."""
    try:
        values = np.fromiter(map(float, cells), dtype=np.float64, count=len(cells))
    except ValueError:
        return None
    plain = np.isfinite(values).all() and not any("_" in cell for cell in cells)
    return values if plain else None


def read_table(data: bytes, file: str, layouts: Sequence[Sequence[Column]]) -> tuple[CsvTable, int]:
    """Read a CSV file that has the columns of one of `layouts`; return it with the number of that layout.

    Raises
    ------
    FormatError : not UTF-8, empty, other separators, other columns, a wrong or missing unit, a ragged line.
    """
    text = text_of(data, file).replace("\r\n", "\n").replace("\r", "\n")
    numbered = [
        (number, line)
        for number, line in enumerate(text.split("\n"), 1)
        if (start := line.lstrip()) and not start.startswith("#")
    ]
    if not numbered:
        titles = ",".join(column.title() for column in layouts[0] if column.needed)
        raise FormatError(
            file, None, "the file", f"begin with a header line such as {titles}", "an empty file", "Export it again."
        )
    _check_separator(file, numbered)
    rows = _split(file, numbered)
    which, names, units = _header(file, numbered[0][0], rows[0], layouts)
    if len(rows) == 1:
        raise FormatError(
            file, numbered[0][0], "the file", "have a line for each reading", "a header and nothing below it",
            "Export it again, or leave its station or tool out of the job until it is measured.",
        )  # fmt: skip
    columns = [[cell.strip() for cell in column] for column in zip(*rows[1:], strict=True)]
    table = CsvTable(
        file, dict(zip(names, columns, strict=True)), units, np.array([number for number, _ in numbered[1:]]),
        InputFile(file, sha256(data), len(data)),
    )  # fmt: skip
    return table, which


def _check_separator(file: str, numbered: list[tuple[int, str]]) -> None:
    line, header = numbered[0]
    for mark, name in ((";", "semicolons"), ("\t", "tabs")):
        if header.count(mark) > header.count(","):
            decimal = any(re.search(r"\d,\d", row) for _, row in numbered[1:3])
            raise FormatError(
                file, line, "the columns", "be separated by commas, with a point as decimal sign",
                name + (" and decimal commas" if decimal else ""),
                "Export it again as CSV with commas and decimal points (an English setting does both).",
            )  # fmt: skip


def _split(file: str, numbered: list[tuple[int, str]]) -> list[list[str]]:
    try:
        rows = list(csv.reader([line for _, line in numbered], strict=True))
    except csv.Error as error:
        raise FormatError(file, None, "the quotes", "be closed on their line", str(error), "Drop the quotes.") from None
    width = len(rows[0])
    if len(rows) != len(numbered) or any(len(row) != width for row in rows):
        _ragged(file, numbered, rows, width)
    return rows


def _ragged(file: str, numbered: list[tuple[int, str]], rows: list[list[str]], width: int) -> NoReturn:
    row = next((i for i, row in enumerate(rows) if len(row) != width), len(rows) - 1)
    line, text = numbered[row]
    way_out = "Fill empty cells with nothing between two commas."
    if len(rows[row]) > width and re.search(r"\d,\d", text):
        way_out = "If commas stand for decimal points, write points; a text with a comma needs quotes."
    raise FormatError(
        file, line, "the line", f"have {width} cells, as the header has", f"{len(rows[row])}: `{text.strip()}`", way_out
    )


def _header(
    file: str, line: int, cells: Sequence[str], layouts: Sequence[Sequence[Column]]
) -> tuple[int, list[str], dict[str, str]]:
    titles = [_title(file, line, cell) for cell in cells]
    names = [name for name, _ in titles]
    score = [sum(name in {c.name for c in layout} for name in names) for layout in layouts]
    which = score.index(max(score))
    layout = {column.name: column for column in layouts[which]}
    _check_names(file, line, names, list(layout.values()))
    units = {name: _unit(file, line, layout[name], unit) for name, unit in titles}
    return which, names, units


def _title(file: str, line: int, cell: str) -> tuple[str, str | None]:
    match = _TITLE.fullmatch(cell)
    if match is None or not match[1]:
        raise FormatError(
            file, line, "a column", "have a name, and its unit in square brackets", f"`{cell}`", "As in: range [mm]"
        )
    return match[1].lower(), match[2]


def _check_names(file: str, line: int, names: list[str], layout: list[Column]) -> None:
    known = [column.name for column in layout]
    missing = [column.title() for column in layout if column.needed and column.name not in names]
    unknown = [name for name in names if name not in known]
    twice = [name for name in dict.fromkeys(names) if names.count(name) > 1]
    found = [f'no "{title}"' for title in missing]
    found += [f'an unknown "{name}"' for name in unknown] + [f'"{name}" twice' for name in twice]
    if not found:
        return
    close = [f'"{near}" for "{name}"' for name in unknown if (near := nearest(name, known))]
    way_out = f"Did you mean {' and '.join(close)}?" if close else "Add or drop columns."
    rule = "be " + ", ".join(column.title() + ("" if column.needed else " (optional)") for column in layout)
    raise FormatError(file, line, "the columns", rule, ", ".join(found), way_out)


def _unit(file: str, line: int, column: Column, unit: str | None) -> str:
    known = list(UNITS.get(column.kind, ()))
    given = column.unit if unit is None else unit
    if not column.kind and unit is None:
        return ""
    if given in known:
        return given
    found = "no unit" if unit is None else f'"{unit}"'
    rule = f"have its unit in the header, one of {', '.join(known)}" if known else "have no unit"
    way_out = f"Write {column.title()}." if column.kind != "angle" else f"Write {column.name} [deg], or what it is in."
    raise FormatError(file, line, f'the column "{column.name}"', rule, found, way_out)
