"""The same job and seed give the same result document to the last byte, whatever the number of threads.

Whole processes; more draws than one chunk; trackers, a tie, hand tools, flatness and orientation with form.
Expected values: analytic (equality).
"""

import json
import subprocess
import sys
from pathlib import Path

import pytest
from small_jobs import block_job

from trysquare.jobs.judge import judge
from trysquare.jobs.loading.load import load

DRAWS = 520


@pytest.fixture(scope="module")
def job(tmp_path_factory):
    return block_job(tmp_path_factory.mktemp("block"))


def started(job: Path, out: Path, *options: str) -> tuple[Path, subprocess.Popen[str]]:
    command = [sys.executable, "-m", "trysquare", "judge", str(job), "--draws", str(DRAWS), "--no-pdf"]
    process = subprocess.Popen(
        [*command, "--out", str(out), *options], stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True
    )
    return out / "result.json", process


def ended(runs: list[tuple[Path, subprocess.Popen[str]]]) -> list[bytes]:
    out = []
    for file, process in runs:
        said = process.communicate(timeout=300)[1]
        assert process.returncode == 0, said
        out.append(file.read_bytes())
    return out


def test_one_and_two_threads_twice_and_another_seed(job, tmp_path):
    """Runs of a pair share the machine, as on a shop floor's computer: what else it does may change nothing either."""
    once = ended([started(job, tmp_path / f"a{n}", "--threads", n) for n in "12"])
    again = ended([started(job, tmp_path / f"b{n}", "--threads", n) for n in "12"])
    assert once[0] == once[1] == again[0] == again[1]
    document = json.loads(once[0])
    kinds = {r["kind"] for r in document["requirements"]}
    assert kinds == {"smooth", "magnitude", "extreme"}
    assert all(r["interval"] for r in document["requirements"])
    # the twin: another seed changes every interval, so equality above is no accident of rounding or caching
    other = json.loads(judge(load(job), draws=DRAWS, seed=8).as_bytes())
    pairs = zip(document["requirements"], other["requirements"], strict=True)
    assert all(a["interval"] != b["interval"] for a, b in pairs)
    assert document["seed"] != other["seed"]
