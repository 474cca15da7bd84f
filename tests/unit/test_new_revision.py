"""A new revision of a drawing: compared with an earlier job or result, and judged again from the same readings.

Expected values: the changes that the test writes into the job (analytic); texts are frozen behaviour.
"""

import re

import pytest
from job_folder import job_with

from trysquare.core.errors import InputError
from trysquare.jobs.against import compare
from trysquare.jobs.judge import judge
from trysquare.jobs.loading.load import examine, load
from trysquare.jobs.loading.previous import previous
from trysquare.jobs.register_lines import of_job, of_result
from trysquare.report.against_text import against_text

TOML = "job.toml"
STATION = '[[station]]\nname = "1"'
ISSUE = (TOML, 'revision = "A"', 'revision = "B"')
NARROWER = (TOML, 'zone = "diameter 0.1"', 'zone = "diameter 0.06"')
REAR = (
    "[feature.rear]\nplane = { point = [200, 300, 30], normal = [0, 1, 0] }\n"
    '[[requirement]]\nid = "20"\nname = "Rear"\non = "rear"\nperpendicularity = { zone = 0.1, datums = ["A"] }\n'
)
NEW = (TOML, STATION, REAR + STATION)
WITHOUT_4 = (
    TOML, '[[requirement]]\nid = "4"\nname = "Bores apart"\non = ["bore-1", "bore-2"]\n'
    'distance = { nominal = 180, lower = "-0.002 in", upper = "0.002 in" }\n', "",
)  # fmt: skip
DROPPED = (TOML, "draws = 1000\n", 'draws = 1000\ndropped = ["4"]\n')


def compared(tmp_path, *edits, old=()):
    before = previous(job_with(tmp_path / "old", *old))
    return compare(before, load(job_with(tmp_path / "new", *edits)), "new")


def changes(found):
    return {one.new.id: [(c.what, c.old, c.new) for c in one.changes] for one in found.changed}


def test_the_same_drawing_has_no_change(tmp_path):
    found = compared(tmp_path, ISSUE)
    assert (found.added, found.dropped, found.changed, found.needed) == ((), (), (), ())
    assert found.unchanged == found.at_hand == ("1", "2", "3", "4", "5", "6", "7")


def test_new_dropped_and_changed_with_old_and_new_limits(tmp_path):
    found = compared(tmp_path, ISSUE, NARROWER, NEW, WITHOUT_4, DROPPED)
    assert [line.id for line in found.added] == ["20"]
    assert [line.id for line in found.dropped] == ["4"]
    assert changes(found) == {"3": [("limits", "diameter 0 to 0.1", "diameter 0 to 0.06")]}
    (one,) = found.changed
    assert ((one.old.lower, one.old.upper), (one.new.lower, one.new.upper)) == ((0.0, 0.1), (0.0, 0.06))
    assert [(need.id, need.why, need.features) for need in found.needed] == [("20", "no reading on rear", ("rear",))]
    assert found.features == ("rear",)
    assert found.at_hand == ("1", "2", "3", "5", "6", "7")
    assert (found.old.head["revision"], found.new.head["revision"]) == ("A", "B")


def test_another_number_for_the_same_is_a_change(tmp_path):
    found = compared(tmp_path, (TOML, 'id = "6"', 'id = "60"'))
    assert changes(found) == {"60": [("number", "6", "60")]}
    assert (found.added, found.dropped) == ((), ())


def test_two_that_could_be_it_are_not_guessed(tmp_path):
    twin = '[[requirement]]\nid = "%s"\non = "bore-2"\nsize = { nominal = 50, lower = 0, upper = 0.039 }\n'
    old = [(TOML, STATION, twin % "30" + twin % "31" + STATION)]
    found = compared(tmp_path, (TOML, STATION, twin % "32" + STATION), old=old)
    assert [line.id for line in found.added] == ["32"]
    assert [line.id for line in found.dropped] == ["30", "31"]


def test_a_feature_that_is_drawn_elsewhere_changes_what_rests_on_it(tmp_path):
    found = compared(tmp_path, (TOML, "point = [0, 150, 30], normal = [-1, 0, 0]", "point = [0.2, 150, 30], "
                                "normal = [-1, 0, 0]"))  # fmt: skip
    assert set(changes(found)) == {"3", "6", "7"}
    assert {what for said in changes(found).values() for what, _, _ in said} == {"features as drawn"}


def test_a_datum_letter_on_another_feature_is_a_change(tmp_path):
    found = compared(tmp_path, (TOML, 'B = "left"\nC = "front"', 'B = "front"\nC = "left"'))
    (said,) = [(old, new) for what, old, new in changes(found)["3"] if what == "datum features"]
    assert [re.sub(r" \(.*?\)", "", words) for words in said] == [
        "A = top, B = left, C = front", "A = top, B = front, C = left",
    ]  # fmt: skip


