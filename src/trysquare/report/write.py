"""Everything that a judged job leaves behind: rendered in memory first, then written, all files or none."""

from pathlib import Path

from ..core.files import write_together
from ..jobs.result import Result
from .html import page
from .table import rows_csv

NAMES = ("result.json", "requirements.csv", "report.html", "report.pdf")


def write_all(result: Result, folder: Path, *, pdf: bool = True) -> list[Path]:
    """Write result.json, requirements.csv, report.html and, with `pdf`, report.pdf; return their paths.

    Raises
    ------
    MissingExtraError : `pdf` without the typesetter; nothing is written.
    StoreError : the folder cannot be written; the files keep their old content.
    """
    contents = {"result.json": result.as_bytes(), "requirements.csv": rows_csv(result), "report.html": page(result)}
    if pdf:
        from .pdf import document

        contents["report.pdf"] = document(result)
    files = {folder / name: data for name, data in contents.items()}
    write_together(files)
    return list(files)
