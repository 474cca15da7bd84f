"""Threads over slices of a batch.

Compiled kernels here are serial and release the interpreter lock; a batch is cut into fixed slices and the slices run
side by side. Every element is computed alone, so the number of threads never changes a digit.
"""

import os
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from contextvars import ContextVar

_count: ContextVar[int | None] = ContextVar("trysquare_threads", default=None)


def thread_count() -> int:
    """Threads in force: the innermost `threads(n)`, else one per processor."""
    return _count.get() or os.cpu_count() or 1


@contextmanager
def threads(n: int) -> Iterator[None]:
    """Use `n` threads inside the block."""
    token = _count.set(n)
    try:
        yield
    finally:
        _count.reset(token)


def over_slices(work: Callable[[int, int], None], n: int, *, size: int) -> None:
    """Call work(start, stop) for slices of `size` that cover range(n), in threads when there are several."""
    bounds = [(a, min(a + size, n)) for a in range(0, n, size)]
    count = min(thread_count(), len(bounds))
    if count <= 1:
        for a, b in bounds:
            work(a, b)
        return
    with ThreadPoolExecutor(count) as pool:
        for done in [pool.submit(work, a, b) for a, b in bounds]:
            done.result()
