"""The register against the title block and the part: revisions, and the state that the drawing demands."""

import re

from ....job import Attribute, Job, Requirement
from ....states import mismatched
from ...findings import Findings
from ..sources import PRACTICE, STATES


def register(job: Job, findings: Findings) -> None:
    """Warn of what is newer than its drawing, and of what will be undecided for the state of the part."""
    for index, requirement in enumerate(job.requirements):
        _revision(job, requirement, ("requirement", index), findings)
    for index, attribute in enumerate(job.attributes):
        _revision(job, attribute, ("attribute", index), findings)
    wrong = {r.id for r in mismatched(job)}
    for index, requirement in enumerate(job.requirements):
        if requirement.id in wrong:
            findings.warn(
                ("requirement", index, "state"), "be the state in which the part is measured",
                f'"{requirement.state}", and the part is {job.part.state}',
                'It will be "undecided": measure it in that state, in a job of its own.', source=STATES,
            )  # fmt: skip


def _revision(job: Job, line: Requirement | Attribute, path: tuple[str, int], findings: Findings) -> None:
    own, drawing = line.revision, job.part.revision
    if own is not None and drawing is not None and _newer(own, drawing):
        findings.warn(
            (*path, "revision"), f'be no newer than the drawing, revision "{drawing}"', f'"{own}"',
            "Name the revision that is being judged in [part], or correct this one.", source=PRACTICE,
        )  # fmt: skip


def _newer(own: str, drawing: str) -> bool:
    """Whether a revision comes after another; False where they are not of one kind: letters, or whole numbers."""
    if re.fullmatch(r"\d{1,6}", own) and re.fullmatch(r"\d{1,6}", drawing):
        return int(own) > int(drawing)
    if re.fullmatch(r"[A-Z]{1,2}", own) and re.fullmatch(r"[A-Z]{1,2}", drawing):
        return (len(own), own) > (len(drawing), drawing)
    return False
