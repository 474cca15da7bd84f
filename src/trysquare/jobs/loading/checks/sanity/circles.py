"""Datum features that are judged against each other: which of the two comes first, the drawing does not say."""

from ....job import Job, Requirement
from ...findings import Findings
from ..sources import PRACTICE


def circles(job: Job, findings: Findings) -> None:
    """Note, at the later of the two, a pair of features each of which is the other's primary datum."""
    against = [(_on(job, r), r) for r in job.requirements]
    for index, (pair, requirement) in enumerate(against):
        back = next((r for other, r in against[:index] if pair is not None and other == pair[::-1]), None)
        if back is not None:
            findings.note(
                ("requirement", index, requirement.characteristic, "datums", 0),
                f'be a feature that is not judged against this one (requirement "{back.id}")',
                f'"{requirement.datums[0]}", on "{", ".join(job.carriers(requirement.datums[0]))}"',
                "Let one of the two be the datum of the other, or judge both against their common datum.",
                what=f'the primary datum of requirement "{requirement.id}"', source=PRACTICE,
            )  # fmt: skip


def _on(job: Job, requirement: Requirement) -> tuple[tuple[str, ...], tuple[str, ...]] | None:
    """What is judged, and the features of its primary datum."""
    return (requirement.on, job.carriers(requirement.datums[0])) if requirement.datums else None
