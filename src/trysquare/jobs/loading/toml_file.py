"""A TOML file as read: its data, and for every key path its line."""

import re
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from ...core.errors import FormatError
from ...core.files import sha256
from ..job import InputFile
from .locate import Path as KeyPath
from .locate import lines_of, nearest_line

_AT = re.compile(r"(.*?) \(at (?:line (\d+), column (\d+)|end of document)\)$", re.S)
_COMMA = re.compile(r"=\s*[-+]?\d+,\d+")
_TWICE = ("Cannot overwrite a value", "Cannot declare", "twice", "Duplicate")


@dataclass(frozen=True)
class Document:
    """`data` as `tomllib` gives it, `lines` by key path, `source` for the list of inputs."""

    file: str
    data: dict[str, Any]
    lines: dict[KeyPath, int]
    source: InputFile

    def line(self, path: KeyPath) -> int | None:
        return nearest_line(self.lines, path)

    def raw(self, path: KeyPath) -> Any:
        """What the file says at `path`, or None where it says nothing."""
        value: Any = self.data
        for key in path:
            try:
                value = value[key]
            except (KeyError, IndexError, TypeError):
                return None
        return value

    def error(self, path: KeyPath, rule: str, found: str, way_out: str, *, what: str = "") -> FormatError:
        """The error that the value at `path` breaks `rule`."""
        return FormatError(self.file, self.line(path), what or named(self.data, path), rule, found, way_out)


def named(data: dict[str, Any], path: KeyPath) -> str:
    """A key path in words that a reader of the file knows: `requirement "20": position.zone`."""
    head = ""
    if len(path) > 1 and isinstance(path[1], int):
        try:
            member = data[str(path[0])][path[1]]
            label = member.get("id", member.get("name"))
        except (KeyError, IndexError, TypeError, AttributeError):
            label = None
        number = f'"{label}"' if isinstance(label, str) else f"number {path[1] + 1}"
        head, path = f"{path[0]} {number}", path[2:]
    words = ""
    for key in path:
        words += f"[{key + 1}]" if isinstance(key, int) else f".{key}" if words else key
    return f"{head}: {words}" if head and words else head or words


def text_of(data: bytes, file: str) -> str:
    """The text of a file that must be UTF-8; a byte order mark is dropped.

    Raises
    ------
    FormatError : names the line of the first byte that is none.
    """
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise FormatError(
            file, line, "the text", "be UTF-8", f"byte 0x{data[error.start]:02x}",
            "Save the file as UTF-8 (an editor or spreadsheet offers it under save as).",
        ) from None  # fmt: skip


def read_document(path: Path, file: str) -> Document:
    """Read the TOML file at `path`, called `file` in messages.

    Raises
    ------
    FormatError : no such file, not UTF-8, or not TOML, with its line.
    """
    data = read_bytes(path, file)
    text = text_of(data, file)
    try:
        parsed = tomllib.loads(text)
        lines = lines_of(text)
    except tomllib.TOMLDecodeError as error:
        raise _syntax_error(str(error), text, file) from None
    except RecursionError:
        raise FormatError(
            file, None, "the tables and lists", "lie in each other a few times at most", "hundreds of brackets",
            "Look for brackets that are never closed.",
        ) from None  # fmt: skip
    return Document(file, parsed, lines, InputFile(file, sha256(data), len(data)))


def read_bytes(path: Path, file: str) -> bytes:
    """The bytes of `path`; FormatError where they cannot be had."""
    try:
        return path.read_bytes()
    except OSError as error:
        raise FormatError(
            file, None, "the file", "be there and readable", error.strerror or str(error), "Check its name and place."
        ) from None


def _syntax_error(message: str, text: str, file: str) -> FormatError:
    match = _AT.match(message)
    said = match[1] if match else message
    line = int(match[2]) if match and match[2] else text.count("\n") + 1
    written = (text.split("\n")[line - 1 : line] or [""])[0].strip()
    if _COMMA.search(written):
        return FormatError(
            file, line, "a number", "use a point as decimal sign and no comma", f"`{written}`", "Write 62.5, not 62,5."
        )
    if any(word in said for word in _TWICE):
        return FormatError(
            file, line, "a key or table", "be named once", f"`{written}` again", "Rename one of the two, or drop it."
        )
    return FormatError(
        file, line, "the text", "be TOML", f"`{written}` ({said})", "Compare the line with docs/job-file.md."
    )
