"""Reading files: those of a station, polar or Cartesian, and those of a hand tool."""

import math
from collections.abc import Collection, Iterable, Mapping
from pathlib import Path
from typing import Any, TypeVar

import numpy as np
import numpy.typing as npt

from ...core.arrays import Array
from ..job import HandSet, InputFile, Nest, Readings, Target
from .table import Column, CsvTable, Report, read_table
from .toml_file import read_bytes

_ON = Column("on", "The feature or tie point that was aimed at.")
_POINT = Column("point", "Label of the aim on it. Repeats of one aim (both faces, say) share it.")
_FACE = Column("face", "1 or 2. An aim in face 2 is given as reduced to face 1.", needed=False)
_NEST = Column("nest", "The nest that held the ball; empty: the ball touched.", needed=False)
POLAR = (
    _ON,
    _POINT,
    _FACE,
    Column("target", "The ball, a `[target]` of the job file."),
    _NEST,
    Column("azimuth", "Counter-clockwise about the station's vertical.", "angle"),
    Column("elevation", "Up from the horizontal plane.", "angle"),
    Column("range", "From the station to the centre of the ball.", "length", "mm"),
)
CARTESIAN = (
    _ON,
    _POINT,
    _FACE,
    Column("target", "The ball or tip whose centre is given; empty or `contact`: the point touched.", needed=False),
    _NEST,
    Column("x", "In the station's own frame.", "length", "mm"),
    Column("y", "", "length", "mm"),
    Column("z", "", "length", "mm"),
)
HAND = (
    Column("requirement", "The requirement that the reading lands on."),
    Column("place", "Where on the feature. Repeats at one place share it; different places are local sizes."),
    Column("value", "The reading.", "length", "mm"),
    Column("temperature", "Of the part at that moment; empty: that of its zone.", "temperature", "degC", False),
)
#: A Cartesian reading with this target gives the touched point itself.
CONTACT = "contact"
#: A ball belongs in a nest when their diameters agree to this, mm (common practice, no source: inch sizes rounded).
NEST_PLAY_MM = 0.1
_OBSERVED = ("azimuth", "elevation", "range", "x", "y", "z")
_FACES = {"1": 1, "2": 2, "": 1}
_NAMED = 20
_AnyArray = TypeVar("_AnyArray", bound=npt.NDArray[Any])


def read_station(
    path: Path,
    file: str,
    station: str,
    *,
    known: Collection[str],
    targets: Mapping[str, Target],
    nests: Mapping[str, Nest],
    report: Report,
) -> tuple[Readings, InputFile]:
    """Read the reading file of one station; `known` are its features and tie points.

    Bad cells go to `report`; the readings are then not to be used.

    Raises
    ------
    FormatError : the file as a whole cannot be read (see `table.read_table`).
    """
    table, which = read_table(read_bytes(path, file), file, (POLAR, CARTESIAN))
    polar = which == 0
    table.unknown(
        "on", known, "a feature or tie point of the job",
        "Add it to the job file (a tie point to the list `tie`), or correct it.", report,
    )  # fmt: skip
    _not_empty(table, "point", report)
    held, nested = _held(table, polar), _column(table, "nest")
    _check_targets(table, held, nested, targets, nests, polar, report)
    face = _faces(table, report)
    obs = _observations(table, POLAR if polar else CARTESIAN, polar, report)
    _once(table, obs, report)
    on, points = table.cells["on"], table.cells["point"]
    readings = Readings(
        file=file, on=tuple(on), aims=tuple(f"{o}/{p}" for o, p in zip(on, points, strict=True)),
        ids=tuple(f"{station}:{line}" for line in table.lines), targets=held, nests=nested, face=face, obs=obs,
        lines=locked(table.lines), polar=polar,
    )  # fmt: skip
    return readings, table.source


def read_hand(
    path: Path, file: str, instrument: str, *, known: Iterable[str], dropped: Collection[str] = (), report: Report
) -> tuple[HandSet, InputFile]:
    """Read the reading file of a hand tool; `known` are the ids of the job's requirements. Else as `read_station`.

    Readings of `dropped` ids, which an earlier revision had, are read and left out.
    """
    table, _ = read_table(read_bytes(path, file), file, (HAND,))
    way_out = "Add it to the job file, or to the list `dropped` there, or correct it."
    table.unknown("requirement", [*known, *dropped], "a requirement of the job", way_out, report)
    _not_empty(table, "place", report)
    value = table.numbers(HAND[2], report)
    _each(table, HAND[2], value, value <= 0, "be above zero", "Correct it at its source.", report)
    asked, places, warm = table.cells["requirement"], table.cells["place"], _temperatures(table, report)
    kept = [row for row, id_ in enumerate(asked) if id_ not in dropped]
    found = HandSet(
        instrument, file, tuple(asked[row] for row in kept), tuple(places[row] for row in kept), locked(value[kept]),
        locked(warm[kept]), locked(table.lines[kept]),
    )  # fmt: skip
    return found, table.source


def no_hand_readings(instrument: str) -> HandSet:
    """A hand tool of a job that is only planned."""
    none = np.zeros(0)
    return HandSet(instrument, "", (), (), locked(none), locked(none), locked(np.zeros(0, dtype=np.int64)))


def locked(array: _AnyArray) -> _AnyArray:
    """The array, read-only."""
    array.flags.writeable = False
    return array


