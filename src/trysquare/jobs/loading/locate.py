"""On which line of a TOML file each key stands.

`tomllib` gives line numbers for syntax errors only. This scanner follows `[table]`, `[[array]]` and `key =` of a text
that `tomllib` has accepted, so it need not judge, only count: a key path such as ("requirement", 3, "size", "upper")
maps to its line. Items of arrays and keys of inline tables have their own.
"""

import re
import tomllib
from bisect import bisect_left

Path = tuple[str | int, ...]
_BARE = re.compile(r"[A-Za-z0-9_-]+")
_SCALAR = re.compile(r"[^,\]}\n#]+")
_CLOSED = {"[": "]", "{": "}"}


def lines_of(text: str) -> dict[Path, int]:
    """Line of every key path of a valid TOML text; lines count from 1."""
    return _Scanner(text.replace("\r\n", "\n")).scan()


def nearest_line(lines: dict[Path, int], path: Path) -> int | None:
    """Line of `path`, or of the nearest thing around it that stands in the file."""
    for stop in range(len(path), 0, -1):
        if path[:stop] in lines:
            return lines[path[:stop]]
    return None


class _Scanner:
    """One pass over the text; `at` is the position, `lines` what was found."""

    def __init__(self, text: str) -> None:
        self.text, self.at = text, 0
        self.ends = [match.start() for match in re.finditer("\n", text)]
        self.lines: dict[Path, int] = {}
        self.counts: dict[Path, int] = {}  # members so far of each array of tables

    def scan(self) -> dict[Path, int]:
        table: Path = ()
        while self._skip_blank():
            if self.text.startswith("[[", self.at):
                table = self._member(self._header(2))
            elif self.text[self.at] == "[":
                table = self._resolve(self._header(1))
                self.lines[table] = self._line()
            else:
                self._pair(table)
        return self.lines

    def _header(self, brackets: int) -> list[str]:
        self.at += brackets
        keys = self._keys()
        self.at = self.text.index("]" * brackets, self.at) + brackets
        return keys

    def _member(self, keys: list[str]) -> Path:
        array = (*self._resolve(keys[:-1]), keys[-1])
        index = self.counts.get(array, 0)
        self.counts[array] = index + 1
        self.lines.setdefault(array, self._line())
        self.lines[(*array, index)] = self._line()
        return (*array, index)

    def _resolve(self, keys: list[str]) -> Path:
        """A header's keys, with the newest member of each array of tables on the way."""
        path: Path = ()
        for key in keys:
            path = (*path, key)
            if path in self.counts:
                path = (*path, self.counts[path] - 1)
        return path

    def _pair(self, table: Path) -> None:
        line = self._line()
        path = table
        for key in self._keys():
            path = (*path, key)
            self.lines.setdefault(path, line)
        self.at = self.text.index("=", self.at) + 1
        self._skip_blank()
        self._value(path)

    def _keys(self) -> list[str]:
        keys = [self._key()]
        while self._skip_spaces() == ".":
            self.at += 1
            keys.append(self._key())
        return keys

    def _key(self) -> str:
        if self._skip_spaces() in "\"'":
            key: str = tomllib.loads(f"key = {self._string()}")["key"]
            return key
        match = _BARE.match(self.text, self.at)
        if match is None:  # cannot happen in a text that tomllib accepted
            raise ValueError(f"no key at {self.at}")
        self.at = match.end()
        return match[0]

    def _value(self, path: Path) -> None:
        start = self.text[self.at]
        if start in "\"'":
            self._string()
        elif start in _CLOSED:
            self._inside(path, start)
        else:
            match = _SCALAR.match(self.text, self.at)
            self.at = match.end() if match else self.at + 1

    def _inside(self, path: Path, start: str) -> None:
        """An array or an inline table, with everything in it."""
        self.at += 1
        index = 0
        while self._skip_blank() and self.text[self.at] != _CLOSED[start]:
            if self.text[self.at] == ",":
                self.at += 1
            elif start == "{":
                self._pair(path)
            else:
                self.lines[(*path, index)] = self._line()
                self._value((*path, index))
                index += 1
        self.at += 1

    def _string(self) -> str:
        """Step over a string of any of the four kinds and return it as written, quotes included."""
        begin, quote = self.at, self.text[self.at]
        mark = quote * 3 if self.text.startswith(quote * 3, self.at) else quote
        end = self.at + len(mark)
        while not self.text.startswith(mark, end):
            end += 2 if quote == '"' and self.text[end] == "\\" else 1
        while len(mark) == 3 and self.text.startswith(quote, end + 3):
            end += 1  # up to two quotes may stand before the closing three
        self.at = end + len(mark)
        return self.text[begin : self.at]

    def _skip_spaces(self) -> str:
        while self.text[self.at] in " \t":
            self.at += 1
        return self.text[self.at]

    def _skip_blank(self) -> bool:
        """Go to the next character that means something; False at the end of the text."""
        while self.at < len(self.text):
            if self.text[self.at] == "#":
                end = self.text.find("\n", self.at)
                self.at = len(self.text) if end < 0 else end
            elif self.text[self.at].isspace():
                self.at += 1
            else:
                return True
        return False

    def _line(self) -> int:
        return bisect_left(self.ends, self.at) + 1
