"""Points from a CSV file: a header line with x, y, z (or x, y for points in a plane), then a line a point."""

import csv
import math
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from ...core.arrays import Array
from ...core.errors import FormatError
from ...core.units import convert

_AXES = ("x", "y", "z")


def read_points(path: Path) -> Array:
    """Read points (n, 3), or (n, 2) when there is no column z, in mm.

    Columns are in mm unless the header names a unit, as in `x [in]`; other columns are left alone. Lines that begin
    with # are comments.

    Raises
    ------
    FormatError : file missing, empty or not UTF-8; no column x or y; a number that is missing, not finite, no number
        or written with a comma; a line with more or fewer columns. Each with the line.
    """
    rows = _rows(path)
    line, header = next(rows, (None, []))
    if line is None:
        raise FormatError(str(path), None, "the file", "hold a header and points", "an empty file", "Export it again.")
    columns = _columns(path, line, header)
    points = [[_number(path, at, row[i], name, factor) for name, i, factor in columns]
              for at, row in rows if _whole(path, at, row, len(header))]  # fmt: skip
    if not points:
        raise FormatError(str(path), line, "the file", "hold points below its header", "none", "Export it again.")
    return np.array(points)


def _rows(path: Path) -> Iterator[tuple[int, list[str]]]:
    """Line numbers and cells of lines that are neither empty nor a comment."""
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
    for number, line in enumerate(text.splitlines(), 1):
        if line.strip() and not line.lstrip().startswith("#"):
            yield number, [cell.strip() for cell in next(csv.reader([line]))]


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


def _whole(path: Path, line: int, row: list[str], width: int) -> bool:
    """True; raises when a line has more or fewer cells than the header."""
    if len(row) == width:
        return True
    way_out = "Use a point as decimal sign, not a comma." if len(row) > width else "Fill in what is missing."
    raise FormatError(str(path), line, "the line", f"have {width} columns, as the header", f"{len(row)}", way_out)


def _number(path: Path, line: int, text: str, name: str, factor: float) -> float:
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
    return factor * value
