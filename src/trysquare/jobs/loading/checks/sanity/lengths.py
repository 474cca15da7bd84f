"""Limits and zones against the feature itself: sizes that end at nothing, zones wider than the feature is long."""

from .....tolerances.nominal import Nominal
from ....job import DIMENSIONS, Job
from ....texts import zone_text
from ...findings import Findings
from ..sources import LIMITS, PRACTICE


def lengths(job: Job, findings: Findings) -> None:
    """An error for a size that may be nothing or less, a note for a zone wider than its feature."""
    for index, r in enumerate(job.requirements):
        limits = [limit for limit in (r.lower, r.upper) if limit is not None]
        if r.characteristic in ("size", "radius") and min(limits) <= 0:
            findings.error(
                ("requirement", index, r.characteristic), "leave a size above zero", zone_text(r),
                "Both limits are deviations from the nominal: look for a slip of unit or decimal.", source=LIMITS,
            )  # fmt: skip
        extent = _extent(job.features[r.on[0]].nominal)
        if r.characteristic not in DIMENSIONS and extent is not None and (r.upper or 0.0) > extent:
            findings.note(
                ("requirement", index, r.characteristic, "zone"),
                f"be no wider than the feature is long, {extent:g} mm", zone_text(r),
                "Look for a slip of unit or decimal, here or at the feature.", source=PRACTICE,
            )  # fmt: skip


def _extent(nominal: Nominal) -> float | None:
    """The longest side of a feature, mm; None where the drawing gives none."""
    sides = [*(nominal.size_mm or ()), nominal.length_mm or 0.0]
    longest = max(sides)
    return longest if longest > 0 else None
