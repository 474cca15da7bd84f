"""Pages on sizes and constructions: pictures are what the code draws, the example runs, every function is named."""

import importlib.util
import re
from pathlib import Path

import numpy as np
import pytest

import trysquare.geometry as geometry

DOCS = Path(__file__).parents[2] / "docs"


@pytest.mark.parametrize("name", ["sizes", "constructions"])
def test_the_committed_picture_is_what_the_code_draws(name):
    spec = importlib.util.spec_from_file_location(f"draw_{name}", DOCS / f"draw_{name}.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    assert (DOCS / "pictures" / f"{name}.svg").read_text(encoding="utf-8") == module.made()


def test_the_example_runs():
    page = (DOCS / "methods" / "constructions.md").read_text(encoding="utf-8")
    code = re.search(r"```python\n(.*?)```", page, re.S)[1]
    x, y = (g.ravel() for g in np.meshgrid([0, 20, 40.0], [0, 20, 40.0]))
    given = {"floor_mm": np.column_stack([x, y, 0 * x]), "wall_mm": np.column_stack([0 * x, x, y])}
    exec(code, given)
    assert given["covariance"].shape == (6, 6)


@pytest.mark.parametrize("name", ["sizes", "constructions"])
def test_functions_on_the_page_exist(name):
    page = (DOCS / "methods" / f"{name}.md").read_text(encoding="utf-8")
    page = re.sub(r"```.*?```", "", page, flags=re.S)
    fields = {"reason", "reasons", "gap_mm", "direction", "definition", "sine", "take", "least_sine", "seen_along"}
    called = set(re.findall(r"`([a-z_]{6,})`", page)) - fields
    assert len(called) > 10
    assert {word for word in called if not hasattr(geometry, word)} == set()
