"""Attributes: recorded by somebody, judged as recorded, shown in every form of the report with who and when.

Expected values: as the test writes them into the record (analytic); texts are frozen behaviour.
"""

import csv
import io

import pytest
from job_folder import job_with

from trysquare.jobs.attributes import judged
from trysquare.jobs.judge import judge
from trysquare.jobs.loading.load import examine, load
from trysquare.report.html import page
from trysquare.report.sheets import Sheets
from trysquare.report.table import rows_csv
from trysquare.report.terminal import summary

TOML = "job.toml"
STATION = '[[station]]\nname = "1"'
TABLES = """[[attribute]]
id = "90"
name = "Eye bolt"
what = "thread"
demand = "M20 - 6H: go gauge enters, no-go gauge does not"
on = "top"
critical = true

[[attribute]]
id = "91"
name = "Paint"
what = "visual"
demand = "no runs"

[[recorded]]
readings = "attributes.csv"

"""
HEAD = "attribute,result,by,when,note\n"
SOUND = f"{HEAD}90,accept,the gauge bench,2026-11-20,gauge G-12\n91,accept,the painter,2026-11-20 08:10,\n"


def with_attributes(tmp_path, records=SOUND, tables=TABLES):
    folder = job_with(tmp_path, (TOML, STATION, tables + STATION))
    if records is not None:
        (folder / "attributes.csv").write_text(records, encoding="utf-8")
    return folder


def test_a_record_is_the_verdict_and_has_no_number(tmp_path):
    thread, paint = map(judged, load(with_attributes(tmp_path)).attributes)
    assert (thread.verdict, thread.kind, thread.characteristic, thread.critical) == (
        "accept",
        "attribute",
        "thread",
        True,
    )
    assert (thread.value, thread.u, thread.U, thread.interval, thread.risk, thread.belief) == (None,) * 6
    assert (thread.unit, thread.coverage, thread.reason) == ("1", 0.0, None)
    assert [(r.result, r.by, r.when, r.note, r.file, r.line) for r in thread.records] == [
        ("accept", "the gauge bench", "2026-11-20", "gauge G-12", "attributes.csv", 2)
    ]
    assert paint.records[0].note == ""


@pytest.mark.parametrize("result", ["reject", "undecided"])
def test_what_is_not_accepted_says_who_said_so(tmp_path, result):
    records = f"{HEAD}90,{result},the gauge bench,2026-11-20,no-go gauge enters\n91,accept,x,2026-11-20,\n"
    thread = judged(load(with_attributes(tmp_path, records)).attributes[0])
    assert thread.verdict == result
    assert thread.reason == f"recorded as {result} by the gauge bench, 2026-11-20: no-go gauge enters"


def test_what_nobody_recorded_is_undecided_and_warned_of(tmp_path):
    job = load(with_attributes(tmp_path, f"{HEAD}91,accept,x,2026-11-20,\n"))
    assert judged(job.attributes[0]).verdict == "undecided"
    assert judged(job.attributes[0]).reason.startswith("not recorded")
    assert any('attribute "90" must be recorded' in warning for warning in job.warnings)


BAD = {
    "unknown attribute": (f"{HEAD}99,accept,x,2026-11-20,\n", "attribute", "an attribute of the job", '"99"'),
    "unknown result": (f"{HEAD}90,passed,x,2026-11-20,\n", "result", "accept, reject or undecided", '"passed"'),
    "nobody": (f"{HEAD}90,accept,,2026-11-20,\n", "by", "name who found it", "an empty cell"),
    "no day": (f"{HEAD}90,accept,x,yesterday,\n", "when", "begin with a day", '"yesterday"'),
    "no such day": (f"{HEAD}90,accept,x,2026-02-30,\n", "when", "begin with a day", '"2026-02-30"'),
    "contradiction": (
        f"{HEAD}90,accept,x,2026-11-20,\n90,reject,y,2026-11-21,\n", 'result of "90"', "be one", '"accept" on line 2',
    ),
    "a column too few": ("attribute,result,by\n90,accept,x\n", "the columns", "when", 'no "when"'),
}  # fmt: skip


