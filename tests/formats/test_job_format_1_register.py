"""A job folder of format 1 with marks, revisions, states and dropped numbers, frozen: it must load for ever.

Expected values: read off the files by hand (analytic).
"""

import hashlib
from pathlib import Path

import pytest

from trysquare.jobs.loading.load import examine

FOLDER = Path(__file__).parent / "job-1-register"
FROZEN = {
    "job.toml": "4271e833657dd6a4daa259d3627f2d4e73f83f1f205fda8afad1f3cb3ab6cc01",
    "thickness.csv": "c078e6f4cb272c3bfcdaa97e0c35a1dfb738d9b2c5987bc0cd45953670e69cb5",
}


@pytest.fixture(scope="module")
def found():
    return examine(FOLDER)


def test_the_folder_is_frozen():
    assert {name: hashlib.sha256((FOLDER / name).read_bytes()).hexdigest() for name in FROZEN} == FROZEN


def test_register_and_states(found):
    assert found.errors == ()
    one, two, three = found.job.requirements
    assert (one.sheet, one.grid, one.revision, one.critical, one.key, one.state) == (
        "1", "B2", "C", True, True, "restrained",
    )  # fmt: skip
    assert (two.revision, two.key, two.state, three.state) == (None, False, "free", None)
    (burr,) = found.job.attributes
    assert (burr.revision, burr.key, burr.critical) == ("B", True, False)
    assert found.job.part.state == "restrained"


def test_readings_of_dropped_numbers_are_passed_over(found):
    (calliper,) = found.job.hand
    assert calliper.requirement == ("1", "1")
    assert calliper.value_mm.tolist() == [30.02, 30.03]
    assert calliper.lines.tolist() == [2, 4]


def test_the_state_that_was_not_measured_is_warned_of(found):
    assert [w.found for w in found.warnings if "state" in w.rule] == ['"free", and the part is restrained']
