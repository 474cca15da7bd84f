"""Datum letters: one to a feature, none that nothing refers to."""

from ....job import Job, letters_of
from ...findings import Findings
from ..sources import DATUMS, PRACTICE


def letters(job: Job, findings: Findings) -> None:
    """Warn of a feature with two letters, note a letter without use."""
    used = {letter for r in job.requirements for datum in r.datums for letter in letters_of(datum)}
    first: dict[str, str] = {}
    for letter, name in job.datums.items():
        before = first.setdefault(name, letter)
        if before != letter:
            findings.warn(
                ("datum", letter), f'be on a feature without a letter: "{name}" has {before} already',
                f'"{name}" again', "Name its own feature, or use one letter for both.", what=f'datum "{letter}"',
                source=DATUMS,
            )  # fmt: skip
        if letter not in used:
            findings.note(
                ("datum", letter), "be used by some requirement", "no requirement with it",
                "Leave it, if the drawing has it for another part; else a requirement may have lost its datum.",
                what=f'datum "{letter}"', source=PRACTICE,
            )  # fmt: skip
