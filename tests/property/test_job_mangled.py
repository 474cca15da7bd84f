"""A job folder that was damaged anywhere is read, or refused in words: nothing else may come out."""

import shutil
import tempfile
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from trysquare.jobs.loading.load import examine

JOB = Path(__file__).parents[1] / "formats" / "job-1"
#: Codes, general tolerances and attributes.
DIMENSIONS = JOB.with_name("job-1-dimensions")
OF_DIMENSIONS = ["job.toml", "job.toml", "job.toml", "attributes.csv", "bore.csv"]
FILES = ["job.toml", "job.toml", "job.toml", "calliper-1.toml", "station-1.csv", "station-2.csv", "bores.csv"]
PATCHES = [
    "", "\n", ",", ";", "0", "-", "1e999", "nan", '"', "[", "]", "{", "}", "=", " = ", "#", "\t", "\0", "\ufeff", "é",
    "[[requirement]]\n", "[feature.x]\n", "on = 3\n", '"diameter"', "true", "[0, 0, 0]", "{}", "2026-11-20", "A", "-1",
]  # fmt: skip


@st.composite
def damage(draw, job=JOB, files=FILES):
    """File, where, how many characters go, what comes in their place; lengths follow the lines of the file."""
    name = draw(st.sampled_from(files))
    text = (job / name).read_text(encoding="utf-8")
    at = draw(st.integers(0, len(text)))
    gone = draw(st.one_of(st.integers(0, 12), st.integers(0, 200)))
    return name, text[:at] + draw(st.sampled_from(PATCHES)) + text[at + gone :]


@settings(max_examples=50, deadline=None, derandomize=True)
@given(damage())
def test_damage_is_refused_in_words_or_harmless(damaged):
    looked_at(JOB, *damaged)


@settings(max_examples=50, deadline=None, derandomize=True)
@given(damage(DIMENSIONS, OF_DIMENSIONS))
def test_damage_to_dimensions_and_attributes(damaged):
    looked_at(DIMENSIONS, *damaged)


def looked_at(source, name, text):
    with tempfile.TemporaryDirectory() as folder:
        job = Path(folder) / "job"
        shutil.copytree(source, job)
        (job / name).write_bytes(text.encode())
        found = examine(job, measured=True)
    assert (found.job is None) == bool(found.errors)
    for problem in (*found.errors, *found.warnings):
        said = problem.as_dict()["error"]
        assert all(said.values()), said
        assert len(said["found"]) < 400
