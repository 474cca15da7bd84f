"""Running a chain over many draws: fixed chunks, side by side in threads, with progress and a clean cancel.

The chunks never depend on the number of threads, and linear algebra inside a chunk runs on one thread, so that the
same seed gives the same bits everywhere on one kind of machine.
"""

from collections.abc import Callable, Collection, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextvars import copy_context
from dataclasses import replace
from functools import partial
from typing import TypeVar

import numpy as np

from ..chance.design import Design
from ..chance.sources import Draws
from ..core.arrays import Array
from ..core.threads import thread_count, threads
from ..tolerances.measurand import Measurand
from .chain import Chain

CHUNK = 500
Tick = Callable[[], None]
_Answer = TypeVar("_Answer")


def chunks(count: int) -> list[tuple[int, int]]:
    """Bounds of the chunks that cover `count` draws."""
    return [(a, min(a + CHUNK, count)) for a in range(0, count, CHUNK)]


def side_by_side(tasks: Sequence[Callable[[], _Answer]], tick: Tick) -> list[_Answer]:
    """Run tasks in threads and return their answers in order; `tick` is called in this thread after each.

    A cancel (an exception from `tick`, or the keyboard) drops the tasks that have not begun.
    """
    from threadpoolctl import threadpool_limits

    def alone(task: Callable[[], _Answer]) -> _Answer:
        with threads(1):
            return task()

    with threadpool_limits(limits=1), ThreadPoolExecutor(thread_count()) as pool:
        waiting = [pool.submit(copy_context().run, alone, task) for task in tasks]
        answers = []
        try:
            for future in waiting:
                answers.append(future.result())
                tick()
        except BaseException:
            pool.shutdown(wait=True, cancel_futures=True)
            raise
    return answers


def run_draws(chain: Chain, seed: int, count: int, tick: Tick) -> dict[str, Measurand]:
    """All measurands over `count` draws, one leading axis."""
    bounds = chunks(count)
    parts = side_by_side([partial(chain.run, Draws(seed, a, b)) for a, b in bounds], tick)
    return {id_: _joined([part[id_] for part in parts]) for id_ in parts[0]}


def parts_alone(
    chain: Chain, seed: int, count: int, groups: Sequence[Collection[str]], tick: Tick
) -> list[dict[str, Array]]:
    """Signed vectors (n, K) of the measurands that a group of sources moves when it acts alone, for every group.

    Their variances are what counts. Groups of sources with few streams share one run of an orthogonal design; each of
    the others takes `count` draws of its own, with a `tick` for each group.
    """
    design = Design({name for names in groups for name in names})
    ran = {id_: m.vector() for id_, m in chain.run(design).items()}
    if not ran:
        return [{} for _ in groups]
    few = [design.many.isdisjoint(names) for names in groups]
    tasks = [partial(_alone, chain, seed, count, names) for names, alone in zip(groups, few, strict=True) if not alone]
    drawn = iter(side_by_side(tasks, tick))
    together = np.concatenate(list(ran.values()), axis=1)
    ends = np.cumsum([vector.shape[1] for vector in ran.values()])[:-1]
    out: list[dict[str, Array]] = []
    for names, alone in zip(groups, few, strict=True):
        if alone:
            tick()
            parts = np.split(design.alone(names, together), ends, axis=1)
            out.append(dict(zip(ran, parts, strict=True)))
        else:
            out.append(next(drawn))
    return out


def _alone(chain: Chain, seed: int, count: int, only: Collection[str]) -> dict[str, Array]:
    parts: dict[str, list[Array]] = {}
    for a, b in chunks(count):
        for id_, m in chain.run(Draws(seed, a, b, only=only)).items():
            parts.setdefault(id_, []).append(m.vector())
    return {id_: np.concatenate(found) for id_, found in parts.items()}


def _joined(parts: list[Measurand]) -> Measurand:
    vectors = tuple(np.concatenate(v) for v in zip(*(p.vectors for p in parts), strict=True))
    heights = None
    if parts[0].heights_mm is not None:
        heights = np.concatenate([p.heights_mm for p in parts if p.heights_mm is not None])
    return replace(parts[0], vectors=vectors, heights_mm=heights)
