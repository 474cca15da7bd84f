"""Rule #1 of ASME: a width or thickness has its envelope, so that a face can be no less flat than its size allows."""

from ....job import Job, Requirement
from ....texts import zone_text
from ...findings import Findings
from ...toleranced import is_width
from ..sources import RULE_1


def rule_one(job: Job, findings: Findings) -> None:
    """Warn, on an ASME drawing, of a flatness that is not below the size tolerance of its width."""
    if not job.standard.startswith("ASME"):
        return
    for index, form in enumerate(job.requirements):
        if form.characteristic != "flatness":
            continue
        width = next((r for r in job.requirements if _limits(job, r, form)), None)
        if width is not None:
            findings.warn(
                ("requirement", index, "flatness", "zone"),
                f'be narrower than the size tolerance of its width (requirement "{width.id}", {zone_text(width)})',
                zone_text(form), "Narrow it, or leave it out: the limits of size hold the form already.", source=RULE_1,
            )  # fmt: skip


def _limits(job: Job, width: Requirement, form: Requirement) -> bool:
    """Whether `width` is a feature of size with both limits, one face of which is that of `form`, and holds it."""
    if width.characteristic != "distance" or form.on[0] not in width.on or width.lower is None or width.upper is None:
        return False
    faces = [job.features[name].nominal for name in width.on]
    return is_width(faces) and (form.upper or 0.0) >= width.upper - width.lower
