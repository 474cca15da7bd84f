"""PDF, CSV, terminal summary, and how all of them are written."""

import csv
import io
import json
import re
import sys
from pathlib import Path

import pytest
from report_sample import sample

from trysquare.core.errors import MissingExtraError, StoreError
from trysquare.jobs.result import Result
from trysquare.report import document, rows_csv, summary, write_all
from trysquare.report.sheets import Sheets, breakable, date_of
from trysquare.report.terminal import ASCII, columns, knows_unicode, plain_letters, text_strip

RESULT = sample()


@pytest.fixture(scope="module")
def pdf() -> bytes:
    pytest.importorskip("typst", reason="the extra pdf is not installed")
    return document(RESULT)


def pages(pdf: bytes) -> int:
    return len(re.findall(rb"/Type\s*/Page\b(?!s)", pdf))


def test_the_pdf_has_its_pages(pdf: bytes) -> None:
    assert pdf.startswith(b"%PDF-1.")
    # 1 list, 10 for the rejected and undecided (two without pictures share one), 10 for 29 accepted, 1 at the end
    assert pages(pdf) == 22


def test_the_pdf_is_the_same_every_time_tagged_and_archival(pdf: bytes) -> None:
    assert document(sample()) == pdf
    assert b"/StructTreeRoot" in pdf
    assert b"<pdfaid:part>2</pdfaid:part>" in pdf.replace(b" ", b"")
    assert b"<pdfuaid:part>1</pdfuaid:part>" in pdf.replace(b" ", b"")


def test_without_a_date_of_measurement_no_date_is_made_up(pdf: bytes) -> None:
    undated = document(RESULT.model_copy(update={"measured": "in March"}))
    assert b"CreationDate" in pdf
    assert b"CreationDate" not in undated
    assert undated.startswith(b"%PDF")


def test_letters_that_the_typefaces_lack_are_not_lost() -> None:
    pytest.importorskip("typst", reason="the extra pdf is not installed")
    odd = RESULT.model_copy(update={"title": "Pump \u6cf5 \U000107c0", "requirements": RESULT.requirements[:1]})
    assert document(odd).startswith(b"%PDF")


