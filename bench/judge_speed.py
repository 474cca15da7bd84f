"""The demo's judge, a whole process, against the same chain written with SciPy and run draw by draw.

Ours: `trysquare judge JOB --json` from nothing (kernels compiled before): start, reading of the job, 2 000 draws,
statements, contributions of 76 sources, verdicts and advice; without pictures. The rival (bench/scipy_chain) draws
errors and computes the 40 characteristics of each draw, and nothing else: no statements, no contributions, no start.
It is timed on 20 draws and scaled. Both take turns; medians count. It runs on one processor, ours on as many as there
are; times of the processor itself stand beside, as the load of the machine moves them less.

Accuracy: the characteristics of both on the readings as they are, and on the rival's 20 draws replaced by ours.
"""

import json
import os
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from trysquare.chance.sources import Draws
from trysquare.core.threads import thread_count
from trysquare.demo.run import measured
from trysquare.demo.scenario import TRUTH_SEED
from trysquare.jobs.chain import Chain
from trysquare.jobs.instruments import instruments_of
from trysquare.jobs.load import load

from .scipy_chain.chain import Rival
from .scipy_chain.compare import characteristic, ordered, told
from .scipy_chain.errors import Errors

DRAWS, RIVALS = 2000, 20
FLOOR, MEMORY_MB, TOLERANCE_MM = 20.0, 600.0, 1e-6


@dataclass(frozen=True)
class Took:
    """Seconds of the clock and of the processors, and the largest memory."""

    seconds: float
    processor_s: float
    memory_mb: float = 0.0


def run(quick: bool = False) -> dict[str, Any]:
    """Turns of both (5; quick: 2)."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for file, text in measured(TRUTH_SEED)[0].items():
            (folder / file).write_text(text, encoding="utf-8")
        job = load(folder)
        tools = instruments_of(job)
        chain, rival = Chain(job, tools), Rival(job, tools)
        errors = Errors(rival, 1)
        _judge(folder, 50)  # compiles
        _rival(rival, errors)
        turns = [(_judge(folder, DRAWS), _rival(rival, errors)) for _ in range(2 if quick else 5)]
    ours, theirs = ([turn[i] for turn in turns] for i in (0, 1))
    row = {
        "work": f"judge, {sum(len(s.readings) for s in job.stations)} readings, {len(job.requirements)} requirements, "
        f"{DRAWS} draws, statements and contributions",
        "against": "SciPy draw by draw (lm, analytic Jacobians, SVD, highs); characteristics only",
        **_figures(ours, theirs), "floor": FLOOR,
        "memory_mb": round(max(t.memory_mb for t in ours)), "memory_ceiling_mb": MEMORY_MB,
        **_differences(chain, rival),
    }  # fmt: skip
    exact = max(row["value_error_mm"], row["draw_error_mm"]) <= TOLERANCE_MM
    row["met"] = bool(row["ratio"] >= FLOOR and row["memory_mb"] < MEMORY_MB and exact)
    return {"rows": [row], "threads": thread_count(), "turns": len(turns), "tolerance_mm": TOLERANCE_MM}


def _figures(ours: list[Took], theirs: list[Took]) -> dict[str, float]:
    def median(turns: list[Took], what: str) -> float:
        return statistics.median(getattr(t, what) for t in turns)

    one, other = median(ours, "seconds"), median(theirs, "seconds")
    processor, other_processor = median(ours, "processor_s"), median(theirs, "processor_s")
    return {
        "seconds": round(one, 3), "seconds_against": round(other, 2), "ratio": round(other / one, 1),
        "processor_s": round(processor, 3), "processor_s_against": round(other_processor, 2),
        "processor_ratio": round(other_processor / processor, 1),
    }  # fmt: skip


def _judge(folder: Path, draws: int) -> Took:
    """One process; its memory is that of the process, as the system kept count."""
    command = [sys.executable, "-m", "trysquare", "judge", str(folder), "--draws", str(draws), "--json"]
    begin = time.perf_counter()
    process = subprocess.Popen(command, stdout=subprocess.PIPE)
    assert process.stdout is not None
    document = json.loads(process.stdout.read())
    _, status, used = os.wait4(process.pid, 0)
    seconds = time.perf_counter() - begin
    process.returncode = os.waitstatus_to_exitcode(status)
    assert process.returncode == 0
    assert document["draws"] == draws
    unit = 1e6 if sys.platform == "darwin" else 1e3  # bytes there, kilobytes elsewhere
    return Took(seconds, used.ru_utime + used.ru_stime, used.ru_maxrss * 1.024 / unit)


def _rival(rival: Rival, errors: Errors) -> Took:
    """Scaled to all draws."""
    begin, used = time.perf_counter(), resource.getrusage(resource.RUSAGE_SELF)
    for _ in range(RIVALS):
        rival.values(errors.draw())
    seconds, after = time.perf_counter() - begin, resource.getrusage(resource.RUSAGE_SELF)
    processor = after.ru_utime + after.ru_stime - used.ru_utime - used.ru_stime
    return Took(seconds * DRAWS / RIVALS, processor * DRAWS / RIVALS)


def _differences(chain: Chain, rival: Rival) -> dict[str, float]:
    """Largest difference between our characteristics and the rival's, mm or rad: as read, and in 20 of our draws."""
    ours = ordered({id_: characteristic(m) for id_, m in chain.run().items()})
    theirs = ordered(rival.values(rival.given()))
    draws = Draws(7, 0, RIVALS)
    drawn = ordered({id_: characteristic(m) for id_, m in chain.run(draws).items()})
    found = [ordered(rival.values(given)) for given in told(chain, rival, draws)]
    return {
        "value_error_mm": max(float(np.abs(ours[id_] - x).max()) for id_, x in theirs.items()),
        "draw_error_mm": max(
            float(np.abs(drawn[id_][d] - x).max()) for d, each in enumerate(found) for id_, x in each.items()
        ),
    }
