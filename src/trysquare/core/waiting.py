"""What a person who waits may be told. Apart from what it tells of, so that a face sets it without loading that."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager

_hooks: list[Callable[[], None]] = []


@contextmanager
def when_compiling(say: Callable[[], None]) -> Iterator[None]:
    """Call `say` inside the block when a kernel is compiled, from whatever thread; not when it comes from the cache."""
    _hooks.append(say)
    try:
        yield
    finally:
        _hooks.remove(say)


def compiling() -> None:
    """Tell all who asked that a kernel is being compiled."""
    for say in tuple(_hooks):
        say()
