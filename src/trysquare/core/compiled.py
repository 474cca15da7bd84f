"""Compiled kernels with a cache that never stops the program.

Numba raises at import when `cache=True` finds no folder to write to; here the cache falls back to a folder under the
system's temporary directory, then to none.
"""

import hashlib
import os
import re
import tempfile
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

from .waiting import compiling

_SIBLING = re.compile(r"^from \.(\w+) import", re.MULTILINE)


def _writable(folder: Path) -> bool:
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=folder):
            return True
    except OSError:
        return False


@cache
def _version(file: str) -> str:
    """Digest of a file of kernels and of all beside it that it imports, one through another: numba looks at the file of
    the caller only, and would keep a kernel whose callee in another file has changed."""
    seen, left = [Path(__file__)], [Path(file)]
    while left:
        path = left.pop()
        if path not in seen:
            seen.append(path)
            left += [path.with_name(f"{name}.py") for name in _SIBLING.findall(path.read_text())]
    return hashlib.sha256(b"".join(path.read_bytes() for path in sorted(seen))).hexdigest()[:12]


def _cache_folder() -> Path | None:
    user = Path(os.environ.get("XDG_CACHE_HOME") or os.path.expanduser("~/.cache")) / "trysquare" / "kernels"
    named = os.environ.get("NUMBA_CACHE_DIR")
    for folder in ([Path(named)] if named else []) + [user, Path(tempfile.gettempdir()) / "trysquare-kernels"]:
        if _writable(folder):
            return folder
    return None


_folder = _cache_folder()
if _folder is not None:
    os.environ["NUMBA_CACHE_DIR"] = str(_folder)

import numba  # noqa: E402 - the cache folder must be set before
from numba.core import event  # noqa: E402
from numba.extending import intrinsic  # noqa: E402


class _Compiling(event.Listener):
    """Numba calls this when it compiles; what it finds in the cache it does not tell."""

    def on_start(self, event: object) -> None:
        compiling()

    def on_end(self, event: object) -> None:
        pass


event.register("numba:compile", _Compiling())  # type: ignore[no-untyped-call]


def kernel(**options: Any) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """Compile a function with numba: cached where possible, interpreter lock released, division after IEEE 754.

    Kernels stand in files that import others only from beside them (`from .name import ...`).
    """
    settings = {"nogil": True, "cache": _folder is not None, "error_model": "numpy", **options}

    def decorate(function: Callable[..., Any]) -> Callable[..., Any]:
        if _folder is not None:
            numba.config.CACHE_DIR = str(_folder / _version(function.__code__.co_filename))  # type: ignore[attr-defined]
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