def test_without_the_typesetter_the_way_out_is_named(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setitem(sys.modules, "typst", None)
    with pytest.raises(MissingExtraError, match=r'its source: python -m pip install "\.\[pdf\]"'):
        write_all(RESULT, tmp_path / "out")
    assert not (tmp_path / "out").exists()  # nothing half written
    assert [p.name for p in write_all(RESULT, tmp_path, pdf=False)] == [
        "result.json",
        "requirements.csv",
        "report.html",
    ]


def test_every_requirement_has_its_evidence_in_the_sheets() -> None:
    data = Sheets(RESULT).data
    assert {r["id"] for r in data["rows"]} == {j.id for j in RESULT.requirements}
    assert sorted(r["id"] for r in data["full"] + data["compact"]) == sorted(j.id for j in RESULT.requirements)
    assert {r["id"] for r in data["compact"]} == {j.id for j in RESULT.requirements if j.verdict == "accept"}


def test_every_picture_is_there_with_an_alternative_text() -> None:
    sheets = Sheets(RESULT)

    def pictures(value: object) -> list[dict[str, str]]:
        if isinstance(value, dict):
            own = [value] if "file" in value and "alt" in value else []
            return own + [p for v in value.values() for p in pictures(v)]
        return [p for v in value for p in pictures(v)] if isinstance(value, list) else []

    found = pictures(sheets.data)
    assert {p["file"] for p in found} == set(sheets.files)
    assert all(p["alt"].strip() for p in found)
    assert all(b"var(" not in svg for svg in sheets.files.values())


@pytest.mark.parametrize(
    ("measured", "date"),
    [("2026-11-20, 06:40 to 08:25", (2026, 11, 20)), ("12 March", None), (None, None), ("2026-02-30", None),
     ("2024-02-29", (2024, 2, 29)), ("2023-02-29", None), ("2026-13-01", None)],
)  # fmt: skip
def test_the_date_of_a_document(measured: str | None, date: tuple[int, int, int] | None) -> None:
    assert date_of(measured) == date


def test_long_words_may_break_and_stay_the_same_words() -> None:
    assert breakable("Supercalifragilisticexpialidocious bore", 20).replace("\u200b", "") == (
        "Supercalifragilisticexpialidocious bore"
    )
    assert "\u200b" in breakable("Supercalifragilisticexpialidocious", 20)
    assert breakable("Bearing bore", 20) == "Bearing bore"


def test_the_table_reads_back() -> None:
    data = rows_csv(RESULT)
    rows = list(csv.DictReader(io.StringIO(data.decode(), newline="")))
    assert list(rows[0]) == [
        "id", "name", "characteristic", "unit", "nominal", "lower", "upper", "value", "U", "interval_low",
        "interval_high", "verdict", "risk", "reason", "code", "recorded_by", "recorded_when",
        "sheet", "grid", "revision", "critical", "key", "state",
    ]  # fmt: skip
    assert data.count(b"\r\n") == 41
    for row, j in zip(rows, RESULT.requirements, strict=True):
        assert (row["id"], row["name"], row["verdict"], row["unit"]) == (j.id, j.name, j.verdict, j.unit)
        assert (float(row["value"]) if row["value"] else None) == j.value  # to the last digit
        assert (float(row["interval_high"]) if row["interval_high"] else None) == (
            j.interval[1] if j.interval else None
        )
    assert rows[-2]["reason"] == "No reading lands on this requirement."


def test_a_name_is_never_a_formula() -> None:
    bad = RESULT.requirements[0].model_copy(update={"name": '=HYPERLINK("x")', "reason": "a, b\nc"})
    rows = list(
        csv.reader(io.StringIO(rows_csv(RESULT.model_copy(update={"requirements": [bad]})).decode(), newline=""))
    )
    assert rows[1][1] == '\'=HYPERLINK("x")'
    assert rows[1][13] == "a, b\nc"


@pytest.mark.parametrize("unicode", [True, False])
def test_the_summary_fits_eighty_columns(unicode: bool) -> None:
    text = summary(RESULT, unicode=unicode)
    assert max(columns(line) for line in text.splitlines()) <= 80
    assert text.isascii() != unicode
    assert "\x1b" not in text
    for piece in ("Reject: 3 of 40", "Volute", "and 28 more, all accepted", "To decide 91, 36, 71", "No reading lands"):
        assert piece in text


def test_colour_only_when_asked_for_and_never_for_accepted() -> None:
    text = summary(RESULT, colour=True)
    assert text.count("\x1b[31mReject\x1b[0m") == 3
    assert "\x1b" not in next(line for line in text.splitlines() if "Accept" in line)


def test_files_are_named_and_warnings_repeated() -> None:
    text = summary(RESULT, files=[Path("out/report.pdf")])
    assert "out/report.pdf" in text
    assert "Note: Air pressure was not measured" in text


def test_text_strips_share_their_posts() -> None:
    for j in RESULT.requirements:
        strip = text_strip(j, RESULT.belief_at, ASCII)
        assert len(strip) == 25
        assert (strip[5] in "|#") == (j.lower is not None)
        assert (strip[19] == "|") == (j.upper is not None)


def test_wide_letters_keep_the_columns() -> None:
    wide = RESULT.requirements[0].model_copy(update={"name": "\u6cf5\u4f53\u6cd5\u5170\u5e73\u9762\u5ea6" * 3})
    lines = summary(RESULT.model_copy(update={"requirements": [wide, RESULT.requirements[1]]})).splitlines()
    rows = [line for line in lines if "Accept" in line]
    assert len({columns(line.split("Accept")[0]) for line in rows}) == 1


@pytest.mark.parametrize(("encoding", "knows"), [("utf-8", True), ("ascii", False), ("latin-1", False), (None, False)])
def test_which_terminals_know_the_strips(encoding: str | None, knows: bool) -> None:
    assert knows_unicode(encoding) == knows


def test_plain_letters() -> None:
    assert plain_letters("Ø 0.4 ± 0.08 → Größe é 泵") == "dia  0.4 +/- 0.08 -> Grosse e ?"


def test_all_files_are_written_whole(tmp_path: Path) -> None:
    pytest.importorskip("typst", reason="the extra pdf is not installed")
    paths = write_all(RESULT, tmp_path / "out")
    assert [p.name for p in paths] == ["result.json", "requirements.csv", "report.html", "report.pdf"]
    assert Result.model_validate(json.loads(paths[0].read_text(encoding="utf-8"))) == RESULT
    assert sorted(p.name for p in (tmp_path / "out").iterdir()) == sorted(p.name for p in paths)


def test_a_folder_that_cannot_be_written(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("not a folder", encoding="utf-8")
    with pytest.raises(StoreError):
        write_all(RESULT, tmp_path / "file" / "out", pdf=False)
