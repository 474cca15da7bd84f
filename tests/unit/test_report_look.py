"""Colours, typefaces and signs."""

import json
import re
import struct
from pathlib import Path

import pytest

from trysquare.report import tokens
from trysquare.report.cut import cut, faces
from trysquare.report.fonts import book, broken, fitted, folders, sans, wrap
from trysquare.report.glyphs import symbol, verdict_mark


def luminance(colour: str) -> float:
    """Relative luminance (WCAG 2.1, definition of relative luminance)."""
    channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.03928 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(a: str, b: str) -> float:
    high, low = sorted((luminance(a), luminance(b)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_the_contrast_formula() -> None:
    assert contrast("#000000", "#FFFFFF") == pytest.approx(21.0)  # WCAG 2.1: the largest there is
    assert contrast("#777777", "#FFFFFF") < 4.5  # a grey known to fail


@pytest.mark.parametrize("theme", [tokens.LIGHT, tokens.DARK, tokens.PRINT], ids=["light", "dark", "print"])
@pytest.mark.parametrize("ink", ["ink", "ink-2", "ink-3", "ask", "stop"])
@pytest.mark.parametrize("ground", ["paper", "sheet"])
def test_words_can_be_read(theme: dict[str, str], ink: str, ground: str) -> None:
    assert contrast(theme[ink], theme[ground]) >= 5.0  # WCAG 2.1 SC 1.4.3 asks 4.5; the look promises 5.0


@pytest.mark.parametrize("theme", [tokens.LIGHT, tokens.DARK], ids=["light", "dark"])
def test_edges_of_what_one_can_press_are_seen(theme: dict[str, str]) -> None:
    assert contrast(theme["edge"], theme["sheet"]) >= 3.0  # WCAG 2.1 SC 1.4.11


def test_every_colour_that_is_drawn_is_a_token() -> None:
    used = set()
    for file in Path(tokens.__file__).parent.glob("*.*"):
        if file.suffix in (".py", ".css"):
            used |= set(re.findall(r"var\(--([\w-]+)\)", file.read_text(encoding="utf-8")))
            if file.name != "tokens.py":
                assert re.findall(r"#[0-9A-Fa-f]{6}\b", file.read_text(encoding="utf-8")) == [], file.name
    named = set(tokens.LIGHT) | set(tokens.TYPE) | set(tokens.SPACE)
    assert used - named == {"sans", "book", "radius", "touch", "quick", "idw", "vw", "uw"}


def test_a_painted_drawing_stands_alone() -> None:
    svg = tokens.paint(verdict_mark("reject"), tokens.PRINT, ink="stop")
    assert "var(" not in svg
    assert "currentColor" not in svg
    assert svg.startswith('<svg xmlns="http://www.w3.org/2000/svg" font-family="Atkinson Hyperlegible" ')
    assert tokens.PRINT["stop"] in svg


def test_marks_mirror_for_the_low_limit() -> None:
    assert "matrix(-1" in verdict_mark("reject", -1)
    assert "matrix(-1" not in verdict_mark("reject", 1)


def test_each_characteristic_has_its_own_sign_and_an_unknown_one_a_ring() -> None:
    known = ["size", "distance", "angle", "flatness", "parallelism", "perpendicularity", "position"]
    assert len({symbol(name) for name in known}) == len(known)
    assert re.sub("<b>", "", 'aria-label="&lt;b&gt;"') in symbol("<b>")


def table(data: bytes, tag: bytes) -> bytes:
    for i in range(struct.unpack_from(">H", data, 4)[0]):
        name, _, offset, length = struct.unpack_from(">4sIII", data, 12 + 16 * i)
        if name == tag:
            return data[offset : offset + length]
    raise AssertionError(tag)


@pytest.mark.parametrize("font", [sans(), sans(bold=True), book()], ids=["sans", "bold", "book"])
def test_a_cut_is_small_and_holds_the_same_outlines(font) -> None:  # type: ignore[no-untyped-def]
    data = cut(font, "Bore 36 ± é")
    assert len(data) < 70_000
    loca = table(data, b"loca")
    offsets = struct.unpack(f">{len(loca) // 4}I", loca)
    whole = font.tables["loca"]
    long = struct.unpack_from(">h", font.tables["head"], 50)[0]
    before = struct.unpack(f">{len(whole) // (4 if long else 2)}{'I' if long else 'H'}", whole)
    scale = 1 if long else 2
    glyf = table(data, b"glyf")
    for letter in "Bor36é":
        g = font.glyphs[ord(letter)]
        original = font.tables["glyf"][scale * before[g] : scale * before[g + 1]]
        assert glyf[offsets[g] : offsets[g] + len(original)] == original
        assert original
    absent = font.glyphs[ord("Q")]
    assert offsets[absent] == offsets[absent + 1]


def test_a_cut_can_be_set_by_a_typesetter(tmp_path: Path) -> None:
    # independent reader: typst refuses a missing glyph in an archival PDF
    typst = pytest.importorskip("typst", reason="the extra pdf is not installed")
    (tmp_path / "cut.ttf").write_bytes(cut(sans(), "Bore 36 ±"))

    def setting(words: str) -> bytes:
        head = '#set document(title: "t", date: datetime(year: 2026, month: 1, day: 1))'
        source = f'{head}\n#set text(font: "{tokens.SANS}", fallback: false)\n{words}'
        return bytes(typst.compile({"main": source.encode()}, format="pdf", font_paths=[str(tmp_path)],
                                   ignore_system_fonts=True, pdf_standards=["a-2b"], timestamp=0))  # fmt: skip

    assert setting("Bore 36 ±").startswith(b"%PDF")
    with pytest.raises(typst.TypstError):
        setting("Quill")


def test_faces_name_the_families_and_carry_their_data() -> None:
    css = faces("Bore 36")
    assert css.count("@font-face") == 3
    assert css.count("src:url(data:font/ttf;base64,") == 3
    assert faces("Bore 36") == css


def test_lines_are_as_wide_as_the_typesetter_makes_them() -> None:
    # independent computation: typst measures the same words with the same files
    typst = pytest.importorskip("typst", reason="the extra pdf is not installed")
    words = "Bearing bore, front 210.029"
    face = f'font: "{tokens.SANS}", size: 100pt, kerning: false, ligatures: false'
    source = f"#context [#metadata(measure(text({face})[{words}]).width.pt()) <w>]"
    found = json.loads(
        typst.query({"main": source.encode()}, "<w>", field="value", one=True, font_paths=[str(folders()[0])],
                    ignore_system_fonts=True)
    )  # fmt: skip
    assert sans().width(words, 100.0) == pytest.approx(float(found), rel=1e-3)


def test_words_are_wrapped_and_broken_to_the_width() -> None:
    lines = wrap("station 2: angles at eight metres and a half", 60, 12)
    assert all(sans().width(line, 12) <= 60 for line in lines)
    assert " ".join(lines) == "station 2: angles at eight metres and a half"
    pieces = broken("Supercalifragilistic", 40, 12, sans())
    assert all(sans().width(piece, 12) <= 40 for piece in pieces)
    assert "".join(pieces) == "Supercalifragilistic"
    assert wrap("", 60, 12) == []


def test_a_long_word_is_written_smaller() -> None:
    assert fitted("+2.66", 27, 200) == 27
    small = fitted("−1000210.000", 27, 80)
    assert sans(bold=True).width("−1000210.000", small) == pytest.approx(80)