def _column(table: CsvTable, name: str) -> tuple[str, ...]:
    return tuple(table.cells.get(name, [""] * len(table.lines)))


def _held(table: CsvTable, polar: bool) -> tuple[str, ...]:
    cells = _column(table, "target")
    return cells if polar else tuple("" if cell == CONTACT else cell for cell in cells)


def _not_empty(table: CsvTable, column: str, report: Report) -> None:
    if "" in table.cells[column]:
        row = table.cells[column].index("")
        report(table.error(row, column, "be a label that is not empty", "an empty cell", "Number them: 1, 2, 3."))


def _once(table: CsvTable, obs: Array, report: Report) -> None:
    """A reading that repeats another digit for digit was copied, not taken: it would count as a repeat."""
    cells = [table.cells[c.name] for c in POLAR + CARTESIAN if c.name in table.cells and c.name not in _OBSERVED]
    first: dict[tuple[object, ...], int] = {}
    copies = 0
    for row, key in enumerate(zip(*cells, *obs.T.tolist(), strict=True)):
        before = first.setdefault(key, row)
        if before != row and copies < _NAMED:
            copies += 1
            found = f"the same as line {table.lines[before]}, to the last digit"
            report(table.error(row, "the reading", "be taken once", found, "Drop the copy; repeats differ a little."))


def _faces(table: CsvTable, report: Report) -> npt.NDArray[np.int64]:
    cells = _column(table, "face")
    for row in [row for row, cell in enumerate(cells) if cell not in _FACES][:_NAMED]:
        report(table.error(row, "face", "be 1 or 2", f'"{cells[row]}"', "Leave it empty where there is one face."))
    return locked(np.array([_FACES.get(cell, 1) for cell in cells], dtype=np.int64))


def _observations(table: CsvTable, layout: tuple[Column, ...], polar: bool, report: Report) -> Array:
    columns = layout[-3:]
    obs = np.stack([table.numbers(column, report) for column in columns], axis=-1)
    if polar:
        azimuth, elevation, distance = columns
        turn = "Check the unit in the header: these look like degrees."
        _each(table, azimuth, obs[:, 0], np.abs(obs[:, 0]) > 4 * math.pi, "be within two turns", turn, report)
        _each(
            table, elevation, obs[:, 1], np.abs(obs[:, 1]) > math.pi / 2 + 1e-9, "be within -90 and 90 deg",
            "Count it from the horizontal plane, not from the zenith, and check the unit in the header.", report,
        )  # fmt: skip
        _each(table, distance, obs[:, 2], obs[:, 2] <= 0, "be above zero", "Drop the line: nothing was seen.", report)
    return locked(obs)


def _each(
    table: CsvTable, column: Column, values: Array, bad: npt.NDArray[np.bool_], rule: str, way_out: str, report: Report
) -> None:
    """Report every bad value of a column, as it stands in the file; values that are no numbers are known already."""
    for row in np.flatnonzero(bad & np.isfinite(values))[:_NAMED]:
        unit = table.units[column.name]
        report(table.error(row, column.name, rule, f"{table.cells[column.name][row]} {unit}", way_out))


def _check_targets(
    table: CsvTable, held: tuple[str, ...], nested: tuple[str, ...], targets: Mapping[str, Target],
    nests: Mapping[str, Nest], polar: bool, report: Report,
) -> None:  # fmt: skip
    """Every ball and nest is known, and they fit each other; each combination is reported where it first stands."""
    none = () if polar else ("", CONTACT)
    if "target" in table.cells:
        table.unknown(
            "target", [*targets, *none], "a [target] of the job", "Add its table, with diameter and u_radius.", report
        )
    if "nest" in table.cells:
        table.unknown("nest", [*nests, ""], "a [nest] of the job, or empty", "Add its table, with its height.", report)
    for ball, nest in dict.fromkeys(zip(held, nested, strict=True)):
        if nest in nests and (ball in targets or not (ball or polar)):
            row = next(i for i, pair in enumerate(zip(held, nested, strict=True)) if pair == (ball, nest))
            _check_pair(table, row, targets.get(ball), nests[nest], report)


def _check_pair(table: CsvTable, row: int, ball: Target | None, nest: Nest, report: Report) -> None:
    what = f'the ball in nest "{nest.name}"'
    if ball is None:
        report(table.error(row, what, "be named", "no target", "Name the ball, or leave the nest empty."))
        return
    diameter = 2 * ball.radius_mm
    if abs(diameter - nest.takes_mm) <= NEST_PLAY_MM:
        return
    way_out = "Name the ball that was in this nest, or correct diameter or takes in the job file."
    if abs(2 * diameter - nest.takes_mm) <= 2 * NEST_PLAY_MM:
        way_out = f"{diameter:g} mm is half of it: give the diameter of the ball in the job file, not its radius."
    found = f'"{ball.name}" of {diameter:g} mm'
    report(table.error(row, what, f"have a diameter of {nest.takes_mm:g} mm", found, way_out))


def _temperatures(table: CsvTable, report: Report) -> Array:
    """Temperatures (n,) degC of the part, nan where the cell is empty."""
    out = np.full(len(table.lines), np.nan)
    cells = table.cells.get("temperature")
    if cells is None:
        return out
    given = [row for row, cell in enumerate(cells) if cell]
    some = CsvTable(
        table.file, {"temperature": [cells[row] for row in given]}, table.units, table.lines[given], table.source
    )
    out[given] = some.numbers(HAND[3], report)
    return out
