"""The demo's judge, a whole process, against the same chain written with SciPy and run draw by draw.

The rival (bench/scipy_chain) draws errors and computes the 40 characteristics of each draw: minimisers of MINPACK with
exact Jacobians, closed forms where they exist, everything prepared that no draw changes, starts at the answer of the
estimate. It is timed on 20 draws and scaled to 2 000. It makes no statements, no contributions, no verdicts, and has no
start-up. Two comparisons:

- the chain alone: our 2 000 draws in a running process against the rival's. Like against like.
- the whole judge: `trysquare judge JOB --json` from nothing (kernels compiled before), with reading of the job, 2 000
  draws, statements, contributions of 76 sources, verdicts and advice, but no pictures, against the rival's draws alone.
  `ratio_with_contributions` adds to the rival the draws that the contributions of 27 sources of points take drawn one
  by one, 500 each, as they would be without an orthogonal design; computed from its time a draw, not run.

All take turns; medians count. The rival runs on one processor, ours on as many as there are; times of the processors
themselves stand beside, as the load of the machine moves them less.

Accuracy: the characteristics of both on the readings as they are, and in 20 of our draws told to the rival. Zones of
surfaces in draws stand apart: our heights stay at the places of the estimate, which moves zones by some 1e-6 mm.
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
from trysquare.jobs.job import Job
from trysquare.jobs.judge import judge
from trysquare.jobs.loading.load import load
from trysquare.jobs.runs import run_draws

from .scipy_chain.chain import Rival
from .scipy_chain.compare import characteristic, ordered, told
from .scipy_chain.errors import Errors

DRAWS, RIVALS = 2000, 20
FLOOR, MEMORY_MB, TOLERANCE_MM, ZONES_MM = 20.0, 600.0, 1e-7, 1e-5
#: Draws that the contribution of a source takes one by one.
EACH = 500


@dataclass(frozen=True)
class Took:
    """Seconds of the clock and of the processors, and the largest memory."""

    seconds: float
    processor_s: float
    memory_mb: float = 0.0


def run(quick: bool = False) -> dict[str, Any]:
    """Turns of all (5; quick: 2)."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for file, text in measured(TRUTH_SEED)[0].items():
            (folder / file).write_text(text, encoding="utf-8")
        job = load(folder)
        tools = instruments_of(job)
        chain, rival = Chain(job, tools), Rival(job, tools)
        errors = Errors(rival, 1)
        _judge(folder, 200), _chain(chain), _running(job), _rival(rival, errors)  # compiles
        turns = [
            (_judge(folder, DRAWS), _chain(chain), _running(job), _rival(rival, errors))
            for _ in range(2 if quick else 5)
        ]
    whole, alone, running, theirs = ([turn[i] for turn in turns] for i in range(4))
    accuracy = _differences(chain, rival)
    exact = accuracy["draw_error_mm"] <= TOLERANCE_MM and accuracy["zone_draw_error_mm"] <= ZONES_MM
    readings = sum(len(s.readings) for s in job.stations if s.readings)
    what = f"{readings} readings, {len(job.requirements)} requirements, {DRAWS} draws"
    rows = [
        {"work": f"the chain alone: {what}", **_figures(alone, theirs), "floor": FLOOR, **accuracy},
        {
            "work": f"judge, in a running process: {what}, statements, contributions, verdicts",
            **_figures(running, theirs), "floor": FLOOR,
        },
        {
            "work": f"judge, whole process: {what}, statements, contributions, verdicts", **_figures(whole, theirs),
            "floor": FLOOR, "ratio_with_contributions": _with_contributions(chain, whole, theirs),
            "memory_mb": round(max(t.memory_mb for t in whole)), "memory_ceiling_mb": MEMORY_MB,
        },
    ]  # fmt: skip
    rows[0]["met"] = bool(rows[0]["ratio"] >= FLOOR and exact)
    rows[1]["met"] = bool(rows[1]["ratio"] >= FLOOR and exact)
    rows[2]["met"] = bool(rows[2]["ratio"] >= FLOOR and rows[2]["memory_mb"] < MEMORY_MB and exact)
    return {
        "rows": rows, "against": "SciPy draw by draw, characteristics only", "threads": thread_count(),
        "turns": len(turns), "tolerance_mm": TOLERANCE_MM, "tolerance_of_zones_mm": ZONES_MM,
    }  # fmt: skip


def _median(turns: list[Took], what: str) -> float:
    return statistics.median(getattr(t, what) for t in turns)


def _figures(ours: list[Took], theirs: list[Took]) -> dict[str, Any]:
    one, other = _median(ours, "seconds"), _median(theirs, "seconds")
    processor, other_processor = _median(ours, "processor_s"), _median(theirs, "processor_s")
    return {
        "seconds": round(one, 3), "seconds_against": round(other, 2), "ratio": round(other / one, 1),
        "processor_s": round(processor, 3), "processor_s_against": round(other_processor, 2),
        "processor_ratio": round(other_processor / processor, 1),
    }  # fmt: skip


def _with_contributions(chain: Chain, ours: list[Took], theirs: list[Took]) -> float:
    """Ratio if the rival drew the contribution of every source that moves points, one source at a time."""
    more = sum(s.u > 0 for s in chain.points.sources) * EACH / DRAWS
    return round(_median(theirs, "seconds") * (1.0 + more) / _median(ours, "seconds"), 1)


def _chain(chain: Chain) -> Took:
    """All draws in this process, without the form that statements add."""
    begin, used = time.perf_counter(), _used()
    run_draws(chain, 1, DRAWS, lambda: None)
    return Took(time.perf_counter() - begin, _used() - used)


def _running(job: Job) -> Took:
    """All of `judge` in this process, as a cell or a server would call it."""
    begin, used = time.perf_counter(), _used()
    judge(job, draws=DRAWS)
    return Took(time.perf_counter() - begin, _used() - used)


def _used() -> float:
    """Processor time of this process so far, s."""
    used = resource.getrusage(resource.RUSAGE_SELF)
    return used.ru_utime + used.ru_stime


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
    begin, used = time.perf_counter(), _used()
    for _ in range(RIVALS):
        rival.values(errors.draw())
    scale = DRAWS / RIVALS
    return Took((time.perf_counter() - begin) * scale, (_used() - used) * scale)


def _differences(chain: Chain, rival: Rival) -> dict[str, float]:
    """Largest differences between our characteristics and the rival's, mm or rad: as read, and in 20 of our draws."""
    ran = chain.run()
    ours = ordered({id_: characteristic(m) for id_, m in ran.items()})
    theirs = ordered(rival.values(rival.given()))
    draws = Draws(7, 0, RIVALS)
    drawn = ordered({id_: characteristic(m) for id_, m in chain.run(draws).items()})
    worst = dict.fromkeys(theirs, 0.0)
    for d, given in enumerate(told(chain, rival, draws)):
        for id_, x in ordered(rival.values(given)).items():
            worst[id_] = max(worst[id_], float(np.abs(drawn[id_][d] - x).max()))
    zones = {id_ for id_, m in ran.items() if m.kind in ("extreme", "orientation")}
    return {
        "value_error_mm": max(float(np.abs(ours[id_] - x).max()) for id_, x in theirs.items()),
        "draw_error_mm": max(x for id_, x in worst.items() if id_ not in zones),
        "zone_draw_error_mm": max(x for id_, x in worst.items() if id_ in zones),
    }
