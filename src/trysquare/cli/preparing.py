"""What is said while kernels are compiled: on standard error, only where a person watches."""

import sys
from collections.abc import Iterator
from contextlib import contextmanager

from ..core.waiting import when_compiling


@contextmanager
def preparing() -> Iterator[None]:
    """Say once that kernels are being compiled: the first time takes longer."""
    told = False

    def say() -> None:
        nonlocal told
        if not told and sys.stderr.isatty():
            told = True
            sys.stderr.write("Preparing for this processor, once: up to a minute.\n")
            sys.stderr.flush()

    with when_compiling(say):
        yield
