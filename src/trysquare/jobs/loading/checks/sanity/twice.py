"""Requirements that ask the same of the same feature: twice, otherwise, or so that no part can meet both."""

import math

from ....job import DIMENSIONS, Job, Requirement
from ....texts import zone_text
from ...findings import Findings
from ..sources import LIMITS, REGISTER

_SAME = 1e-9


def twice(job: Job, findings: Findings) -> None:
    """Compare each requirement with the first of its like."""
    first: dict[tuple[object, ...], Requirement] = {}
    for index, requirement in enumerate(job.requirements):
        before = first.setdefault(_asked(requirement), requirement)
        if before is not requirement:
            _compare(index, requirement, before, findings)


def _asked(r: Requirement) -> tuple[object, ...]:
    """What is asked of what, whatever the limits."""
    along = None if r.direction is None else tuple(round(float(x), 6) for x in r.direction)
    return r.characteristic, frozenset(r.on), r.datums, r.operator, r.diameter_zone, along, r.state


def _compare(index: int, later: Requirement, before: Requirement, findings: Findings) -> None:
    path, what = ("requirement", index, later.characteristic), f'requirement "{later.id}"'
    other = f'requirement "{before.id}", {zone_text(before)}'
    if not _room(later, before):
        findings.error(
            path, f"leave room for a part that meets {other} too", zone_text(later),
            "No part can meet both: correct one of them.", what=what, source=LIMITS,
        )  # fmt: skip
    elif _limits(later) == _limits(before):
        findings.warn(
            path, f"stand once: {other} asks the same", zone_text(later), "Drop one of the two.", what=what,
            source=REGISTER,
        )  # fmt: skip
    else:
        findings.warn(
            path, f"have the limits of {other}, which asks the same of the same feature", zone_text(later),
            "The narrower limits count: find out which is meant, and drop the other.", what=what, source=REGISTER,
        )  # fmt: skip


def _limits(r: Requirement) -> tuple[float, float]:
    lower = -math.inf if r.lower is None or r.characteristic not in DIMENSIONS else round(r.lower / _SAME) * _SAME
    return lower, math.inf if r.upper is None else round(r.upper / _SAME) * _SAME


def _room(one: Requirement, other: Requirement) -> bool:
    (low, high), (least, most) = _limits(one), _limits(other)
    return max(low, least) <= min(high, most)
