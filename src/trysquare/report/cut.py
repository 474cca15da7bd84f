"""Cuts of the typefaces, small enough to travel inside a page.

A cut keeps glyph numbers and empties the glyphs that are not used (OpenType 1.9: glyf, loca, gvar, cmap), so the other
tables stay as they are; kerning and ligatures are left out.
"""

import base64
import struct
from collections.abc import Iterable

from .fonts import Font, book, sans
from .tokens import BOOK, SANS

_KEPT = (
    "head", "hhea", "maxp", "OS/2", "hmtx", "cvt ", "fpgm", "prep", "gasp", "fvar", "avar", "STAT", "HVAR", "MVAR",
    "name",
)  # fmt: skip


def cut(font: Font, characters: Iterable[str]) -> bytes:
    """A font file with the glyphs of `characters` only."""
    codes = sorted({ord(c) for c in characters} & font.glyphs.keys())
    kept = _closure(font, {0, *(font.glyphs[c] for c in codes)})
    tables = {tag: font.tables[tag] for tag in _KEPT if tag in font.tables}
    tables["glyf"], tables["loca"] = _glyf(font, kept)
    head = bytearray(tables["head"])
    struct.pack_into(">h", head, 50, 1)  # long offsets
    tables["head"] = bytes(head)
    tables["cmap"] = _cmap(font, codes)
    tables["post"] = struct.pack(">I", 0x00030000) + font.tables["post"][4:32]
    if "gvar" in font.tables:
        tables["gvar"] = _gvar(font.tables["gvar"], kept)
    return _file(tables)


def _offsets(font: Font) -> tuple[int, ...]:
    total = len(font.advances) + 1
    if struct.unpack_from(">h", font.tables["head"], 50)[0]:
        return struct.unpack_from(f">{total}I", font.tables["loca"])
    return tuple(2 * x for x in struct.unpack_from(f">{total}H", font.tables["loca"]))


def _closure(font: Font, wanted: set[int]) -> set[int]:
    """With the glyphs that composite glyphs are made of."""
    at, glyf = _offsets(font), font.tables["glyf"]
    kept, todo = set(wanted), list(wanted)
    while todo:
        g = todo.pop()
        parts = _components(glyf[at[g] : at[g + 1]]) - kept
        kept |= parts
        todo += parts
    return kept


def _components(outline: bytes) -> set[int]:
    if len(outline) < 10 or struct.unpack_from(">h", outline)[0] >= 0:
        return set()
    found, at, more = set(), 10, True
    while more:
        flags, glyph = struct.unpack_from(">HH", outline, at)
        found.add(glyph)
        at += (
            4
            + (4 if flags & 0x0001 else 2)
            + (2 if flags & 0x0008 else 4 if flags & 0x0040 else 8 if flags & 0x0080 else 0)
        )
        more = bool(flags & 0x0020)
    return found


def _glyf(font: Font, kept: set[int]) -> tuple[bytes, bytes]:
    at, glyf = _offsets(font), font.tables["glyf"]
    outlines, where = bytearray(), [0]
    for g in range(len(at) - 1):
        if g in kept:
            outlines += glyf[at[g] : at[g + 1]]
            outlines += bytes(-len(outlines) % 4)
        where.append(len(outlines))
    return bytes(outlines), struct.pack(f">{len(where)}I", *where)


def _gvar(gvar: bytes, kept: set[int]) -> bytes:
    """Variations of the kept glyphs (header 20 bytes, offsets, shared tuples, data)."""
    count, flags, start = struct.unpack_from(">HHI", gvar, 12)
    if flags & 1:
        at = struct.unpack_from(f">{count + 1}I", gvar, 20)
    else:
        at = tuple(2 * x for x in struct.unpack_from(f">{count + 1}H", gvar, 20))
    tuples_count, tuples_at = struct.unpack_from(">HI", gvar, 6)
    axes = struct.unpack_from(">H", gvar, 4)[0]
    tuples = gvar[tuples_at : tuples_at + 2 * axes * tuples_count]
    data, where = bytearray(), [0]
    for g in range(count):
        if g in kept:
            data += gvar[start + at[g] : start + at[g + 1]]
            data += bytes(-len(data) % 4)
        where.append(len(data))
    new_tuples = 20 + 4 * (count + 1)
    header = gvar[:8] + struct.pack(">IHHI", new_tuples, count, flags | 1, new_tuples + len(tuples))
    return header + struct.pack(f">{count + 1}I", *where) + tuples + bytes(data)


def _cmap(font: Font, codes: list[int]) -> bytes:
    """A character table of format 12: one group a character."""
    groups = b"".join(struct.pack(">III", c, c, font.glyphs[c]) for c in codes)
    table = struct.pack(">HHIII", 12, 0, 16 + len(groups), 0, len(codes)) + groups
    return struct.pack(">HHHHI", 0, 1, 3, 10, 12) + table


def _file(tables: dict[str, bytes]) -> bytes:
    """Tables as one file, with their checksums."""
    count = len(tables)
    power = 1 << (count.bit_length() - 1)
    header = struct.pack(">IHHHH", 0x00010000, count, 16 * power, power.bit_length() - 1, 16 * (count - power))
    offset, directory, body = 12 + 16 * count, b"", b""
    for tag in sorted(tables):
        data = tables[tag]
        padded = data + bytes(-len(data) % 4)
        total = sum(struct.unpack(f">{len(padded) // 4}I", padded)) & 0xFFFFFFFF
        directory += struct.pack(">4sIII", tag.encode("latin-1"), total, offset + len(body), len(data))
        body += padded
    return header + directory + body


def faces(characters: str) -> str:
    """`@font-face` rules with the cuts inside, for the characters of a page."""
    rules = []
    for family, weight, font in (
        (SANS, "400", sans()), (SANS, "700", sans(bold=True)),
        (BOOK, "200 900", book()),
    ):  # fmt: skip
        data = base64.b64encode(cut(font, characters)).decode()
        rules.append(
            f'@font-face{{font-family:"{family}";font-weight:{weight};font-display:block;'
            f"src:url(data:font/ttf;base64,{data})}}\n"
        )
    return "".join(rules)
