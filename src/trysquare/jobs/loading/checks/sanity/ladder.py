"""Form below orientation below location: a zone that another on the same feature holds already says nothing more."""

from ....job import Job, Requirement
from ....texts import zone_text
from ...findings import Findings
from ..sources import LADDER, PRACTICE

_STEPS = {"flatness": 0, "parallelism": 1, "perpendicularity": 1, "position": 2}
_WAY_OUT = "Narrow it, or leave it out: as it stands it says nothing more. Or the other is the slip."


def ladder(job: Job, findings: Findings) -> None:
    """Warn of zones that are not narrower than one that holds them; note datum features of coarser form."""
    for index, inner in enumerate(job.requirements):
        outer = next((r for r in job.requirements if _held(job, inner, r) and _zone(inner) >= _zone(r)), None)
        if outer is not None:
            findings.warn(
                ("requirement", index, inner.characteristic, "zone"),
                f'be narrower than the {outer.characteristic} of the same feature (requirement "{outer.id}", '
                f"{zone_text(outer)})", zone_text(inner), _WAY_OUT, source=LADDER,
            )  # fmt: skip
        _datum_form(job, index, inner, findings)


def _zone(requirement: Requirement) -> float:
    return requirement.upper or 0.0


def _held(job: Job, inner: Requirement, outer: Requirement) -> bool:
    """Whether the zone of `outer`, were it as wide, would hold that of `inner` whole."""
    low, high = _STEPS.get(inner.characteristic), _STEPS.get(outer.characteristic)
    if low is None or high is None or low >= high or inner.on != outer.on or inner.state != outer.state:
        return False
    same_datums = inner.datums == outer.datums[: len(inner.datums)]
    flat = job.features[inner.on[0]].nominal.kind == "plane"
    return same_datums and (flat or outer.diameter_zone)


def _datum_form(job: Job, index: int, form: Requirement, findings: Findings) -> None:
    """A datum feature that may be less flat than what is judged against it."""
    if _STEPS.get(form.characteristic) != 0:
        return
    finer = [
        r for r in job.requirements if r.datums and job.carriers(r.datums[0]) == form.on and _zone(r) < _zone(form)
    ]
    if finer:
        ids = ", ".join(r.id for r in finer)
        findings.note(
            ("requirement", index, form.characteristic, "zone"),
            f"be no wider than what is judged against its feature as primary datum ({ids})", zone_text(form),
            f"The form of datum {finer[0].datums[0]} goes into these; ask whether the drawing means it.",
            source=PRACTICE,
        )  # fmt: skip
