"""The reference of the job folder, docs/job-file.md, from the tables of its schema."""

import json
from typing import Any

from docs import job_texts as texts

#: Heading, name of its table in the schema, what is said below the heading. Tables not named here are shown inline.
SECTIONS = (
    ("The top of the file", "JobFile", "These keys stand before the first `[table]`."),
    ("`general`, `[general]`", "GeneralTable", ""),
    ("`[part]`", "Part", ""),
    ("`[[part.zone]]`", "Zone", ""),
    ("`[place]`", "Place", ""),
    ("`[place.air]`", "Air", "The same table may stand at a station: `[station.air]` below `[[station]]`."),
    ("`[decision]`", "Decision", ""),
    ("`[decision.prior]`, `[requirement.prior]`", "Prior", ""),
    ("`[target.NAME]`", "Target", ""),
    ("`[nest.NAME]`", "Nest", ""),
    ("`[instrument.NAME]`", "Instrument", "INSTRUMENT"),
    (
        "`[instrument.NAME.source.FIGURE]`",
        "Figure",
        "An unknown figure is refused with the list of those of the class.",
    ),
    ("`[feature.NAME]`", "Feature", ""),
    ("`[datum]`", "", "DATUM"),
    ("`[association]`", "", "ASSOCIATION"),
    ("`[[requirement]]`", "Requirement", "REQUIREMENT"),
    ("`[[attribute]]`", "Attribute", ""),
    ("`[[station]]`", "Station", ""),
    ("`[[hand]]`", "Hand", ""),
    ("`[[recorded]]`", "Recorded", ""),
)

_OWN = {name for _, name, _ in SECTIONS if name}


def job_page(schema: dict[str, Any]) -> str:
    """The reference of the job folder."""
    tables = {"JobFile": schema, **schema["$defs"]}
    parts = [texts.head(), *(_section(heading, name, said, tables) for heading, name, said in SECTIONS)]
    return "\n".join([*parts, texts.readings(), texts.catalogue(), texts.materials(), texts.checked()])


def _section(heading: str, name: str, said: str, tables: dict[str, Any]) -> str:
    table = tables.get(name, {})
    lines = [f"## {heading}", ""]
    if name != "JobFile" and "description" in table:
        lines += [table["description"], ""]
    named = {"INSTRUMENT": texts.instrument(), "REQUIREMENT": texts.requirement(), "DATUM": texts.DATUM}
    named["ASSOCIATION"] = texts.association()
    if said:
        lines += [named.get(said, said), ""]
    if not table:
        return "\n".join(lines)
    lines += ["| key | what | value | default | as in |", "| --- | --- | --- | --- | --- |"]
    return "\n".join([*lines, *_rows(table, "", tables)]) + "\n"


def _rows(table: dict[str, Any], prefix: str, tables: dict[str, Any]) -> list[str]:
    rows = []
    for key, node in table["properties"].items():
        inner = node.get("$ref", "").rpartition("/")[2]
        if inner in _OWN or _points_to_own(node) or key in ("datum", "association"):
            continue
        needed = key in table.get("required", ())
        default = "*needed*" if needed else _code(node["default"]) if "default" in node else ""
        if inner:
            default = "*needed*" if needed else ""
        example = _code(node["examples"][0]) if node.get("examples") else ""
        value = "table" if inner else _value(node)
        rows.append(f"| `{prefix}{key}` | {node.get('description', '')} | {value} | {default} | {example} |")
        if inner:
            rows += _rows(tables[inner], f"{prefix}{key}.", tables)
    return rows


def _points_to_own(node: dict[str, Any]) -> bool:
    """Lists and dicts of tables with a section of their own."""
    inside = [node.get("items", {}), *node.get("patternProperties", {}).values(), *node.get("anyOf", ())]
    return any(item.get("$ref", "").rpartition("/")[2] in _OWN for item in inside if isinstance(item, dict))


def _value(node: dict[str, Any]) -> str:
    if "x-quantity" in node:
        return str(node["x-quantity"])
    if "enum" in node:
        return " or ".join(_code(item) for item in node["enum"])
    if "const" in node:
        return _code(node["const"])
    if node.get("type") == "array":
        return _list(node)
    if "anyOf" in node:
        return " or ".join(_value(item) for item in node["anyOf"])
    limits = [f"{sign} {node[key]}" for key, sign in _LIMITS.items() if key in node and abs(node[key]) < 1e15]
    word = {"string": "text", "integer": "whole number", "boolean": "true or false", "object": "table"}
    return " ".join([word.get(node.get("type", ""), node.get("type", "")), ", ".join(limits)]).strip()


_LIMITS = {"exclusiveMinimum": ">", "minimum": ">=", "exclusiveMaximum": "<", "maximum": "<="}


def _list(node: dict[str, Any]) -> str:
    least, most = node.get("minItems"), node.get("maxItems")
    item = _value(node["items"])
    several = item.replace("length", "lengths") if "length" in item else f"{item}s"
    if least and most:
        return f"list of {least}{'' if least == most else f' to {most}'} {several}"
    return f"list of {several}"


def _code(value: Any) -> str:
    return f"`{_toml(value)}`"


def _toml(value: Any) -> str:
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {_toml(item)}" for key, item in value.items()) + " }" if value else "{}"
    if isinstance(value, list):
        return "[" + ", ".join(_toml(item) for item in value) + "]"
    return json.dumps(value, ensure_ascii=False)
