"""The register in every form of the report, and the state that the drawing demands against the one measured in.

Expected values: as the test writes them into the job (analytic); texts are frozen behaviour. That a drawing holds in
the free state unless it says otherwise is ISO 8015 and ASME Y14.5 (from memory).
"""

import csv
import io
from dataclasses import replace

import pytest
from job_folder import job_with

from trysquare.jobs.interpret import interpretations
from trysquare.jobs.judge import judge
from trysquare.jobs.loading.load import load
from trysquare.report.html import page
from trysquare.report.register import lines
from trysquare.report.sheets import Sheets
from trysquare.report.table import rows_csv
from trysquare.report.terminal import summary

TOML = "job.toml"
BORE = (TOML, 'sheet = "1"\ngrid = "B3"\n', 'sheet = "1"\ngrid = "B3"\nrevision = "A"\nkey = true\n')
HELD = (TOML, 'serial = "0003"\n', 'serial = "0003"\nstate = "restrained"\nsupports = "three pads, two clamps"\n')


def demanding(id_, state):
    return (TOML, f'id = "{id_}"\n', f'id = "{id_}"\nstate = "{state}"\n')


@pytest.fixture(scope="module")
def result(tmp_path_factory):
    """Measured free; 5 is demanded restrained, 4 free."""
    folder = job_with(tmp_path_factory.mktemp("register"), BORE, demanding("5", "restrained"), demanding("4", "free"))
    return judge(load(folder), draws=200)


def judged(result, id_):
    return next(j for j in result.requirements if j.id == id_)


def test_the_document_holds_the_register(result):
    bore = judged(result, "2")
    assert (bore.sheet, bore.grid, bore.revision, bore.critical, bore.key, bore.state) == (
        "1", "B3", "A", True, True, None,
    )  # fmt: skip
    assert (judged(result, "3").revision, judged(result, "3").key) == (None, False)


def test_every_form_of_the_report_prints_it(result):
    html, text, data = page(result).decode(), summary(result), Sheets(result).data
    rows = {row["id"]: row for row in csv.DictReader(io.StringIO(rows_csv(result).decode(), newline=""))}
    said = "Sheet 1, B3, revision A; critical, key; measured by"
    assert said in html
    assert "<small>critical, key</small>" in html
    assert any(said in block["source"] for block in (*data["full"], *data["compact"]))
    assert {row["id"]: row["marks"] for row in data["rows"]}["2"] == "critical, key"
    assert "2: sheet 1, B3, revision A, critical, key" in " ".join(text.split())
    columns = ("sheet", "grid", "revision", "critical", "key", "state")
    assert tuple(rows["2"][c] for c in columns) == ("1", "B3", "A", "yes", "yes", "")
    assert tuple(rows["3"][c] for c in columns) == ("", "", "", "", "", "")
    assert rows["5"]["state"] == "restrained"


def test_equal_words_are_said_once_and_nothing_where_there_is_nothing(result):
    bore, plain = judged(result, "2"), judged(result, "3")
    other = bore.model_copy(update={"id": "9"})
    assert lines([bore, plain, other]) == ["On the drawing: 2, 9: sheet 1, B3, revision A, critical, key."]
    assert lines([plain]) == []


def test_a_state_that_was_not_measured_is_undecided_and_keeps_its_value(result):
    top = judged(result, "5")
    assert (top.verdict, top.interval, top.risk, top.belief) == ("undecided", None, None, None)
    assert top.value is not None
    assert top.reason == (
        "cannot be stated: the drawing demands it restrained and the part was measured in the free state. "
        "Measure it restrained."
    )
    assert "the value is that of the free part" in top.notes
    assert result.part.joint_risk is None


def test_the_state_that_was_measured_is_judged_as_ever(result, tmp_path):
    """Negative twin: nothing demanded, or what was measured."""
    plain = judge(load(job_with(tmp_path)), draws=200)
    assert judged(plain, "5").interval is not None
    same, demanded = judged(plain, "4"), judged(result, "4")
    assert demanded.state == "free"
    assert demanded.model_dump(exclude={"state"}) == same.model_dump(exclude={"state"})


def test_what_was_not_measured_at_all_says_that(tmp_path):
    folder = job_with(tmp_path, demanding("2", "restrained"))
    job = load(folder)
    hole = replace(job.requirements[1], on=("right",), characteristic="flatness", lower=0.0, upper=0.1, nominal=None)
    found = judge(replace(job, requirements=(hole, *job.requirements[2:]), hand=()), draws=200)
    assert judged(found, "2").reason == 'not measured: no reading on feature "right"'


def test_a_held_part_and_a_drawing_that_says_nothing_is_printed(tmp_path):
    job = load(job_with(tmp_path, HELD, demanding("1", "free"), demanding("4", "restrained")), measured=False)
    said = {}
    for one in interpretations(job, ()):
        said[one.about] = f"{said.get(one.about, '')} {one.text}".strip()
    silent = said["state of the part"]
    assert "of none of 2, 3, 5, 6, 7 the drawing says in which state: by ISO 8015:2011" in silent
    assert "it then holds in the free state, unless the drawing cites ISO 10579-NR" in silent
    assert "demanded in the free state" in said["requirement 1"]
    assert "the part was held by three pads, two clamps; whether" in said["requirement 4"]
    assert "state" not in said["requirement 6"]


def test_a_free_part_says_nothing_of_silent_requirements(tmp_path):
    job = load(job_with(tmp_path), measured=False)
    (said,) = [one.text for one in interpretations(job, ()) if one.about == "state of the part"]
    assert "says in which state" not in said


def test_an_unknown_state_is_refused(tmp_path):
    with pytest.raises(Exception, match='be "free" or "restrained"'):
        load(job_with(tmp_path, demanding("1", "clamped")))
