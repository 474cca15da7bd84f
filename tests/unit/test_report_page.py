"""The page: offline, whole, the same every time, reachable by keyboard and by ear."""

import re
import shutil
import subprocess
from html import unescape
from html.parser import HTMLParser
from pathlib import Path

import pytest
from report_sample import sample

from trysquare.report.html import anchor, page

RESULT = sample()
TEXT = page(RESULT).decode()
_VOID = {"meta", "input", "br", "path", "rect", "circle", "stop", "use"}


class Tree(HTMLParser):
    """Names, identifiers and the balance of tags."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[str] = []
        self.ids: list[str] = []
        self.hrefs: list[str] = []
        self.faults: list[str] = []
        self.unlabelled = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        named = dict(attrs)
        if named.get("id"):
            self.ids.append(str(named["id"]))
        if "href" in named:
            self.hrefs.append(str(named["href"]))
        self.unlabelled += tag == "svg" and not (named.get("aria-label") or named.get("aria-hidden"))
        if tag not in _VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        if tag not in _VOID and (not self.open or self.open.pop() != tag):
            self.faults.append(tag)


@pytest.fixture(scope="module")
def tree() -> Tree:
    found = Tree()
    found.feed(TEXT)
    return found


def test_nothing_is_fetched() -> None:
    assert re.findall(r"(?:https?:)?//[a-z]", re.sub(r"base64,[^)]*", "", TEXT)) == []
    assert "default-src 'none'" in TEXT
    assert "@import" not in TEXT
    assert re.findall(r"url\((?!data:|#)", TEXT) == []


def test_the_same_result_gives_the_same_bytes() -> None:
    assert page(sample()) == page(RESULT)


def test_another_result_gives_other_bytes() -> None:
    assert page(RESULT.model_copy(update={"seed": 13})) != page(RESULT)


def test_forty_requirements_stay_under_two_megabytes() -> None:
    assert len(TEXT.encode()) < 2_000_000


def test_tags_are_balanced_and_names_unique(tree: Tree) -> None:
    assert tree.faults == []
    assert tree.open == []
    assert len(tree.ids) == len(set(tree.ids))
    assert {h[1:] for h in tree.hrefs} <= set(tree.ids)


def test_every_drawing_is_labelled_or_hidden_from_ears(tree: Tree) -> None:
    assert tree.unlabelled == 0


@pytest.mark.parametrize("j", RESULT.requirements, ids=lambda j: j.id)
def test_every_requirement_has_its_row_and_detail(j) -> None:  # type: ignore[no-untyped-def]
    row = re.search(rf'<details class="req {j.verdict}[^"]*" id="{anchor(j)}".*?</details>', TEXT, flags=re.S)
    assert row is not None
    assert '<div class="detail">' in row[0]
    assert row[0].count('<svg class="strip"') == 2
    for note in j.notes:
        assert note in unescape(row[0])


def test_interpretations_warnings_inputs_and_versions_are_all_there() -> None:
    for piece in ("ISO 14405-1", "Air pressure was not measured", "station-2.csv", RESULT.inputs[2].sha256, "seed 12",
                  "numpy 2.4.6", "ISO 8015:2011", "chi-square 31.2", "the welding engineer"):  # fmt: skip
        assert piece in TEXT
    assert "How it was read: ISO 5458" in TEXT  # beside requirement 36 too


def test_words_of_the_job_are_text_and_never_markup() -> None:
    bad = RESULT.requirements[0].model_copy(
        update={"id": '"><i x', "name": "<script>alert(1)</script>", "notes": ["a < b & c"]}
    )
    text = page(RESULT.model_copy(update={"requirements": [bad], "title": "</title><b>"})).decode()
    assert "<script>alert" not in text
    assert "</title><b>" not in text
    assert "A &lt; b &amp; c" in text
    found = Tree()
    found.feed(text)
    assert (found.faults, found.open) == ([], [])


def test_a_result_without_floor_or_requirements_is_a_page() -> None:
    bare = RESULT.model_copy(update={"requirements": [], "floor": None, "tie": None, "warnings": [], "inputs": []})
    assert b"Measurement report" in page(bare)


_KEYS = """
<pre id="log"></pre><script>
(function () {
  function key(k) {
    var event = new KeyboardEvent("keydown", {key: k, bubbles: true, cancelable: true});
    (document.activeElement || document.body).dispatchEvent(event);
  }
  function at() {
    var d = document.activeElement.closest("details");
    return d ? d.id + (d.open ? "+" : "") : document.activeElement.id || "-";
  }
  var log = [], field = document.getElementById("filter");
  function note(k) { key(k); log.push(k + "=" + at()); }
  ["ArrowDown", "ArrowDown", "ArrowUp", "n", "n", "/"].forEach(note);
  field.value = "dowel-3 HOLE"; field.dispatchEvent(new Event("input"));
  log.push("shown=" + document.querySelectorAll("details.req:not([hidden])").length);
  note("Enter"); document.activeElement.click(); log.push("click=" + at()); note("Escape");
  field.focus(); note("Escape");
  log.push("all=" + document.querySelectorAll("details.req:not([hidden])").length);
  field.value = "nothing like it"; field.dispatchEvent(new Event("input"));
  log.push("none=" + !document.getElementById("none").hidden);
  document.getElementById("log").textContent = log.join(" ");
})();
</script></body>"""


def test_keys_move_open_return_and_filter(tmp_path: Path) -> None:
    browser = shutil.which("chromium") or shutil.which("chromium-browser")
    if browser is None:
        pytest.skip("no chromium on this machine: keys not tried")
    file = tmp_path / "report.html"
    file.write_text(TEXT.replace("</body>", _KEYS), encoding="utf-8")
    options = ["--headless", "--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking",
               f"--user-data-dir={tmp_path / 'profile'}", "--dump-dom"]  # fmt: skip
    done = subprocess.run([browser, *options, file.as_uri()], capture_output=True, text=True, timeout=120, check=False)
    log = re.search(r'<pre id="log">([^<]+)</pre>', done.stdout)
    assert log is not None, done.stderr[-500:]
    assert log[1].split() == [
        "ArrowDown=r-80", "ArrowDown=r-50", "ArrowUp=r-80", "n=r-93", "n=r-94", "/=filter", "shown=1", "Enter=r-36",
        "click=r-36+", "Escape=r-36", "Escape=filter", "all=40", "none=true",
    ]  # fmt: skip
