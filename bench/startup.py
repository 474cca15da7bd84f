"""Start-up: `trysquare --help` against the interpreter alone, whole processes, medians, in turn."""

import statistics
import subprocess
import sys
import time
from typing import Any

#: The help may cost this many times a bare interpreter.
CEILING = 15.0


def run(quick: bool = False) -> dict[str, Any]:
    """Medians of 10 (quick: 5) processes each, A B A B, after one warm-up of each."""
    runs = 5 if quick else 10
    help_, bare = ["-m", "trysquare", "--help"], ["-c", "pass"]
    _seconds(help_), _seconds(bare)
    times: list[tuple[float, float]] = [(_seconds(help_), _seconds(bare)) for _ in range(runs)]
    of_help, of_bare = (statistics.median(t[i] for t in times) for i in (0, 1))
    row = {
        "work": "trysquare --help, whole process",
        "against": "python -c pass",
        "seconds": round(of_help, 4),
        "seconds_against": round(of_bare, 4),
        "ratio": round(of_help / of_bare, 2),
        "ceiling": CEILING,
        "met": of_help / of_bare <= CEILING,
    }
    return {"rows": [row], "runs": runs}


def _seconds(arguments: list[str]) -> float:
    begin = time.perf_counter()
    subprocess.run([sys.executable, *arguments], check=True, stdout=subprocess.DEVNULL)
    return time.perf_counter() - begin
