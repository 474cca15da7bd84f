"""Where instruments stand that see points, and what they read from there: the house's own rules, printed with a result.

A tracker stands where the job's stations stand; an arm where its reach needs it; everything else reports one frame.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from ..core.arrays import Array
from ..instruments.arm import SHOULDER_MM
from ..instruments.catalogue import InstrumentClass, classes
from ..jobs.job import Job, Station
from ..jobs.simulated.plan_points import Touches
from ..jobs.simulated.survey import Touched, Visit, default_survey, touched
from .arm_places import NESTS, arm_places
from .conditions import Conditions
from .readings import rows_at

#: Without a tracker in the job: two set-ups at opposite corners, this clear of the part and this high, mm, with so
#: many tie points about it (common practice, no source).
CLEAR_MM, HIGH_MM, TIES = 2500.0, 1500.0, 6
#: A tracker is rarely set up nearer to the middle of the part than this, nor nearer than this to its corner, m: common
#: practice, no source.
NEAREST_M, PAST_CORNER_M = 3.0, 1.5
#: Fewest tie points of two set-ups.
_FEWEST_TIES = 3


@dataclass(frozen=True)
class Places:
    """`rows` of each set-up; features that none reaches, with the reason; `how` in words.

    `distance_m` is how far trackers stand from the middle of the part on average, `nearest_m` how near they might.
    """

    rows: tuple[Touched, ...]
    ties: tuple[str, ...]
    unreached: dict[str, str]
    how: str
    distance_m: float | None = None
    nearest_m: float = NEAREST_M


def tracker(
    job: Job, cls: InstrumentClass, seen: Mapping[str, Touches], under: Conditions, part: tuple[Array, Array]
) -> Places:
    """Every feature from the station it faces most squarely; tie points, as in simulation, in both faces."""
    middle = (part[0] + part[1]) / 2
    own = _own_stations(job)
    stations = own or _corner_stations(job, cls, part)
    stations = [_moved(s, middle, under.nearer) for s in stations]
    ties = job.ties if len(job.ties) >= _FEWEST_TIES else tuple(f"T{i + 1}" for i in range(TIES))
    here = replace(job, stations=tuple(stations), ties=ties if len(stations) > 1 else ())
    survey = default_survey(replace(here, features={name: job.features[name] for name in seen}))
    visits = tuple(_visit(v, len(seen[v.on]), under) for v in survey.visits)
    rows = tuple(touched(here, replace(survey, visits=visits)))
    away = float(np.mean([np.linalg.norm(_at(s) - middle) for s in stations])) / 1000
    unreached = {}
    for row in rows:
        distance = np.linalg.norm(row.points_mm - _at(row.station), axis=-1)
        for on, d in zip(row.on, distance, strict=True):
            if not cls.least_mm <= d <= cls.reach_mm:
                unreached[on] = f"{on} is {d / 1000:.3g} m from station {row.station.name}, out of its reach"
    which = "of the job's stations" if own else "set-ups at opposite corners of the part"
    faces = "both faces" if len(under.faces) > 1 else "one face"
    how = f"{len(rows)} {which}, on average {away:.1f} m from the middle of the part, {faces}"
    nearest = max(NEAREST_M, float(np.linalg.norm(part[1] - middle)) / 1000 + PAST_CORNER_M)
    return Places(rows, here.ties if len(rows) > 1 else (), unreached, how, away, nearest)


def arm(job: Job, cls: InstrumentClass, seen: Mapping[str, Touches]) -> Places:
    """As many set-ups as the reach needs, neighbours tied by nests that both touch."""
    found = arm_places(seen, least_mm=cls.least_mm, reach_mm=cls.reach_mm, shoulder_mm=SHOULDER_MM)
    lost = [name for name, by in found.by.items() if (by < 0).any()]
    unreached = {name: f"{name} is out of its reach from every place" for name in lost}
    target = next(iter(job.targets), "")
    rows = []
    for k, shoulder in enumerate(found.shoulders_mm):
        at = shoulder - np.array([0.0, 0.0, SHOULDER_MM])
        station = Station(str(k + 1), cls.name, None, at, job.place.air)
        touches = [
            (name, t.labels[i], t.points_mm[i], t.normals[i])
            for name, t in seen.items()
            if name not in unreached
            for i in np.flatnonzero(found.by[name] == k)
        ]
        rows.append(rows_at(station, touches, found.nests[k], target=target))
    ties = tuple(dict.fromkeys(name for nests in found.nests for name in nests))
    how = f"{len(rows)} set-ups, neighbours tied by {NESTS} nests" if len(rows) > 1 else "1 set-up"
    return Places(tuple(row for row in rows if row.on), ties, unreached, how)


def frame(job: Job, cls: InstrumentClass, seen: Mapping[str, Touches], part: tuple[Array, Array]) -> Places:
    """One frame for all, its origin in the low corner of the part; the part must be within reach."""
    size = float((part[1] - part[0]).max())
    unreached = {}
    if size > cls.reach_mm:
        unreached = dict.fromkeys(seen, f"the part, {size:.0f} mm, is larger than its reach, {cls.reach_mm:.0f} mm")
    target = next(iter(job.targets), "")
    station = Station("1", cls.name, None, part[0], job.place.air)
    touches = [
        (name, t.labels[i], t.points_mm[i], t.normals[i]) for name, t in seen.items() for i in range(len(t.labels))
    ]
    where = "in a room held at 20 degC, one frame" if cls.where == "laboratory" else "one frame for all features"
    return Places((rows_at(station, touches, {}, target=target),), (), unreached, where)


def _own_stations(job: Job) -> list[Station]:
    """The job's stations of a tracker, where it says where they stand."""
    trackers = {name for name, c in classes().items() if c.model == "tracker"}
    return [
        replace(s, readings=None)
        for s in job.stations
        if s.at_mm is not None and s.instrument in job.instruments
        and job.instruments[s.instrument].class_name in trackers
    ]  # fmt: skip


def _corner_stations(job: Job, cls: InstrumentClass, part: tuple[Array, Array]) -> list[Station]:
    low, high = part
    aside = CLEAR_MM / np.sqrt(2.0)
    up = low[2] + HIGH_MM
    places = (np.array([low[0] - aside, low[1] - aside, up]), np.array([high[0] + aside, high[1] + aside, up]))
    return [Station(str(i + 1), cls.name, None, at, job.place.air) for i, at in enumerate(places)]


def _moved(station: Station, middle: Array, nearer: float) -> Station:
    return replace(station, at_mm=middle + nearer * (_at(station) - middle))


def _visit(visit: Visit, count: int, under: Conditions) -> Visit:
    return replace(visit, count=count, faces=under.faces)


def _at(station: Station) -> Array:
    if station.at_mm is None:
        raise ValueError(f"station {station.name} stands nowhere")
    return station.at_mm


def nearer_by(distance_m: float, nearest_m: float) -> float:
    """The factor that halves the distance of a station, but no nearer than may be; 1 where that is no gain."""
    return max(nearest_m / distance_m, 0.5) if distance_m > 1.3 * nearest_m else 1.0
