"""The file of what was found of attributes: accepted or not, by whom, when."""

from collections.abc import Collection, Iterable
from pathlib import Path
from typing import Literal

from ..job import InputFile, Record
from .table import Column, CsvTable, Report, read_table
from .toml_file import read_bytes

RECORDED = (
    Column("attribute", "The attribute that it lands on."),
    Column("result", "`accept`, `reject` or `undecided`, as it was found."),
    Column("by", "Who found it."),
    Column("when", "The day, as year-month-day; a time may follow."),
    Column("note", "What else was seen.", needed=False),
)
_Result = Literal["accept", "reject", "undecided"]
RESULTS: dict[str, _Result] = {"accept": "accept", "reject": "reject", "undecided": "undecided"}


def read_records(
    path: Path, file: str, *, known: Iterable[str], dropped: Collection[str] = (), report: Report
) -> tuple[dict[str, tuple[Record, ...]], InputFile]:
    """The records of each attribute, by id; `known` are the ids of the job's attributes, `dropped` are passed over.

    Bad cells, and results that contradict each other, go to `report`; the records are then not to be used.

    Raises
    ------
    FormatError : the file as a whole cannot be read (see `table.read_table`).
    """
    table, _ = read_table(read_bytes(path, file), file, (RECORDED,))
    way_out = "Add it to the job file, or to the list `dropped` there, or correct it."
    table.unknown("attribute", [*known, *dropped], "an attribute of the job", way_out, report)
    table.unknown("result", RESULTS, "accept, reject or undecided", "Write what was found.", report)
    _signed(table, report)
    found: dict[str, tuple[Record, ...]] = {}
    notes = table.cells.get("note", [""] * len(table.lines))
    for row, id_ in enumerate(table.cells["attribute"]):
        if id_ in dropped:
            continue
        result, by, when = (table.cells[name][row] for name in ("result", "by", "when"))
        before = found.setdefault(id_, ())
        if before and before[0].result != result:
            other = f'"{result}", and "{before[0].result}" on line {before[0].line}'
            way_out = "Settle it at the part, and leave the record that counts."
            report(table.error(row, f'the result of "{id_}"', "be one", other, way_out))
        found[id_] = (
            *before,
            Record(RESULTS.get(result, "undecided"), by, when, notes[row], file, int(table.lines[row])),
        )
    return found, table.source


def _signed(table: CsvTable, report: Report) -> None:
    """Who and when are never left open."""
    for row, name in enumerate(table.cells["by"]):
        if not name:
            report(table.error(row, "by", "name who found it", "an empty cell", "Write who looked."))
    for row, day in enumerate(table.cells["when"]):
        if not _is_day(day[:10]):
            found = f'"{day}"' if day else "an empty cell"
            report(table.error(row, "when", "begin with a day, as in 2026-11-20", found, "Write when it was found."))


def _is_day(text: str) -> bool:
    from datetime import date

    try:
        return date.fromisoformat(text).isoformat() == text
    except ValueError:
        return False
