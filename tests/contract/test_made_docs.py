"""Documentation made from the code is what the code makes today; examples in it are sound."""

import importlib
import json
import sys
import tomllib
from pathlib import Path

import jsonschema
import pytest

from trysquare.jobs.loading.load import load
from trysquare.jobs.result import schema as schema_of_result

ROOT = Path(__file__).parents[2]
DOCS = ROOT / "docs"
FROZEN = ROOT / "tests" / "formats" / "job-1" / "job.toml"


def maker():
    if str(ROOT) not in sys.path:
        sys.path.insert(0, str(ROOT))
    return importlib.import_module("docs.make")


@pytest.mark.parametrize("name", ["job-file.md", "job.schema.json", "result.schema.json", "choice.schema.json"])
def test_the_committed_file_is_what_the_code_makes(name):
    assert (DOCS / name).read_text(encoding="utf-8") == maker().made()[name], "run: make docs"


def test_every_key_of_the_schema_is_in_the_reference():
    page = (DOCS / "job-file.md").read_text(encoding="utf-8")
    schema = json.loads((DOCS / "job.schema.json").read_text(encoding="utf-8"))
    for name, table in [("JobFile", schema), *schema["$defs"].items()]:
        for key in table["properties"]:
            assert any(mark in page for mark in (f"{key}`", f"[{key}", f".{key}]", f".{key}.")), f"{name}.{key}"


def test_every_key_says_what_it_is():
    schema = json.loads((DOCS / "job.schema.json").read_text(encoding="utf-8"))
    for name, table in [("JobFile", schema), *schema["$defs"].items()]:
        for key, node in table["properties"].items():
            assert node.get("description"), f"{name}.{key}"


def test_the_example_is_a_sound_job(tmp_path):
    (tmp_path / "job.toml").write_text((DOCS / "job-example.toml").read_text(encoding="utf-8"), encoding="utf-8")
    assert load(tmp_path, measured=False).warnings == ()


@pytest.mark.parametrize("file", [FROZEN, DOCS / "job-example.toml"], ids=["frozen", "example"])
def test_sound_jobs_agree_with_the_published_schema(file):
    schema = json.loads((DOCS / "job.schema.json").read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.validate(tomllib.loads(file.read_text(encoding="utf-8")), schema)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('units = "mm"', 'units = "cm"'),
        ("flatness = { zone = 0.05 }", "flatness = { zone = 0.05 }\nsize = { nominal = 1, upper = 1 }"),
        ("u_radius", "u_raduis"),
        ('A = "top"', 'a = "top"'),
    ],
)
def test_the_published_schema_refuses(old, new):
    """Negative twin."""
    schema = json.loads((DOCS / "job.schema.json").read_text(encoding="utf-8"))
    data = tomllib.loads(FROZEN.read_text(encoding="utf-8").replace(old, new))
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(data, schema)


def test_the_schema_of_results_is_that_of_the_document():
    published = json.loads((DOCS / "result.schema.json").read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator.check_schema(published)
    assert set(schema_of_result()["properties"]) == set(published["properties"])
