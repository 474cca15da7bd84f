"""Choosing: which instrument would hold a drawing, in this place. The public face; names load when first used."""

import importlib
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from .matrix import choose
    from .result import Choice, schema
    from .text import summary

_HOME = {"choose": "matrix", "Choice": "result", "schema": "result", "summary": "text"}
__all__ = ["Choice", "choose", "schema", "summary"]


def __getattr__(name: str) -> Any:
    if name not in _HOME:
        raise AttributeError(name)
    return getattr(importlib.import_module(f".{_HOME[name]}", __package__), name)
