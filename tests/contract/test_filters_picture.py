"""The picture of docs/methods/filters.md is what the filters draw today."""

import importlib.util
from pathlib import Path

DOCS = Path(__file__).parents[2] / "docs"


def test_the_committed_picture_is_what_the_code_draws():
    spec = importlib.util.spec_from_file_location("docs_draw_filters", DOCS / "draw_filters.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    assert module.PICTURE.read_text(encoding="utf-8") == module.made(), "run: python -m docs.draw_filters"
