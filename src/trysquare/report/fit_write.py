"""The picture of a fit as a file: SVG that carries its typefaces and turns dark with the screen, PNG, PDF."""

import base64
import re
from pathlib import Path
from typing import Any, Literal

from ..core.errors import InputError, MissingExtraError, StoreError
from ..core.files import write_atomic
from ..geometry.association import Association
from .cut import cut
from .fit_sheet import SHEET, sheet
from .fonts import book, folders, sans
from .svg import num
from .tokens import BOOK, DARK, LIGHT, PRINT, SANS, paint
from .woff import packed

KINDS = (".svg", ".png", ".pdf")
_POINT = 0.75  # of a pixel


def write_picture(a: Association, file: str, path: Path) -> None:
    """Write the picture; what kind follows from the ending of its name.

    Raises
    ------
    InputError : another ending than .svg, .png or .pdf.
    MissingExtraError : PNG or PDF without the typesetter.
    StoreError : the file cannot be written.
    """
    check_kind(path)
    svg = sheet(a, file)
    kind = path.suffix.lower()
    data = alone(svg) if kind == ".svg" else _set(svg, "png" if kind == ".png" else "pdf")
    try:
        write_atomic(path, data)
    except StoreError as error:
        error.way_out = "Free space, or name another file with --plot."
        raise


def check_kind(path: Path) -> None:
    """Raise `InputError` where the name does not end in a kind of picture."""
    if path.suffix.lower() not in KINDS:
        raise InputError(
            "--plot", "the file's name", f"end in {', '.join(KINDS[:-1])} or {KINDS[-1]}", f'"{path.name}"',
            "Name the picture for instance fit.svg",
        )  # fmt: skip


def alone(svg: str) -> str:
    """The drawing as a file of its own: colours and typefaces inside, dark where the reader's screen is."""
    dark = "".join(
        f'[{what}="{LIGHT[name]}"]{{{what}:{DARK[name]}}}'
        for name in dict.fromkeys(re.findall(r"var\(--([\w-]+)\)", svg)) if LIGHT[name] != DARK[name]
        for what in ("fill", "stroke")
    )  # fmt: skip
    style = f"<style>{_faces(svg)}@media screen and (prefers-color-scheme:dark){{{dark}}}</style>"
    plain = paint(svg, LIGHT)
    start = plain.index(">") + 1
    return plain[:start] + style + plain[start:] + "\n"


def _faces(svg: str) -> str:
    """The cuts of the typefaces that the words of the drawing need."""
    found = {"book": "", "bold": "", "sans": ""}
    for attributes, words in re.findall(r"<text([^>]*)>([^<]*)</text>", svg):
        face = "book" if BOOK in attributes else "bold" if 'font-weight="700"' in attributes else "sans"
        found[face] += words
    rules = ""
    for name, family, weight, font in (
        ("sans", SANS, "400", sans()), ("bold", SANS, "700", sans(bold=True)), ("book", BOOK, "200 900", book()),
    ):  # fmt: skip
        if found[name]:
            data = base64.b64encode(packed(cut(font, set(found[name])))).decode()
            rules += f'@font-face{{font-family:"{family}";font-weight:{weight};src:url(data:font/woff;base64,{data})}}'
    return rules


def _set(svg: str, kind: Literal["png", "pdf"]) -> bytes:
    """The drawing through the typesetter, as PNG (screen colours) or PDF (print colours)."""
    try:
        import typst
    except ImportError as error:
        raise MissingExtraError("typst", "pdf", f"the picture as {kind.upper()}") from error
    width = num(SHEET * _POINT)
    page = f'#set page(width: auto, height: auto, margin: 0pt)\n#image("fit.svg", width: {width}pt, alt: "fit")'
    files = {"main": page.encode(), "fit.svg": paint(svg, PRINT if kind == "pdf" else LIGHT).encode()}
    return _compiled(typst, files, kind)


def _compiled(typst: Any, files: dict[str, bytes], kind: str) -> bytes:
    done = typst.compile(
        files, format=kind, ppi=144.0, font_paths=[str(path) for path in folders()], ignore_system_fonts=True,
        timestamp=0,
    )  # fmt: skip
    return bytes(done[0] if isinstance(done, list) else done)
