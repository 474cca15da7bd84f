"""Points from a CSV file: a header line with x, y, z (or x, y for points in a plane), then a line a point."""

import csv
import math
from pathlib import Path

import numpy as np

from ...core.arrays import Array
from ...core.errors import FormatError
from ...core.units import convert

_AXES = ("x", "y", "z")


def read_points(path: Path) -> Array:
    """Read points (n, 3), or (n, 2) when there is no column z, in mm.

    Columns are in mm unless the header names a unit, as in `x [in]`; other columns are left alone. Lines that begin
    with # are comments. A million points take about a second.

    Raises
    ------
    FormatError : file missing, empty or not UTF-8; no column x or y; a number that is missing, not finite, no number
        or written with a comma; a line with more or fewer columns. Each with the line.
    """
    return read_columns(path)[0]


def read_columns(path: Path, more: str | None = None) -> tuple[Array, Array | None]:
    """Points as `read_points`, and the numbers (n) of one more column by its name, as they stand.

    Raises
    ------
    FormatError : as `read_points`; no column of that name.
    """
    rows = _lines(path)
    if not rows:
        raise FormatError(str(path), None, "the file", "hold a header and points", "an empty file", "Export it again.")
    (at, first), body = rows[0], rows[1:]
    header = _cells(first)
    columns = _columns(path, at, header)
    if more is not None:
        columns.append((more, _place(path, at, header, more), 1.0))
    if not body:
        raise FormatError(str(path), at, "the file", "hold points below its header", "none", "Export it again.")
    table = _quickly(body, [i for _, i, _ in columns], len(header))
    if table is None:
        table = np.array([_numbers(path, at, _cells(line), columns, len(header)) for at, line in body])
    table = table * np.array([factor for _, _, factor in columns])
    return (table, None) if more is None else (np.ascontiguousarray(table[:, :-1]), table[:, -1])


def _lines(path: Path) -> list[tuple[int, str]]:
    """Lines that are neither empty nor a comment, with their numbers."""
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except OSError as error:
        raise FormatError(
            str(path), None, "the file", "be there to read", (error.strerror or str(error)).lower(),
            "Check its name and place.",
        ) from None  # fmt: skip
    except UnicodeDecodeError as error:
        raise FormatError(
            str(path), error.object[: error.start].count(b"\n") + 1, "the text", "be UTF-8",
            f"the byte 0x{error.object[error.start]:02x}", "Save it again as UTF-8.",
        ) from None  # fmt: skip
    return [
        (number, line) for number, line in enumerate(text.splitlines(), 1) if line.strip() and line.lstrip()[0] != "#"
    ]


def _cells(line: str) -> list[str]:
    return [cell.strip() for cell in next(csv.reader([line]))]


def _quickly(body: list[tuple[int, str]], places: list[int], width: int) -> Array | None:
    """The columns (n, c) read in one go; None where a line needs a closer look."""
    lines = [line for _, line in body]
    if any(line.count(",") != width - 1 or '"' in line for line in lines):
        return None
    try:
        table = np.loadtxt(lines, delimiter=",", comments=None, usecols=places, ndmin=2)
    except ValueError:
        return None
    return table if np.isfinite(table).all() else None


def _columns(path: Path, line: int, header: list[str]) -> list[tuple[str, int, float]]:
    """Name, place and factor to mm of the coordinates."""
    found: dict[str, tuple[int, float]] = {}
    for i, cell in enumerate(header):
        name, _, unit = cell.partition("[")
        name = name.strip().lower()
        if name not in _AXES:
            continue
        if name in found:
            raise FormatError(str(path), line, f"column {name}", "stand once", "two of them", "Rename one.")
        unit = unit.rstrip("] ").strip() or "mm"
        found[name] = i, convert(1.0, unit, "length", where=f"{path}:{line}: column {name}")
    if missing := [name for name in ("x", "y") if name not in found]:
        raise FormatError(
            str(path), line, "the header", "name the columns x, y and z (x, y for points in a plane)",
            f'"{",".join(header)}", without {" and ".join(missing)}', "Put the names in the first line, with commas.",
        )  # fmt: skip
    return [(name, *found[name]) for name in _AXES if name in found]


def _place(path: Path, line: int, header: list[str], name: str) -> int:
    """Where the column of that name stands."""
    places = [i for i, cell in enumerate(header) if cell.partition("[")[0].strip().lower() == name.lower()]
    if len(places) == 1:
        return places[0]
    raise FormatError(
        str(path), line, "the header", f'have one column "{name}"', f'"{",".join(header)}"', "Correct the name."
    )


def _numbers(path: Path, line: int, row: list[str], columns: list[tuple[str, int, float]], width: int) -> list[float]:
    """The numbers of a line; raises when it has more or fewer cells than the header, or one is no number."""
    if len(row) != width:
        way_out = "Use a point as decimal sign, not a comma." if len(row) > width else "Fill in what is missing."
        raise FormatError(str(path), line, "the line", f"have {width} columns, as the header", f"{len(row)}", way_out)
    return [_number(path, line, row[i], name) for name, i, _ in columns]


def _number(path: Path, line: int, text: str, name: str) -> float:
    if "," in text:
        raise FormatError(
            str(path), line, name, "use a point as decimal sign and no comma", f'"{text}"',
            f'Write "{text.replace(",", ".")}" if the comma is a decimal sign.',
        )  # fmt: skip
    try:
        value = float(text) if "_" not in text else None
    except ValueError:
        value = None
    if value is None:
        raise FormatError(str(path), line, name, "be a number", f'"{text}"', "Drop the line or correct it.")
    if not math.isfinite(value):
        raise FormatError(str(path), line, name, "be finite", f'"{text}"', "Drop the line or correct it.")
    return value
