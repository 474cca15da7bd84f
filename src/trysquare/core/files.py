"""Files that are whole or absent."""

import hashlib
import os
import tempfile
from collections.abc import Mapping
from pathlib import Path

from .errors import StoreError


def write_atomic(path: Path, data: bytes | str) -> None:
    """Write `data` so that `path` holds the old content or the new, never a part. Raises as `write_together`."""
    write_together({path: data})


def write_together(files: Mapping[Path, bytes | str]) -> None:
    """Write several files: first all of them beside their places (temporary files, fsync), then each is renamed.

    A folder that cannot be written or a full disk changes none of them. Killed in the middle, each file still holds its
    old content or its new one; only between two renames can some be new while others are old.

    Raises
    ------
    StoreError : the folder cannot be written or the disk is full; the temporary files are removed.
    """
    waiting: dict[Path, str] = {}
    path = Path()
    try:
        for path, data in files.items():
            waiting[path] = _opened(path)
            _fill(waiting[path], data.encode() if isinstance(data, str) else data)
        for path, temporary in waiting.items():
            os.replace(temporary, path)
    except OSError as error:
        raise StoreError(
            str(path), "the output", "be written whole", error.strerror or str(error),
            "Free space or name another folder with --out; earlier files, if any, are untouched.",
        ) from error  # fmt: skip
    finally:
        for temporary in waiting.values():
            if os.path.exists(temporary):
                os.unlink(temporary)


def _opened(path: Path) -> str:
    """A new empty file beside `path`."""
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, temporary = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
    os.close(handle)
    return temporary


def _fill(temporary: str, raw: bytes) -> None:
    with open(temporary, "wb") as file:
        file.write(raw)
        file.flush()
        os.fsync(file.fileno())
    os.chmod(temporary, 0o644)


def check_out(out: Path) -> None:
    """Raise `StoreError` where `out` cannot be written to: before the work, not after it. Nothing is made."""
    there = next(folder for folder in (out, *out.absolute().parents) if folder.exists())
    reason = "a file of that name" if not there.is_dir() else "" if os.access(there, os.W_OK) else "no right to write"
    if reason:
        raise StoreError(str(out), "the output folder", "be writable", reason, "Name another folder with --out.")


def sha256(data: bytes) -> str:
    """Hex digest of `data`."""
    return hashlib.sha256(data).hexdigest()
