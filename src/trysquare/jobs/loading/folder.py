"""The job folder: nothing that a job names may lie outside it."""

from pathlib import Path, PurePosixPath, PureWindowsPath

from ...core.errors import FormatError, InputError
from .locate import Path as KeyPath
from .toml_file import Document

JOB_FILE = "job.toml"
_INSIDE = "name a file inside the job folder"


def job_file(path: Path) -> Path:
    """The job file of a folder, or the file itself where a file is named.

    Raises
    ------
    InputError : neither is there.
    """
    file = path / JOB_FILE if path.is_dir() else path
    if not file.is_file():
        found = f"a folder without {JOB_FILE}" if path.is_dir() else "no such file or folder"
        raise InputError(
            str(path), "the job", f"be a folder with {JOB_FILE} in it, or that file", found,
            "Check the path; docs/job-file.md shows a whole job.",
        )  # fmt: skip
    return file


def inside(folder: Path, name: str, document: Document, path: KeyPath) -> Path:
    """The file `name` in `folder`, as named at `path` of `document`.

    Raises
    ------
    FormatError : the name leads out of the folder (absolute, "..", a link), or to no file.
    """
    refuse_outside(name, document, path)
    file = folder / name
    if not file.resolve().is_relative_to(folder.resolve()):
        raise document.error(
            path, _INSIDE, f'"{name}", a link that leads out of it', "Put a copy in its place instead of the link."
        )
    if not file.is_file():
        raise _missing(folder, name, document, path)
    return file


def refuse_outside(name: str, document: Document, path: KeyPath) -> None:
    """Raise FormatError where a name leads out of the folder, whether such a file is there or not."""
    windows, posix = PureWindowsPath(name), PurePosixPath(name)
    if windows.drive or windows.root or posix.is_absolute() or ".." in windows.parts or "\0" in name:
        raise document.error(path, _INSIDE, f'"{name}"', "Copy the file into the folder and name it from there.")


def _missing(folder: Path, name: str, document: Document, path: KeyPath) -> FormatError:
    from .messages import hint

    near = [file.relative_to(folder).as_posix() for file in (folder / name).parent.glob("*") if file.is_file()]
    otherwise = "Put the file there, or leave its station or tool out of the job until it is measured."
    return document.error(path, "name a file that is there", f'"{name}"', hint(name, near, otherwise))
