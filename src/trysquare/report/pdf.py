"""The report as PDF: page 1 with all strips, one page for every requirement that is not accepted, the accepted ones
closer together, the readings of the drawing at the end. Same result, same bytes; tagged, with alternative texts."""

import json
import re
from pathlib import Path
from typing import Any

from ..core.errors import MissingExtraError
from ..jobs.result import Result
from .fonts import book, folders, sans
from .sheets import Sheets


def document(result: Result) -> bytes:
    """The PDF: archival and accessible (PDF/A-2a, PDF/UA-1); without a date of measurement only the latter.

    Raises
    ------
    MissingExtraError : the typesetter is not installed.
    """
    try:
        import typst
    except ImportError as error:
        raise MissingExtraError("typst", "pdf", "the PDF report") from error
    sheets = Sheets(result)
    data = json.dumps(sheets.data, ensure_ascii=False)
    files = {"main": Path(__file__).with_name("page.typ").read_bytes(), "data.json": data.encode(), **sheets.files}
    standards = ["ua-1"] if sheets.data["date"] is None else ["a-2a", "ua-1"]
    if not _foreign(files):
        return _compiled(typst, files, standards, system=False)
    try:
        return _compiled(typst, files, standards, system=True)
    except typst.TypstError:  # no typeface of this machine has the character: spell it
        return _compiled(typst, _spelled(files), standards, system=False)


def _compiled(typst: Any, files: dict[str, bytes], standards: list[str], *, system: bool) -> bytes:
    pdf = typst.compile(
        files, format="pdf", font_paths=[str(path) for path in folders()], ignore_system_fonts=not system,
        pdf_standards=standards, timestamp=0,
    )  # fmt: skip
    return bytes(pdf)


def _foreign(files: dict[str, bytes]) -> set[str]:
    """Characters in the words of the report that neither typeface has."""
    words = "".join(content.decode() for name, content in files.items() if name != "main")
    return sans().lacks(words) & book().lacks(words)


def _spelled(files: dict[str, bytes]) -> dict[str, bytes]:
    """The same files with foreign characters written as their code points, so that nothing is lost unseen."""
    foreign = re.compile(f"[{re.escape(''.join(sorted(_foreign(files))))}]")

    def spell(content: bytes) -> bytes:
        return foreign.sub(lambda match: f"(U+{ord(match[0]):04X})", content.decode()).encode()

    return {name: content if name == "main" else spell(content) for name, content in files.items()}
