"""A job folder of format 1 with codes, general tolerances and attributes, frozen: it must load for ever.

Expected values: read off the files by hand (analytic), limits from ISO 286-2 and ISO 2768 as printed (certified by the
standards, from memory).
"""

import hashlib
import math
from pathlib import Path

import pytest

from trysquare.jobs.loading.load import load, problems

FOLDER = Path(__file__).parent / "job-1-dimensions"
FROZEN = {
    "job.toml": "b9f66af457091e6af1c3563456be5ba9e31d2e5c23d9d0d8378f3d96cf47294b",
    "bore.csv": "6ecf533e482acf5741b672c19da0861f3b58f3554833e82088bebda106b632cb",
    "width.csv": "815e0a05238de79f2400d57c3f69d5ca0197f260819e45dd82019a3dc5e70256",
    "attributes.csv": "eb9a456844548162d4eaea7b0111634f022b79378d1a66529a52a34ab6717eae",
}


@pytest.fixture(scope="module")
def job():
    return load(FOLDER)


def test_the_folder_is_frozen():
    assert {name: hashlib.sha256((FOLDER / name).read_bytes()).hexdigest() for name in FROZEN} == FROZEN


def test_it_has_no_problem(job):
    assert problems(FOLDER) == []
    assert {source.file: source.sha256 for source in job.inputs} == FROZEN


def test_limits(job):
    """62 H7; 60 h11; a radius with one limit; ISO 2768-mK: 60 mm leg, 80 mm face, 60 mm side."""
    third = math.radians(1 / 3)
    expected = {
        "1": (62.0, 62.030), "2": (59.810, 60.0), "3": (30.9, None), "4": (math.pi / 2 - third, math.pi / 2 + third),
        "5": (0.0, 0.2), "6": (0.0, 0.4),
    }  # fmt: skip
    found = {r.id: (r.lower, r.upper) for r in job.requirements}
    assert found.keys() == expected.keys()
    for id_, limits in expected.items():
        assert found[id_] == pytest.approx(limits, abs=1e-9)
    assert [r.code for r in job.requirements] == ["H7", "h11", None, None, None, None]
    assert [len(r.said) for r in job.requirements] == [1, 1, 0, 1, 1, 1]
    assert job.general.text == "ISO 2768-mK"


def test_attributes(job):
    thread, burr = job.attributes
    assert (thread.id, thread.name, thread.what, thread.on, thread.sheet, thread.grid, thread.critical) == (
        "7", "Thread", "thread", ("front",), "1", "B2", True,
    )  # fmt: skip
    assert (burr.id, burr.name, burr.demand, burr.line) == ("8", "8", "no burr", 74)
    assert [(r.result, r.by, r.when, r.note, r.line) for r in burr.records] == [
        ("undecided", "the gauge bench", "2026-11-20 09:05", "one edge, to be asked", 3)
    ]
