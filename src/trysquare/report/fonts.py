"""The two typefaces: where their files are, which characters they have, how wide a line is."""

import struct
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from ..core.errors import InputError


@dataclass(frozen=True)
class Font:
    """One font file: its tables, its characters and their advance widths in ems."""

    tables: dict[str, bytes]
    glyphs: dict[int, int]
    advances: tuple[float, ...]

    def width(self, words: str, size: float) -> float:
        """Width of a line, in the unit of `size`; a character that the font lacks counts as a full em."""
        return size * sum(self.advances[self.glyphs[c]] if c in self.glyphs else 1.0 for c in map(ord, words))

    def lacks(self, words: str) -> set[str]:
        """Characters of `words` that the font cannot draw."""
        return {c for c in words if ord(c) not in self.glyphs and c >= " " and c != "\u200b"}


def folders() -> list[Path]:
    """The folders that hold the font files."""
    import fontpkg_atkinson_hyperlegible
    import fontpkg_literata

    return [Path(package.ROOT) / "files" for package in (fontpkg_atkinson_hyperlegible, fontpkg_literata)]


def sans(*, bold: bool = False) -> Font:
    """The face of labels and figures."""
    return _load(str(folders()[0] / f"AtkinsonHyperlegible-{'Bold' if bold else 'Regular'}.ttf"))


def book() -> Font:
    """The face of titles and advice, with its axes of weight and size."""
    return _load(str(folders()[1] / "Literata[opsz,wght].ttf"))


@cache
def _load(path: str) -> Font:
    data = Path(path).read_bytes()
    tables = {}
    for i in range(struct.unpack_from(">H", data, 4)[0]):
        tag, _, offset, length = struct.unpack_from(">4sIII", data, 12 + 16 * i)
        tables[tag.decode("latin-1")] = data[offset : offset + length]
    em = struct.unpack_from(">H", tables["head"], 18)[0]
    count = struct.unpack_from(">H", tables["hhea"], 34)[0]
    known = [struct.unpack_from(">H", tables["hmtx"], 4 * i)[0] / em for i in range(count)]
    total = struct.unpack_from(">H", tables["maxp"], 4)[0]
    return Font(tables, _characters(tables["cmap"]), (*known, *known[-1:] * (total - count)))


def _characters(cmap: bytes) -> dict[int, int]:
    """Character to glyph number, from the table of format 4 (the basic plane)."""
    offset = _format_4(cmap)
    n = struct.unpack_from(">H", cmap, offset + 6)[0] // 2
    ends = struct.unpack_from(f">{n}H", cmap, offset + 14)
    starts = struct.unpack_from(f">{n}H", cmap, offset + 16 + 2 * n)
    deltas = struct.unpack_from(f">{n}H", cmap, offset + 16 + 4 * n)
    base = offset + 16 + 6 * n
    found = {}
    for i in range(n):
        jump = struct.unpack_from(">H", cmap, base + 2 * i)[0]
        for code in range(starts[i], min(ends[i], 0xFFFE) + 1):
            raw = struct.unpack_from(">H", cmap, base + 2 * i + jump + 2 * (code - starts[i]))[0] if jump else code
            glyph = (raw + deltas[i]) & 0xFFFF if raw or not jump else 0
            if glyph:
                found[code] = glyph
    return found


def _format_4(cmap: bytes) -> int:
    for i in range(struct.unpack_from(">H", cmap, 2)[0]):
        offset: int = struct.unpack_from(">I", cmap, 4 + 8 * i + 4)[0]
        if struct.unpack_from(">H", cmap, offset)[0] == 4:
            return offset
    raise InputError("a font file", "the character table", "be of format 4", "none", "Install the font packages again.")


def fitted(words: str, size: float, room: float, *, bold: bool = True) -> float:
    """The size, at most `size`, at which a line is no wider than `room`."""
    return min(size, room / max(sans(bold=bold).width(words, 1.0), 1e-9))


def wrap(words: str, width: float, size: float, *, bold: bool = False) -> list[str]:
    """Lines no wider than `width` in the face of labels; a word that is wider by itself is broken."""
    font, lines, line = sans(bold=bold), [], ""
    for word in words.split():
        for piece in broken(word, width, size, font):
            joined = f"{line} {piece}" if line else piece
            if line and font.width(joined, size) > width:
                lines.append(line)
                line = piece
            else:
                line = joined
    return [*lines, line] if line else lines


def broken(word: str, width: float, size: float, font: Font) -> list[str]:
    """The pieces of a word that are no wider than `width`."""
    pieces, piece = [], ""
    for letter in word:
        if piece and font.width(piece + letter, size) > width:
            pieces.append(piece)
            piece = ""
        piece += letter
    return [*pieces, piece]
