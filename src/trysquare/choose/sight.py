"""What a class of instrument cannot measure by its nature, whatever its accuracy, and why."""

import numpy as np

from ..instruments.catalogue import InstrumentClass
from ..jobs.job import Feature, Job, Requirement

#: A bore or slot takes a ball with its carrier when it is this much wider: common practice, no source.
ROOM = 1.5
#: Light reaches the bottom of a bore no deeper than this many times its width: common practice, no source.
LIT = 2.0
#: Jaws and anvils reach this far past an edge, mm: common practice, no source.
JAWS_MM = 40.0
_PARALLEL = 1.0 - 1e-6
_OUTER = "its anvils span opposite outer faces only"


def cannot(cls: InstrumentClass, job: Job, requirement: Requirement, *, ball_mm: float, extent_mm: float) -> str | None:
    """Why the class cannot measure this requirement; None where it can.

    `ball_mm` is the diameter of the ball or tip that it would carry, `extent_mm` the largest extent of the part.
    """
    on = [job.features[name] for name in requirement.on]
    for feature in on:
        kind = feature.nominal.kind
        if not cls.can_measure(requirement.characteristic, (kind,), inside=feature.nominal.inside):
            return f"not made for {requirement.characteristic} of {_one(feature)}"
    if cls.by_hand:
        return _by_hand(cls, requirement, on, extent_mm)
    for name in job.needed(requirement):
        reason = unseen(cls, job.features[name], ball_mm=ball_mm)
        if reason is not None:
            return reason
    gap = _slot(on)
    if gap is not None and gap < ROOM * ball_mm:
        return f"no room: the slot is {gap:.3g} mm wide, the ball {ball_mm:.3g} mm with its carrier"
    return None


def unseen(cls: InstrumentClass, feature: Feature, *, ball_mm: float) -> str | None:
    """Why a class that sees points does not see a feature; None where it does."""
    nominal = feature.nominal
    side = "inside" if nominal.inside else "outside"
    if nominal.kind not in cls.features and f"{nominal.kind} {side}" not in cls.features:
        return f"does not see {feature.name}, {_one(feature)}"
    width = nominal.diameter_mm if nominal.inside else None
    if width is not None and width < ROOM * ball_mm:
        return f"no room: {feature.name} is {width:.3g} mm wide, the ball {ball_mm:.3g} mm with its carrier"
    deep = nominal.length_mm
    if width is not None and deep is not None and cls.touches == "surface" and deep > LIT * width:
        return f"no light: {feature.name} is {deep:.3g} mm deep and {width:.3g} mm wide"
    return None


def _by_hand(cls: InstrumentClass, requirement: Requirement, on: list[Feature], extent_mm: float) -> str | None:
    if requirement.operator == "least-squares" and requirement.characteristic == "size":
        return "the drawing asks for the least-squares size; a hand tool reads local sizes"
    length = length_of(requirement)
    if not cls.least_mm <= length <= cls.reach_mm or length <= 0:
        return f"{length:.4g} mm is out of its range, {cls.least_mm:.4g} to {cls.reach_mm:.4g} mm"
    if len(on) == 2:
        return _apart(cls, requirement, on[0], on[1], extent_mm)
    if cls.touches == "tip" and extent_mm > cls.reach_mm:
        return f"the part, {extent_mm:.0f} mm, does not stand on its plate"
    return None


def _apart(
    cls: InstrumentClass, requirement: Requirement, first: Feature, second: Feature, extent_mm: float
) -> str | None:
    """Why a hand tool does not read the distance of two features."""
    a, b = first.nominal, second.nominal
    if a.kind != "plane" or b.kind != "plane" or a.direction is None or b.direction is None:
        if cls.touches == "anvils":
            return _OUTER
        if cls.touches == "tip" and "plane" not in (a.kind, b.kind) and requirement.direction is None:
            return "it reads heights, not straight from axis to axis"
        return _stands(cls, extent_mm, step=False) if cls.touches == "tip" else None
    facing = float(a.direction @ b.direction)
    if abs(facing) < _PARALLEL:
        return "the faces are not parallel"
    along = requirement.direction
    if along is not None and abs(float(along @ a.direction)) < _PARALLEL * float(np.linalg.norm(along)):
        return "measured at an angle to the faces"
    if cls.touches == "tip":
        return _stands(cls, extent_mm, step=facing > 0)
    outward = float((b.point_mm - a.point_mm) @ a.direction)
    if cls.touches == "anvils" and not (facing < 0 and outward < 0):
        return _OUTER
    gap = _beside(first, second)
    return f"the faces lie {gap:.0f} mm beside each other, beyond its jaws" if gap > JAWS_MM else None


def _stands(cls: InstrumentClass, extent_mm: float, *, step: bool) -> str | None:
    """A height gauge reads a step standing on the part itself; anything else needs the part on its plate."""
    if step or extent_mm <= cls.reach_mm:
        return None
    return f"the part, {extent_mm:.0f} mm, does not stand on its plate"


def _beside(first: Feature, second: Feature) -> float:
    """How far two parallel faces miss each other, seen along their normal, mm."""
    a, b = first.nominal, second.nominal
    u, v, _ = a.frame()
    across = np.abs(np.array([u, v]) @ (b.point_mm - a.point_mm))
    size_b = np.abs(np.array([u, v]) @ np.array(b.frame()[:2]).T) @ np.array(b.size_mm or (0.0, 0.0))
    half = (np.array(a.size_mm or (0.0, 0.0)) + size_b) / 2
    return float(np.linalg.norm(np.maximum(across - half, 0.0)))


def _slot(on: list[Feature]) -> float | None:
    """Width of the slot that two faces make when they look at each other, mm."""
    if len(on) != 2 or any(f.nominal.kind != "plane" for f in on):
        return None
    a, b = (f.nominal for f in on)
    if a.direction is None or b.direction is None or float(a.direction @ b.direction) > -0.9:
        return None
    gap = float((b.point_mm - a.point_mm) @ a.direction)
    return gap if gap > 0 else None


def length_of(requirement: Requirement) -> float:
    """The length that a hand tool would read, mm."""
    if requirement.nominal is not None:
        return requirement.nominal
    limits = [x for x in (requirement.lower, requirement.upper) if x is not None]
    return sum(limits) / len(limits)


def _one(feature: Feature) -> str:
    nominal = feature.nominal
    if nominal.kind in ("cylinder", "circle", "sphere"):
        return f"{'an inside' if nominal.inside else 'an outside'} {nominal.kind}"
    return f"a {nominal.kind}"
