"""One class of instrument on one job: the same job, set up as that class is used, with perfect readings."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from ..core.arrays import Array
from ..instruments.base import PointInstrument
from ..instruments.catalogue import InstrumentClass
from ..instruments.hand import HandTool
from ..jobs.job import HandSet, Job, Requirement, Target
from ..jobs.simulated.plan_points import Touches, plan_points
from .conditions import Conditions, box, touches_of, zone_in
from .places import Places, arm, frame, tracker
from .readings import assumed_features, read
from .sight import cannot, length_of, unseen
from .tools import built, tool

#: What a tip and a reflector ball are where the job has none: common practice, no source.
TIP = Target("tip", 3.0, 0.0005, 0.0, "common practice, no source")
BALL = Target("ball", 19.05, 0.0015, 0.002, "common practice, no source")
#: Readings of a hand tool at one place, averaged (common practice, no source).
HAND_READINGS = 2


@dataclass(frozen=True)
class Case:
    """`job` holds readings and the requirements that the class can measure; `cannot` why not, for the others.

    `how` says in words how it is set up, `distance_m` how far trackers stand from the middle of the part, `nearest_m`
    how near they might.
    """

    cls: InstrumentClass
    job: Job
    instruments: Mapping[str, PointInstrument | HandTool]
    cannot: Mapping[str, str]
    how: str
    conditions: Conditions
    distance_m: float | None = None
    nearest_m: float = 0.0


def case_of(
    job: Job,
    cls: InstrumentClass,
    conditions: Conditions | None = None,
    *,
    known: Mapping[str, InstrumentClass],
) -> Case:
    """The job as this class would measure it. `known` are all classes, by name.

    Raises
    ------
    InputError : a figure of the class, or of the job's own instrument of it, is wrong.
    """
    under = conditions or Conditions()
    target = _target(job, cls)
    warm = replace(
        job,
        zones={name: zone_in(zone, cls, under) for name, zone in job.zones.items()},
        targets={target.name: target} if target is not None else {},
        nests={},
        hand=(),
        associations={},  # predicted by least squares: for datums that touch there is no interval to predict
    )
    extent = extent_mm(job)
    ball = 0.0 if target is None else 2.0 * target.radius_mm
    reasons = {r.id: cannot(cls, job, r, ball_mm=ball, extent_mm=extent) for r in job.requirements}
    blind = {id_: reason for id_, reason in reasons.items() if reason is not None}
    able = [r for r in job.requirements if r.id not in blind]
    if cls.by_hand:
        return _by_hand(warm, cls, able, blind, under, known)
    return _by_points(warm, cls, able, blind, under, known, ball)


def extent_mm(job: Job) -> float:
    """The largest extent of what is measured."""
    low, high = box(np.concatenate([plan_points(f).points_mm for f in job.features.values()]))
    return float((high - low).max())


def _target(job: Job, cls: InstrumentClass) -> Target | None:
    if cls.touches == "reflector":
        return next(iter(job.targets.values()), BALL)
    return TIP if cls.touches == "tip" else None


def _by_hand(
    job: Job, cls: InstrumentClass, able: list[Requirement], blind: dict[str, str], under: Conditions,
    known: Mapping[str, InstrumentClass],
) -> Case:  # fmt: skip
    count = HAND_READINGS * under.points
    each = [r for r in able for _ in range(count)]
    device = tool(cls, known)
    value = np.array([length_of(r) for r in each])
    for i, r in enumerate(each):
        zone = job.zones[job.features[r.on[0]].zone]
        part = 20.0 if zone.temperature_degC is None else zone.temperature_degC
        value[i] /= device.lengths([1.0], part_alpha=zone.alpha, part_temperature_degC=part)[0]
    n = len(each)
    hand = HandSet(
        cls.name, "by-hand.csv", tuple(r.id for r in each), ("1",) * n, value, np.full(n, np.nan),
        np.arange(2, n + 2, dtype=np.int64),
    )  # fmt: skip
    read_job = replace(job, requirements=tuple(able), stations=(), ties=(), hand=(hand,) if n else ())
    how = f"{count} readings at a place, averaged"
    return Case(cls, read_job, {cls.name: device}, blind, how, under)


def _by_points(
    job: Job, cls: InstrumentClass, able: list[Requirement], blind: dict[str, str], under: Conditions,
    known: Mapping[str, InstrumentClass], ball_mm: float,
) -> Case:  # fmt: skip
    seen = {
        name: touches_of(feature, cls, under)
        for name, feature in job.features.items()
        if unseen(cls, feature, ball_mm=ball_mm) is None
    }
    if not able:
        return Case(cls, replace(job, requirements=(), stations=(), ties=()), {}, blind, "", under)
    places = _places(job, cls, seen, under)
    for r in able:
        missing = [n for n in features_of(job, r) if n in places.unreached]
        if missing:
            blind[r.id] = places.unreached[missing[0]]
    read_job = replace(
        job, requirements=tuple(r for r in able if r.id not in blind), ties=places.ties,
        stations=tuple(row.station for row in places.rows),
    )  # fmt: skip
    instruments = built(read_job, cls, known)
    read_job = read(read_job, places.rows, instruments, assumed_features(job))
    return Case(cls, read_job, instruments, blind, places.how, under, places.distance_m, places.nearest_m)


def features_of(job: Job, requirement: Requirement) -> list[str]:
    """Features that a requirement needs: its own and those of its datums."""
    return job.needed(requirement)


def _places(job: Job, cls: InstrumentClass, seen: Mapping[str, Touches], under: Conditions) -> Places:
    low, high = _box(seen)
    if cls.model == "tracker":
        return tracker(job, cls, seen, under, (low, high))
    return arm(job, cls, seen) if cls.model == "arm" else frame(job, cls, seen, (low, high))


def _box(seen: Mapping[str, Touches]) -> tuple[Array, Array]:
    return box(np.concatenate([t.points_mm for t in seen.values()]))
