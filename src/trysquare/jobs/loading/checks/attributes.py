"""Attributes: each with a number of its own, on features of the job, and somebody's record."""

from ...job import Job
from ..findings import Findings
from ..messages import hint


def attributes(job: Job, findings: Findings) -> None:
    """Check the attributes by themselves; their names are checked with all others."""
    for index, attribute in enumerate(job.attributes):
        for name in attribute.on:
            if name not in job.features:
                way_out = hint(name, job.features, f"Add [feature.{name}], or leave it out.")
                findings.error(("attribute", index, "on"), "name a [feature] of the job", f'"{name}"', way_out)


def unrecorded(job: Job, findings: Findings) -> None:
    """Warn of attributes that nobody recorded."""
    for index, attribute in enumerate(job.attributes):
        if not attribute.records:
            findings.warn(
                ("attribute", index), "be recorded", "no line on it", 'It will be "undecided: not recorded".',
                what=f'attribute "{attribute.id}"',
            )  # fmt: skip
