"""What a command gives back: a document for scripts and a text for people, always both."""

from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True)
class Answer:
    """`document` is what --json prints, `text` what a person reads at 80 columns."""

    document: dict[str, Any]
    text: str
    exit_code: int = 0