@pytest.mark.parametrize("name", BAD)
def test_a_bad_record_is_named(name, tmp_path):
    records, *expected = BAD[name]
    error = examine(with_attributes(tmp_path, records)).errors[0]
    assert error.where.startswith("attributes.csv:")
    for part, text in zip(expected, (error.what, error.rule, error.found), strict=True):
        assert part in text


BAD_TABLES = {
    "a number twice": (('id = "91"', 'id = "90"'), "the id of an attribute", '"90"'),
    "a requirement's number": (('id = "91"', 'id = "2"'), "the id of an attribute", 'which line 75 has already'),
    "no such feature": (('on = "top"', 'on = "topp"'), 'attribute "90": on', '"topp"'),
    "no such kind": (('what = "visual"', 'what = "smell"'), 'attribute "91": what', '"smell"'),
    "no demand": (('demand = "no runs"\n', ""), 'attribute "91": demand', "nothing"),
}  # fmt: skip


@pytest.mark.parametrize("name", BAD_TABLES)
def test_a_bad_table_is_named(name, tmp_path):
    edit, what, found = BAD_TABLES[name]
    error = examine(with_attributes(tmp_path, tables=TABLES.replace(*edit))).errors[0]
    assert what in error.what
    assert found in error.found


def test_two_records_that_agree_are_both_kept(tmp_path):
    records = f"{SOUND}90,accept,the customer,2026-11-22,\n"
    assert [r.by for r in load(with_attributes(tmp_path, records)).attributes[0].records] == [
        "the gauge bench", "the customer",
    ]  # fmt: skip


def test_a_job_without_its_records_is_only_planned(tmp_path):
    job = load(with_attributes(tmp_path, records=None), measured=False)
    assert [a.records for a in job.attributes] == [(), ()]
    assert "attributes.csv" in examine(with_attributes(tmp_path / "m", records=None), measured=True).errors[0].found


@pytest.fixture(scope="module")
def result(tmp_path_factory):
    records = SOUND.replace("91,accept", "91,reject")
    return judge(load(with_attributes(tmp_path_factory.mktemp("attributes"), records)), draws=200)


def test_the_register_holds_them_in_the_order_of_the_file(result):
    assert [j.id for j in result.requirements] == ["1", "2", "3", "4", "5", "6", "90", "91", "7"]
    assert result.part.verdict == "reject"
    assert "recorded as rejected" in result.part.text
    about = next(i.text for i in result.interpretations if i.about == "attributes")
    assert about.startswith("90, 91: accepted or not as somebody recorded")
    assert "attributes.csv" in {source.file for source in result.inputs}


def test_every_form_shows_who_and_when(result):
    html, text = page(result).decode(), summary(result)
    rows = {row["id"]: row for row in csv.DictReader(io.StringIO(rows_csv(result).decode(), newline=""))}
    sheets = Sheets(result).data
    assert (rows["90"]["verdict"], rows["90"]["recorded_by"], rows["90"]["recorded_when"]) == (
        "accept", "the gauge bench", "2026-11-20",
    )  # fmt: skip
    assert (rows["2"]["recorded_by"], rows["90"]["value"], rows["90"]["unit"]) == ("", "", "1")
    for said in ("Recorded as accept by the gauge bench, 2026-11-20", "go gauge enters, no-go gauge does not"):
        assert said in html
        assert any(said in fact for block in sheets["compact"] for fact in block["facts"])
    assert "Recorded as reject by the painter, 2026-11-20 08:10" in html
    assert any("by the painter" in fact for block in sheets["full"] for fact in block["facts"])
    assert "91: Recorded as reject by the painter, 2026-11-20 08:10." in text
    assert "Recorded: 90 accept by the gauge bench, 2026-11-20." in text
    assert "uncertainty not stated" not in html[html.index('id="r-90"') : html.index('id="r-90"') + 2500]
