"""Everything that a judged job leaves behind: rendered in memory first, then written, each file whole or not at all."""

from pathlib import Path

from ..core.files import write_atomic
from ..jobs.result import Result
from .html import page
from .table import rows_csv

NAMES = ("result.json", "requirements.csv", "report.html", "report.pdf")


def write_all(result: Result, folder: Path, *, pdf: bool = True) -> list[Path]:
    """Write result.json, requirements.csv, report.html and, with `pdf`, report.pdf; return their paths.

    Raises
    ------
    MissingExtraError : `pdf` without the typesetter; nothing is written.
    StoreError : the folder cannot be written; the file in question keeps its old content.
    """
    contents = {"result.json": result.as_bytes(), "requirements.csv": rows_csv(result), "report.html": page(result)}
    if pdf:
        from .pdf import document

        contents["report.pdf"] = document(result)
    paths = [folder / name for name in contents]
    for path, data in zip(paths, contents.values(), strict=True):
        write_atomic(path, data)
    return paths
