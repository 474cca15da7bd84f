"""Write the parts of the documentation that are made from the code: `python -m docs.make`.

job-file.md and job.schema.json come from the tables of `trysquare.jobs.loading.schema`, result.schema.json and
choice.schema.json from the documents of judging and choosing. A test compares them with what is committed.
"""

import json
from pathlib import Path
from typing import Any

from docs.job_page import job_page

from trysquare.choose import result as choice
from trysquare.jobs import result
from trysquare.jobs.loading.schema import FORMAT, JobFile

HERE = Path(__file__).parent

_DRAFT = "https://json-schema.org/draft/2020-12/schema"


def job_schema() -> dict[str, Any]:
    """JSON Schema of job.toml, read as JSON. TOML has no null, so neither has the schema."""
    schema = _plain(JobFile.model_json_schema())
    return {"$schema": _DRAFT, "$id": FORMAT} | schema


def result_schema() -> dict[str, Any]:
    """JSON Schema of the result document."""
    return {"$schema": _DRAFT, "$id": result.FORMAT} | result.schema()


def choice_schema() -> dict[str, Any]:
    """JSON Schema of the document that `choose` gives."""
    return {"$schema": _DRAFT, "$id": choice.FORMAT} | choice.schema()


def _plain(node: Any) -> Any:
    """The schema without null, without titles, with no name but those of the pattern."""
    if isinstance(node, list):
        return [_plain(item) for item in node]
    if not isinstance(node, dict):
        return node
    node = {key: value for key, value in node.items() if not (key == "title" and isinstance(value, str))}
    node = {key: value for key, value in node.items() if value is not None}
    some = [item for item in node.get("anyOf", ()) if item != {"type": "null"}]
    if len(some) > 1:
        node["anyOf"] = some
    elif some:
        node = {**some[0], **{key: value for key, value in node.items() if key != "anyOf"}}
    if "patternProperties" in node:
        node["additionalProperties"] = False
    return {key: _plain(value) for key, value in node.items()}


def made() -> dict[str, str]:
    """Every made file by name, with its text."""
    return {
        "job-file.md": job_page(job_schema()),
        "job.schema.json": json.dumps(job_schema(), indent=1, ensure_ascii=False) + "\n",
        "result.schema.json": json.dumps(result_schema(), indent=1, ensure_ascii=False) + "\n",
        "choice.schema.json": json.dumps(choice_schema(), indent=1, ensure_ascii=False) + "\n",
    }


if __name__ == "__main__":
    for name, text in made().items():
        (HERE / name).write_text(text, encoding="utf-8")
        print(f"docs/{name}")
