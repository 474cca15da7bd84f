"""Stations that do not fit together decide nothing: a tie point has moved between them."""

import csv
import io

import pytest
from job_folder import job_with

from trysquare.jobs.judge import judge
from trysquare.jobs.loading.load import load
from trysquare.report.html import page
from trysquare.report.table import rows_csv
from trysquare.report.terminal import summary

ONE = "station-1.csv"
BOTH, HAND = {"3", "4", "5", "6"}, {"2", "7"}


def judged(tmp_path, *edits):
    return judge(load(job_with(tmp_path, *edits)), draws=300)


#: T4 moved 0.1 mm between the stations, some twenty standard uncertainties.
MOVED = [
    (ONE, f"{row},{mm}", f"{row},{mm + 0.1:.4f}")
    for row, mm in (
        ("T4,1,1,ball-12,46.961296,-22.508668", 3103.2628),
        ("T4,1,2,ball-12,46.961288,-22.508641", 3103.2635),
    )
]


@pytest.fixture(scope="module")
def untied(tmp_path_factory):
    return judged(tmp_path_factory.mktemp("moved"), *MOVED)


def test_what_rests_on_untied_stations_is_undecided_with_the_reason(untied):
    found = {r.id: r for r in untied.requirements}
    for id_ in BOTH:
        assert found[id_].verdict == "undecided"
        assert "the stations do not fit together; tie point T4 from station " in found[id_].reason
        assert (found[id_].interval, found[id_].U, found[id_].risk, found[id_].belief) == (None, None, None, None)
        assert found[id_].value is not None
    assert untied.part.verdict == "undecided"
    assert untied.part.joint_risk is None


def test_hand_tools_do_not_care(untied):
    assert {r.id for r in untied.requirements if r.verdict == "accept"} == HAND


def test_the_reason_stands_in_every_form_of_the_report(untied):
    rows = {row["id"]: row for row in csv.DictReader(io.StringIO(rows_csv(untied).decode("utf-8-sig")))}
    assert all("do not fit together" in rows[id_]["reason"] and rows[id_]["interval_low"] == "" for id_ in BOTH)
    for text in (page(untied).decode(), summary(untied, files=[])):
        assert "do not fit together" in " ".join(text.split())


def test_a_reason_shared_by_many_is_said_once_in_the_terminal(untied):
    text = " ".join(summary(untied, files=[]).split())
    assert text.count("Cannot be stated: the stations do not fit together") == 1
    assert "3, 4, 5, 6: Cannot be stated" in text
    assert "of this uncertainty" not in text, "where no uncertainty is stated none is shared out"


def test_stations_that_fit(tmp_path):
    """Negative twin."""
    result = judged(tmp_path)
    assert not any("do not fit" in (r.reason or "") for r in result.requirements)
    assert {r.id for r in result.requirements if r.verdict == "accept"} == BOTH | HAND
