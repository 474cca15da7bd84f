"""Result documents made readable: HTML page, PDF, CSV, terminal summary, and the drawings they are made of.

Nothing here computes a verdict or an uncertainty; what is printed stands in the result document.
"""

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from .choice_page import choice_page
    from .html import page
    from .pdf import document
    from .table import rows_csv
    from .terminal import summary
    from .write import write_all

__all__ = ["choice_page", "document", "page", "rows_csv", "summary", "write_all"]

_HOME = {
    "choice_page": "choice_page", "document": "pdf", "page": "html", "rows_csv": "table", "summary": "terminal",
    "write_all": "write",
}  # fmt: skip


def __getattr__(name: str) -> Any:
    import importlib

    if name not in _HOME:
        raise AttributeError(name)
    return getattr(importlib.import_module(f".{_HOME[name]}", __package__), name)
