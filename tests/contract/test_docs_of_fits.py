"""The pages on shapes and methods: links lead somewhere, pictures are there, examples run, the table is the code's."""

import importlib.util
import re
import shlex
from pathlib import Path

import numpy as np
import pytest

from trysquare.cli.main import main
from trysquare.geometry.association import WAYS

DOCS = Path(__file__).parents[2] / "docs"
SHAPES = DOCS / "methods" / "shapes"
METHODS = ("geometry", "least-squares", "zones", "profile", "filters")
PAGES = [DOCS / "fit.md", *(DOCS / "methods" / f"{n}.md" for n in METHODS), *sorted(SHAPES.glob("*.md"))]


def drawer():
    spec = importlib.util.spec_from_file_location("draw_fits", DOCS / "draw_fits.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


DRAW = drawer()


def anchors(page: Path) -> set[str]:
    """Anchors of the headings, as hosts of repositories make them."""
    heads = re.findall(r"^#+ (.+)$", page.read_text(encoding="utf-8"), re.M)
    return {re.sub(r"[^\w\- ]", "", head.lower()).replace(" ", "-") for head in heads}


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.stem)
def test_links_and_pictures_lead_somewhere(page: Path) -> None:
    text = page.read_text(encoding="utf-8")
    for target in re.findall(r"\]\(([^)\s]+)\)", text):
        file, _, anchor = target.partition("#")
        there = (page.parent / file).resolve() if file else page
        assert there.exists(), target
        assert not anchor or anchor in anchors(there), target


def test_every_shape_has_its_page_and_every_pair_its_picture() -> None:
    assert {page.stem for page in SHAPES.glob("*.md")} == set(WAYS)
    for shape, method, dims in DRAW.wanted():
        assert DRAW.name(shape, method, dims) in (SHAPES / f"{shape}.md").read_text(encoding="utf-8")
    for picture in (DOCS / "pictures").glob("fit-*.svg"):
        assert any(picture.name in page.read_text(encoding="utf-8") for page in PAGES), picture.name


def test_the_page_of_the_command_has_the_table_of_the_code() -> None:
    rows = re.findall(r"^\| \[(\w+)\]\(methods/shapes/\w+\.md\) \|(.+)\|$", (DOCS / "fit.md").read_text(), re.M)
    heads = ("least-squares", "minimum-zone", "largest-inscribed", "smallest-circumscribed", "one-sided")
    told = {
        shape: {m for m, cell in zip(heads, cells.split("|"), strict=True) if "yes" in cell} for shape, cells in rows
    }
    assert told == {shape: set(methods) for shape, methods in WAYS.items()}


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.stem)
def test_examples_run(page: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys) -> None:
    """Every line that begins with `trysquare fit`, and every block of Python, on the points of the pictures."""
    monkeypatch.chdir(tmp_path)
    text = page.read_text(encoding="utf-8")
    for line in re.findall(r"^trysquare fit .+$", text, re.M):
        words = shlex.split(line)[1:]
        shape, flat = words[words.index("--shape") + 1], "--within" in line or ":15upr" in line
        points = DRAW.points(shape, 2 if flat else 3, 360)
        np.savetxt(words[1], points, delimiter=",", header="x,y,z"[: 2 * points.shape[1] - 1], comments="")
        assert main(words) == 0, capsys.readouterr().err
    for block in re.findall(r"```python\n(.+?)```", text, re.S):
        shape = page.stem if page.stem in WAYS else "circle" if "circle" in block else "cylinder"
        space = {"points_mm": DRAW.points(shape, 2 if "upr" in block else 3, 360), "edge_mm": DRAW.points("line", 2)}
        exec(block, space)


def test_the_check_of_links_can_fail(tmp_path: Path) -> None:
    """Negative twin."""
    page = tmp_path / "page.md"
    page.write_text("# One\n[two](#two) [three](three.md)\n")
    assert "two" not in anchors(page)
    with pytest.raises(AssertionError):
        test_links_and_pictures_lead_somewhere(page)
