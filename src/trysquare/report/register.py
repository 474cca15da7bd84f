"""The register's words: where a requirement stands on the drawing, since which revision, how it is marked."""

from collections.abc import Sequence

from ..jobs.result import Judged
from .format import clean


def marks(j: Judged) -> str:
    """Marks of the drawing: "critical", "key", both or none."""
    return ", ".join(word for word, marked in (("critical", j.critical), ("key", j.key)) if marked)


def place(j: Judged) -> str:
    """Sheet, field and revision, as far as the job says them; and the state that the drawing demands."""
    sheet = f"sheet {clean(j.sheet)}" if j.sheet else ""
    revision = f"revision {clean(j.revision)}" if j.revision else ""
    state = f"{j.state} state" if j.state else ""
    return ", ".join(words for words in (sheet, clean(j.grid or ""), revision, state) if words)


def line(j: Judged) -> str:
    """All of it in one line."""
    return ", ".join(words for words in (place(j), marks(j)) if words)


def lines(judged: Sequence[Judged]) -> list[str]:
    """One sentence for several requirements, those with equal words together; none where the register says nothing."""
    together: dict[str, list[str]] = {}
    for j in judged:
        if line(j):
            together.setdefault(line(j), []).append(clean(j.id))
    said = "; ".join(f"{', '.join(ids)}: {words}" for words, ids in together.items())
    return [f"On the drawing: {said}."] if said else []
