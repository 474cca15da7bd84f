"""Compiled kernels with a cache that never stops the program.

Numba raises at import when `cache=True` finds no folder to write to; here the cache falls back to a folder under the
system's temporary directory, then to none.
"""

import hashlib
import os
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any


def _writable(folder: Path) -> bool:
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=folder):
            return True
    except OSError:
        return False


def _version() -> str:
    """Digest of all kernel sources: numba looks at the file of the caller only, and would keep a kernel whose callee in
    another file has changed."""
    package = Path(__file__).parents[1]
    files = sorted([Path(__file__), *package.glob("*/kernels.py"), *package.glob("*/kernels/*.py")])
    return hashlib.sha256(b"".join(path.read_bytes() for path in files)).hexdigest()[:12]


def _cache_folder() -> str | None:
    user = Path(os.environ.get("XDG_CACHE_HOME") or os.path.expanduser("~/.cache")) / "trysquare" / "kernels"
    named = os.environ.get("NUMBA_CACHE_DIR")
    for folder in ([Path(named)] if named else []) + [user, Path(tempfile.gettempdir()) / "trysquare-kernels"]:
        if _writable(folder / _version()):
            return str(folder / _version())
    return None


_folder = _cache_folder()
if _folder is not None:
    os.environ["NUMBA_CACHE_DIR"] = _folder

import numba  # noqa: E402 - the cache folder must be set before
from numba.extending import intrinsic  # noqa: E402

if _folder is not None:
    numba.config.CACHE_DIR = _folder  # type: ignore[attr-defined]


def kernel(**options: Any) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """Compile a function with numba: cached where possible, interpreter lock released, division after IEEE 754."""
    settings = {"nogil": True, "cache": _folder is not None, "error_model": "numpy", **options}

    def decorate(function: Callable[..., Any]) -> Callable[..., Any]:
        compiled: Callable[..., Any] = numba.njit(**settings)(function)
        return compiled

    return decorate


@intrinsic
def upper_word(typing: Any, a: Any, b: Any) -> Any:
    """For kernels: the upper 64 bits of the product of two words (numpy.uint64); plain code takes four products."""

    def build(context: Any, builder: Any, signature: Any, arguments: Any) -> Any:
        word = arguments[0].type
        wide = type(word)(128)
        x, y = (builder.zext(argument, wide) for argument in arguments)
        return builder.trunc(builder.lshr(builder.mul(x, y), wide(64)), word)

    return numba.types.uint64(numba.types.uint64, numba.types.uint64), build
