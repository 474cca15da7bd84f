"""Files that are whole or absent."""

import hashlib
import os
import tempfile
from pathlib import Path

from .errors import StoreError


def write_atomic(path: Path, data: bytes | str) -> None:
    """Write `data` so that `path` holds the old content or the new, never a part (temporary file, fsync, rename).

    Raises
    ------
    StoreError : the folder cannot be written or the disk is full; the temporary file is removed.
    """
    raw = data.encode() if isinstance(data, str) else data
    temporary: str | None = None
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, temporary = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
        with os.fdopen(handle, "wb") as file:
            file.write(raw)
            file.flush()
            os.fsync(file.fileno())
        os.chmod(temporary, 0o644)
        os.replace(temporary, path)
    except OSError as error:
        raise StoreError(
            str(path), "the output", "be written whole", error.strerror or str(error),
            "Free space or name another folder with --out; the earlier file, if any, is untouched.",
        ) from error  # fmt: skip
    finally:
        if temporary is not None and os.path.exists(temporary):
            os.unlink(temporary)


def sha256(data: bytes) -> str:
    """Hex digest of `data`."""
    return hashlib.sha256(data).hexdigest()
