"""The demo under many truths: how often do its verdicts and intervals agree with what is true?

The drawing, the true deviations and the survey stay; every truth seed draws new true errors of instruments, targets,
air and temperature, and new form. Judged with 1 000 draws each. Intervals are nominal 95 %; within one truth they share
errors, so `u_share` comes from the spread between truths. Negative control: the same intervals at half their width.
Of several local sizes the one nearest to a limit is judged; picking it costs coverage, so it has a row of its own.
A wrong accept is a requirement accepted though truly beyond its limit; the proof allows 5 % of those truly at it.
"""

import math
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

from trysquare.demo.run import Demo, run_demo
from trysquare.jobs.result import Judged

FIRST, TRUTHS, QUICK, DRAWS = 5001, 30, 2, 1000
#: Row: which requirements it counts, from the kind of statement and how many places were measured.
GROUPS: dict[str, Callable[[str, int], bool]] = {
    "one number": lambda kind, places: kind == "smooth" and places == 1,
    "one of several local sizes": lambda kind, places: kind == "smooth" and places > 1,
    "magnitude": lambda kind, places: kind == "magnitude",
    "extreme": lambda kind, places: kind == "extreme",
    "all": lambda kind, places: True,
}


def run(quick: bool = False) -> dict[str, Any]:
    """Rows of intervals by kind, and one of verdicts; every truth and every miss beside them."""
    seeds = range(FIRST, FIRST + (QUICK if quick else TRUTHS))
    demos = {seed: run_demo(Path("unused"), seed=seed, draws=DRAWS) for seed in seeds}
    rows = [_intervals(list(demos.values()), group) for group in GROUPS]
    missed = Counter(id_ for demo in demos.values() for id_ in demo.agreement.missed)
    return {
        "truths": len(demos), "draws": DRAWS,
        "rows": [*rows, _verdicts(list(demos.values()))],
        "missed_by_requirement": dict(missed.most_common()),
        "by_truth": [{"seed": seed, **demo.agreement.as_dict()} for seed, demo in demos.items()],
    }  # fmt: skip


def _intervals(demos: list[Demo], group: str) -> dict[str, Any]:
    stated = [_stated(demo, group) for demo in demos]
    shares = [np.mean([_held(j, true, 1.0) for j, true in each]) for each in stated]
    every = [pair for each in stated for pair in each]
    return {
        "what": f"intervals, {group}", "n": len(every), "held": sum(_held(j, true, 1.0) for j, true in every),
        "share": float(np.mean(shares)), "u_share": float(np.std(shares, ddof=1) / math.sqrt(len(shares))),
        "share_halved": float(np.mean([_held(j, true, 0.5) for j, true in every])),
    }  # fmt: skip


def _stated(demo: Demo, group: str) -> list[tuple[Judged, float]]:
    """Requirements of a group that have an interval, with their true values."""
    wanted = GROUPS[group]
    return [
        (j, demo.there[j.id])
        for j in demo.result.requirements
        if j.interval and wanted(j.kind, len(demo.true[j.id].places))
    ]


def _held(judged: Judged, true: float, scale: float) -> bool:
    if judged.interval is None or judged.value is None:
        return False
    low, high = (judged.value + scale * (end - judged.value) for end in judged.interval)
    return low <= true <= high


def _verdicts(demos: list[Demo]) -> dict[str, Any]:
    found = [d.agreement for d in demos]
    return {
        "what": "verdicts", "n": sum(a.requirements for a in found), "truly_beyond": sum(a.truly_beyond for a in found),
        "decided": sum(a.decided for a in found), "agree": sum(a.agree for a in found),
        "undecided": sum(a.undecided for a in found), "wrong_accepts": sum(len(a.wrong_accepts) for a in found),
        "wrong_rejects": sum(len(a.wrong_rejects) for a in found),
    }  # fmt: skip
