"""Names: each thing has its own."""

from collections.abc import Sequence

from ...job import Job
from ..findings import Findings
from ..locate import Path


def names(job: Job, findings: Findings) -> None:
    """Requirements, stations and tie points are named once; a tie point is no feature; a file is one station's."""
    _once("requirement", "id", [r.id for r in job.requirements], findings)
    _once("attribute", "id", [a.id for a in job.attributes], findings)
    _apart(job, findings)
    _gone(job, findings)
    _once("station", "name", [s.name for s in job.stations], findings)
    for index, tie in enumerate(job.ties):
        path: Path = ("tie", index)
        if tie in job.ties[:index]:
            findings.error(path, "be named once", f'"{tie}" again', "Drop one.", what="a tie point")
        if tie in job.features:
            findings.error(
                path, "have a name of its own", f'"{tie}", which is a feature too', "Rename the tie point.",
                what="a tie point",
            )  # fmt: skip
    _files(findings)


def _once(table: str, key: str, values: Sequence[str], findings: Findings) -> None:
    article = "an" if table[0] in "aeiou" else "a"
    for index, value in enumerate(values):
        if value in values[:index]:
            first = findings.document.line((table, values.index(value), key))
            findings.error(
                (table, index, key), "be used once", f'"{value}", which line {first} has already',
                "Rename one of the two.", what=f"the {key} of {article} {table}",
            )  # fmt: skip


def _apart(job: Job, findings: Findings) -> None:
    """One number, one requirement: with a value or without."""
    numbers = [r.id for r in job.requirements]
    for index, attribute in enumerate(job.attributes):
        if attribute.id in numbers:
            line = findings.document.line(("requirement", numbers.index(attribute.id), "id"))
            findings.error(
                ("attribute", index, "id"), "be used once", f'"{attribute.id}", which line {line} has already',
                "Rename one of the two.", what="the id of an attribute",
            )  # fmt: skip


def _gone(job: Job, findings: Findings) -> None:
    """A number that was dropped is not given to something else, so that old readings cannot land on it."""
    numbers = [*(r.id for r in job.requirements), *(a.id for a in job.attributes)]
    for index, number in enumerate(findings.document.raw(("dropped",)) or ()):
        if number in numbers:
            findings.error(
                ("dropped", index), "be no number in use", f'"{number}", which a requirement has',
                "Give the new requirement a number of its own, or take it off the list.", what="a dropped number",
            )  # fmt: skip


def _files(findings: Findings) -> None:
    """The same readings must not count twice."""
    seen: dict[str, int | None] = {}
    for table in ("station", "hand", "recorded"):
        for index in range(len(findings.document.raw((table,)) or ())):
            path: Path = (table, index, "readings")
            file = findings.document.raw(path)
            if not isinstance(file, str):
                continue
            if file in seen:
                findings.error(
                    path, "be read once", f'"{file}", which line {seen[file]} names already',
                    "Give each station and tool a reading file of its own.", what="a reading file",
                )  # fmt: skip
            seen.setdefault(file, findings.document.line(path))
