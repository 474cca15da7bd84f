"""Progress on standard error: one line that is rewritten, only where a person watches."""

import sys
from collections.abc import Iterator
from contextlib import contextmanager

from ..core.arrays import Progress


@contextmanager
def shown(what: str) -> Iterator[Progress | None]:
    """Give a progress function that draws "what 42 %"; None where standard error is no terminal."""
    if not sys.stderr.isatty():
        yield None
        return
    last = -1

    def progress(done: float) -> None:
        nonlocal last
        percent = int(100 * done)
        if percent != last:
            last = percent
            sys.stderr.write(f"\r{what} {percent:3d} %  (Ctrl-C cancels)")
            sys.stderr.flush()

    try:
        yield progress
    finally:
        sys.stderr.write("\r" + " " * (len(what) + 28) + "\r")
        sys.stderr.flush()
