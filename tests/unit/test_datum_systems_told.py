"""Who fixes which freedom is told: in the result document, in the page, with each requirement."""

from shaft_job import shaft_job

from trysquare.jobs.judge import judge
from trysquare.jobs.loading.load import load
from trysquare.report.detail import note_lines
from trysquare.report.html import page

EDITS = (('datums = ["A-B"]', 'datums = ["A-B", "C"]'),)


def test_the_six_freedoms_are_shared_out_in_document_and_page(tmp_path):
    result = judge(load(shaft_job(tmp_path, {}, *EDITS)), draws=200)
    system = result.model_dump()["datum_systems"][0]
    assert [(d["datum"], d["fixes"]) for d in system["datums"]] == [
        ("A-B", ["along x", "along y", "about x", "about y"]), ("C", ["along z"]),
    ]  # fmt: skip
    assert system["open"] == ["about z"]
    said = "A-B fixes along x, along y, about x, about y; C fixes along z; about z stays open"
    assert f"Datums: {said}." in note_lines(result.requirements[0], result)
    assert page(result).decode().count(said) == 2  # with the requirement, and among the readings of the drawing
