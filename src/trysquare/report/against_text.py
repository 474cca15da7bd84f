"""Two revisions of a drawing, for a terminal of 80 columns."""

import textwrap
from collections.abc import Sequence

from ..jobs.against import Changed, Comparison, Need
from ..jobs.register_lines import Line, Register
from .format import clean

_WIDTH = 80


def against_text(found: Comparison) -> str:
    """What is new, dropped and changed; what can be judged from the readings at hand, and what is to be measured."""
    blocks = [
        _wrapped(f"{_head(found.new)} against {_head(found.old)}", ""),
        _list("New", [_line(line) for line in found.added]),
        _list("Dropped", [_line(line) for line in found.dropped]),
        _list("Changed", [_changed(one) for one in found.changed]),
        _list("Unchanged", [", ".join(found.unchanged)] if found.unchanged else []),
        _list("Judged from the readings at hand", [", ".join(found.at_hand)] if found.at_hand else []),
        _list("To be measured", [_need(need) for need in found.needed]),
    ]
    if found.features:
        blocks.append(_wrapped(f"Features to measure: {', '.join(found.features)}.", ""))
    return "\n\n".join(blocks)


def _head(register: Register) -> str:
    drawing, revision, standard = (register.head[key] for key in ("drawing", "revision", "standard"))
    issue = f" revision {clean(revision)}" if revision else ""
    return f"{clean(drawing or register.source)}{issue} ({standard})"


def _list(head: str, items: Sequence[str]) -> str:
    return "\n".join([head, *(_wrapped(clean(item), "  ") for item in items or ["none"])])


def _line(line: Line) -> str:
    asked = f"{line.facts['characteristic']} {line.facts['limits']}"
    against = f" to {line.facts['datums']}" if line.facts["datums"] else ""
    was = f" (was: {line.verdict})" if line.verdict else ""
    return f"{line.id}  {line.name}: {asked}{against} on {line.facts['features'] or 'the part'}{was}"


def _changed(one: Changed) -> str:
    said = "; ".join(f"{c.what} {c.old or 'none'}, now {c.new or 'none'}" for c in one.changes)
    was = f" (was: {one.old.verdict})" if one.old.verdict else ""
    return f"{one.new.id}  {one.new.name}: {said}{was}"


def _need(need: Need) -> str:
    return f"{need.id}  {need.why}"


def _wrapped(text: str, first: str) -> str:
    return textwrap.fill(
        text, _WIDTH, initial_indent=first, subsequent_indent=f"{first}    ", break_long_words=False,
        break_on_hyphens=False,
    )  # fmt: skip
