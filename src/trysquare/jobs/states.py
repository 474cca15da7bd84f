"""Free or restrained: the state in which the drawing demands a requirement, against the one that the job records.

ISO 8015 and ASME Y14.5: all that a drawing says holds in the free state of the part, unless it says otherwise: by
ISO 10579-NR, with the circled F for what stays free there, or by a note with the restraint (all three from memory).
"""

from collections.abc import Collection

from .doubts import Doubt
from .job import Job, Requirement

_SILENT = {
    True: "by ISO 8015:2011 (the workpiece is rigid) it then holds in the free state, unless the drawing cites ISO "
    "10579-NR (from memory)",
    False: "by ASME Y14.5 it then holds in the free state, unless a note demands a restraint (from memory)",
}


def mismatched(job: Job) -> tuple[Requirement, ...]:
    """Requirements that the drawing demands in the state in which the part was not measured."""
    return tuple(r for r in job.requirements if r.state is not None and r.state != job.part.state)


def in_doubt(job: Job, *, unmeasured: Collection[str] = ()) -> list[Doubt]:
    """Why nothing is stated of these; what was not measured at all says that instead."""
    return [
        Doubt(
            reason_of(job, requirement), requirements=frozenset({requirement.id}),
            note=f"the value is that of the {job.part.state} part",
        )
        for requirement in mismatched(job)
        if requirement.id not in unmeasured
    ]  # fmt: skip


def reason_of(job: Job, requirement: Requirement) -> str:
    """The reason, with the way out."""
    how = f", by {job.part.supports}" if job.part.state == "restrained" else ""
    return (
        f"cannot be stated: the drawing demands it {_in(requirement.state)} and the part was measured "
        f"{_in(job.part.state)}{how}. Measure it {_in(requirement.state)}."
    )


def read_as(job: Job, requirement: Requirement) -> str | None:
    """How a demanded state was read, for the list of interpretations; None where the drawing demands none."""
    if requirement.state is None:
        return None
    if requirement.state == "free":
        return "demanded in the free state (the circled F of ISO 10579 and ASME Y14.5, from memory)"
    held = f"the part was held by {job.part.supports}; " if job.part.state == "restrained" else ""
    return (
        f"demanded in the restrained state (ISO 10579-NR, or a note of the drawing, from memory): {held}whether a "
        "restraint is the one that the drawing describes is for whoever held the part to say"
    )


def silent(job: Job) -> str:
    """What a restrained part means for requirements of which the drawing says nothing; "" where there is none."""
    without = [r.id for r in job.requirements if r.state is None]
    if job.part.state == "free" or not without:
        return ""
    named = "no requirement" if len(without) == len(job.requirements) else f"none of {', '.join(without)}"
    return f"; of {named} the drawing says in which state: {_SILENT[job.standard.startswith('ISO')]}"


def _in(state: str | None) -> str:
    return "in the free state" if state == "free" else "restrained"