def test_a_state_that_was_not_measured_needs_measuring(tmp_path):
    found = compared(tmp_path, (TOML, 'id = "5"\n', 'id = "5"\nstate = "restrained"\n'))
    assert changes(found) == {"5": [("state", "", "restrained")]}
    (need,) = found.needed
    assert need.id == "5"
    assert need.why.endswith("Measure it restrained.")
    assert need.features == ("bore-2", "top")


def test_readings_of_a_dropped_number_are_passed_over(tmp_path):
    gauge = ("bores.csv", "", "requirement,place,value [mm]\n2,top,50.013\n9,top,33.3\n")
    assert 'requirement must be a requirement of the job; got "9"' in str(
        examine(job_with(tmp_path / "refused", gauge)).errors[0]
    )
    job = load(job_with(tmp_path / "sound", gauge, (TOML, "draws = 1000\n", 'draws = 1000\ndropped = ["9"]\n')))
    assert job.hand[0].requirement == ("2",)
    assert job.hand[0].value_mm.tolist() == [50.013]
    assert job.hand[0].lines.tolist() == [2]


def test_a_dropped_number_is_not_given_again(tmp_path):
    (error,) = examine(job_with(tmp_path, DROPPED)).errors
    assert (error.where, error.what, error.found) == ("job.toml:7", "a dropped number", '"4", which a requirement has')


@pytest.fixture(scope="module")
def judged(tmp_path_factory):
    """The old revision and the new one, from the same readings."""
    folder = tmp_path_factory.mktemp("judged")
    old, new = load(job_with(folder / "old")), load(job_with(folder / "new", ISSUE, NARROWER, NEW))
    return judge(old, draws=200), judge(new, draws=200), new


def test_the_same_readings_judge_the_new_limits(judged):
    old, new, _ = judged
    before, now = ({j.id: j for j in result.requirements} for result in (old, new))
    for id_ in ("1", "2", "4", "5", "6", "7"):
        assert now[id_].model_dump() == before[id_].model_dump()
    assert (now["3"].value, now["3"].interval) == (before["3"].value, before["3"].interval)
    assert (before["3"].upper, now["3"].upper) == (0.1, 0.06)
    assert now["3"].risk >= before["3"].risk
    assert (now["20"].verdict, now["20"].reason) == ("undecided", 'not measured: no reading on feature "rear"')


def test_a_result_is_as_good_as_its_job(judged, tmp_path):
    old, _, new = judged
    (tmp_path / "result.json").write_bytes(old.as_bytes())
    found = compare(previous(tmp_path), new, "new")
    assert changes(found) == {"3": [("limits", "diameter 0 to 0.1", "diameter 0 to 0.06")]}
    assert [line.id for line in found.added] == ["20"]
    assert found.unchanged == ("1", "2", "4", "5", "6", "7")
    verdicts = {j.id: j.verdict for j in old.requirements}
    assert found.changed[0].old.verdict == verdicts["3"]


def test_a_job_and_its_own_result_say_the_same(judged):
    _, result, job = judged
    from_job, from_result = of_job(job, "job"), of_result(result, "result")
    assert list(from_job.lines) == list(from_result.lines)
    for id_, line in from_result.lines.items():
        assert {key: from_job.lines[id_].facts[key] for key in line.facts} == line.facts
        assert "datum features" in line.facts


def test_an_old_result_without_datum_systems_is_compared_by_letters(judged):
    old, _, new = judged
    bare = of_result(old.model_copy(update={"datum_systems": []}), "old")
    assert "datum features" not in bare.lines["3"].facts
    assert set(changes(compare(bare, new, "new"))) == {"3"}


@pytest.mark.parametrize("content", [b"{}", b'{"format": "trysquare-result/9"}', b"\xff\xfe", b"nothing"])
def test_what_is_no_result_is_refused(content, tmp_path):
    (tmp_path / "result.json").write_bytes(content)
    with pytest.raises(InputError, match="trysquare-result/1"):
        previous(tmp_path)


def test_what_is_neither_is_refused(tmp_path):
    with pytest.raises(InputError, match=r"a folder without job\.toml"):
        previous(tmp_path)


def test_the_text_has_80_columns_and_everything_in_it(tmp_path):
    text = against_text(compared(tmp_path, ISSUE, NARROWER, NEW, WITHOUT_4, DROPPED))
    assert max(map(len, text.splitlines())) <= 80
    for said in (
        "BB-12 revision B (ISO 8015:2011) against BB-12 revision A (ISO 8015:2011)",
        "New\n  20  Rear: perpendicularity 0 to 0.1 to A on rear",
        "Dropped\n  4  Bores apart: distance 180 −0.0508 / +0.0508 on bore-1, bore-2",
        "Changed\n  3  First bore, position: limits diameter 0 to 0.1, now diameter 0 to 0.06",
        "Unchanged\n  1, 2, 5, 6, 7",
        "Judged from the readings at hand\n  1, 2, 3, 5, 6, 7",
        "To be measured\n  20  no reading on rear",
        "Features to measure: rear.",
    ):
        assert said in text
