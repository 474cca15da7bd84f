"""Pydantic's errors as ours: file, line, place, rule, found, way out."""

import difflib
import json
from collections.abc import Iterable
from typing import Any, get_args, get_origin

from pydantic import BaseModel, ValidationError
from pydantic.fields import FieldInfo

from ...core.errors import FormatError
from .locate import Path as KeyPath
from .quantities import OWN
from .toml_file import Document, named

_TYPES = {
    "string_type": "be a text in quotes",
    "float_type": "be a number",
    "int_type": "be a whole number",
    "bool_type": "be true or false",
    "list_type": "be a list in square brackets",
    "dict_type": "be a table",
    "model_type": "be a table",
    "model_attributes_type": "be a table",
    "finite_number": "be finite",
}
_LIMITS = {
    "greater_than": ("above", "gt"),
    "greater_than_equal": ("at least", "ge"),
    "less_than": ("below", "lt"),
    "less_than_equal": ("at most", "le"),
}
_LENGTHS = {"too_short": ("at least", "min_length"), "too_long": ("at most", "max_length")}
_PATTERNS = {
    r"\S": "be a text that is not empty",
    "": 'be a name that does not begin with a space or # and has none of , ; " # / in it',
}


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The known word that looks most like `word`, if one does."""
    lower = {name.lower(): name for name in known}
    close = difflib.get_close_matches(word.lower(), list(lower), 1, cutoff=0.6)
    return lower[close[0]] if close else None


def hint(word: str, known: Iterable[str], otherwise: str) -> str:
    """ "Did you mean ...?", or what else to do."""
    close = nearest(word, known)
    return f'Did you mean "{close}"?' if close else otherwise


def shown(value: Any) -> str:
    """A value of the file, short enough for a message."""
    text = json.dumps(value, ensure_ascii=False, default=str)
    return text if len(text) <= 60 else text[:57] + "..."


def translate(error: ValidationError, model: type[BaseModel], document: Document) -> list[FormatError]:
    """All errors of one validation, in the order of their lines."""
    items: list[dict[str, Any]] = [dict(item) for item in error.errors(include_url=False)]
    misspelt = {_meant(tuple(item["loc"]), model) for item in items if item["type"] == "extra_forbidden"}
    kept = [item for item in items if item["type"] != "missing" or tuple(item["loc"]) not in misspelt]
    return sorted((_one(item, model, document) for item in kept), key=lambda item: item.line or 0)


def _meant(path: KeyPath, model: type[BaseModel]) -> KeyPath:
    """The path of the key that an unknown one was meant to be: it is then not missing besides."""
    owner, _ = _at(model, path)
    return (*path[:-1], nearest(str(path[-1]), _keys(owner)) or "") if owner else path


def _one(item: dict[str, Any], model: type[BaseModel], document: Document) -> FormatError:
    path: KeyPath = tuple(item["loc"])
    is_name = path[-1:] == ("[key]",)
    path = path[:-1] if is_name else path
    kind, context = item["type"], item.get("ctx", {})
    owner, field = _at(model, path)
    value = str(path[-1]) if is_name else document.raw(path)
    if kind == OWN:
        what = ", ".join(part for part in (named(document.data, path), context["what"]) if part)
        return document.error(path, context["rule"], context["found"] or shown(value), context["way_out"], what=what)
    if kind == "extra_forbidden":
        return _unknown_key(path, owner, model, document)
    if kind == "missing":
        way_out = f"Add: {path[-1]} = {_example(field)}"
        return document.error(path, f"be given{_source(field)}", "nothing", way_out)
    rule = _rule(kind, context, item["msg"]) + (_unit(field) if kind in _LIMITS else "")
    return document.error(path, rule, shown(value), _way_out(path, field))


def _rule(kind: str, context: dict[str, Any], message: str) -> str:
    if kind in _TYPES:
        return _TYPES[kind]
    if kind in _LIMITS:
        word, key = _LIMITS[kind]
        return f"be {word} {context[key]:g}"
    if kind in _LENGTHS:
        word, key = _LENGTHS[kind]
        return f"have {word} {context[key]} values"
    if kind == "literal_error":
        return f"be {context['expected'].replace(chr(39), chr(34))}"
    if kind == "string_pattern_mismatch":
        return _PATTERNS.get(context["pattern"], _PATTERNS[""])
    return message


def _source(field: FieldInfo | None) -> str:
    """What a needed key rests on where a standard of drawings asks for it."""
    extra = field.json_schema_extra if field is not None else None
    source = extra.get("x-source") if isinstance(extra, dict) else None
    return f" [{source}]" if source else ""


def _unit(field: FieldInfo | None) -> str:
    """The unit that limits of a quantity are in, with a space before it."""
    extra = field.json_schema_extra if field is not None else None
    words = extra.get("x-quantity", "") if isinstance(extra, dict) else ""
    unit = str(words).partition(", ")[2]
    return f" {unit}" if unit in ("degC", "K", "Pa", "%", "ppm") else ""


def _way_out(path: KeyPath, field: FieldInfo | None) -> str:
    keys = [key for key in path if isinstance(key, str)]
    example = _example(field)
    return f"Write it as in: {keys[-1]} = {example}" if example != "..." else "Correct it."


def _example(field: FieldInfo | None) -> str:
    examples = field.examples if field is not None else None
    return _toml(examples[0]) if examples else "..."


def _toml(value: Any) -> str:
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {_toml(item)}" for key, item in value.items()) + " }"
    return json.dumps(value, ensure_ascii=False)


def _unknown_key(
    path: KeyPath, owner: type[BaseModel] | None, root: type[BaseModel], document: Document
) -> FormatError:
    key = str(path[-1])
    known = _keys(owner) if owner else []
    table = named(document.data, path[:-1])
    where = f"a key of {table}" if table else "a key of the file"
    otherwise = "Drop it, or see docs/job-file.md."
    if len(path) > 1 and key in _keys(root):
        otherwise = f"A key below a [table] belongs to that table: move {key} above the first [table]."
        return document.error(path, f"be one of {', '.join(known)}", f'"{key}"', otherwise, what=where)
    return document.error(path, f"be one of {', '.join(known)}", f'"{key}"', hint(key, known, otherwise), what=where)


def _keys(model: type[BaseModel]) -> list[str]:
    return [field.alias or name for name, field in model.model_fields.items()]


def _at(root: type[BaseModel], path: KeyPath) -> tuple[type[BaseModel] | None, FieldInfo | None]:
    """The model that owns the last key of `path`, and the field of that key (or of the list it lies in)."""
    current: Any = root
    owner: type[BaseModel] | None = None
    field: FieldInfo | None = None
    for key in path:
        if isinstance(current, type) and issubclass(current, BaseModel):
            owner, field = current, _field(current, str(key))
            current = _inner(field.annotation) if field is not None else None
        else:  # a name in a dict or a place in a list
            current = _inner(get_args(current)[-1]) if get_args(current) else None
    return owner, field


def _field(model: type[BaseModel], key: str) -> FieldInfo | None:
    return next((field for name, field in model.model_fields.items() if key == (field.alias or name)), None)


def _inner(annotation: Any) -> Any:
    """An annotation without `Annotated` and without `None`."""
    if hasattr(annotation, "__metadata__"):
        return _inner(get_args(annotation)[0])
    arguments = get_args(annotation)
    if type(None) in arguments:
        return _inner(next(a for a in arguments if a is not type(None)))
    return annotation if get_origin(annotation) or isinstance(annotation, type) else None
