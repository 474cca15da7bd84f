"""Who touches what, from where: the plan of a measurement that is simulated."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from ...core.arrays import Array
from ...core.errors import InputError
from ...core.frames import dot
from ..job import Job, Readings, Station
from .plan_points import Touches, plan_points

#: Tie points of a survey that names none stand this far outside the part, as a share of its extent, and in two heights.
_TIES_OUT = 0.3


@dataclass(frozen=True)
class Visit:
    """A feature touched from a station. `count` points (None: as planned), of which `rows` (first, step) from here;
    every one in each of `faces`, with the ball `target` ("" for a tip), in the nest `nest` if one is named."""

    station: str
    on: str
    target: str = ""
    nest: str = ""
    count: int | None = None
    rows: tuple[int, int] = (0, 1)
    faces: tuple[int, ...] = (1,)


@dataclass(frozen=True)
class HandVisit:
    """A requirement read with a hand tool. `places`: label to angle (rad) and height (mm) on a diameter; of a distance
    only the labels count. Each place is read `repeats` times; `temperature_degC` of the part is written down if given.
    """

    instrument: str
    requirement: str
    places: Mapping[str, tuple[float, float]]
    repeats: int = 1
    temperature_degC: float | None = None


@dataclass(frozen=True)
class Survey:
    """All visits, in order. `ties_mm` are the centres of balls at tie points, part frame, read in `tie_faces` from
    every station; `up` is the vertical in the part frame."""

    visits: tuple[Visit, ...]
    ties_mm: Mapping[str, Array] = field(default_factory=dict)
    tie_faces: tuple[int, ...] = (1, 2)
    tie_target: str = ""
    hand: tuple[HandVisit, ...] = ()
    up: tuple[float, float, float] = (0.0, 0.0, 1.0)


@dataclass(frozen=True)
class Touched:
    """One station's readings before they are taken: what each aims at, and the nominal point and normal there.

    Rows (n,) in reading order; `points_mm` is the centre itself on a tie point.
    """

    station: Station
    on: tuple[str, ...]
    labels: tuple[str, ...]
    faces: tuple[int, ...]
    targets: tuple[str, ...]
    nests: tuple[str, ...]
    points_mm: Array
    ties: tuple[bool, ...]

    def readings(self, obs: Array, *, polar: bool, file: str) -> Readings:
        """These rows as readings with the observations `obs` (n, 3)."""
        n = len(self.on)
        lines = np.arange(2, n + 2, dtype=np.int64)
        obs = np.array(obs)
        obs.flags.writeable = False
        return Readings(
            file=file, on=self.on, aims=tuple(f"{on}/{p}" for on, p in zip(self.on, self.labels, strict=True)),
            ids=tuple(f"{self.station.name}:{line}" for line in lines), targets=self.targets, nests=self.nests,
            face=np.array(self.faces, dtype=np.int64), obs=obs, lines=lines, polar=polar,
        )  # fmt: skip


def touched(job: Job, survey: Survey) -> list[Touched]:
    """What every station reads: tie points first, then its visits in order. Stations without a visit are left out.

    Raises
    ------
    InputError : a visit to a station or feature that is not there, or a tie point without a place.
    """
    for visit in survey.visits:
        _known(visit.station, [s.name for s in job.stations], "station")
        _known(visit.on, list(job.features), "feature")
    for name in job.ties:
        _known(name, list(survey.ties_mm), "place of the tie point")
    used = {visit.station for visit in survey.visits}
    return [_rows(job, survey, station) for station in job.stations if station.name in used]


def default_survey(job: Job) -> Survey:
    """A survey of all features: each from the station it faces most squarely; tie points around the part.

    Stations need an `at`. Balls: the first target of the job, in the hand; tie points are read in both faces.
    """
    target = next(iter(job.targets), "")
    visits = []
    for name, feature in job.features.items():
        touches = plan_points(feature)
        best = max(job.stations, key=lambda s: _facing(touches, place_of(s)))
        visits.append(Visit(best.name, name, target))
    return Survey(tuple(visits), _ties(job), tie_target=target)


def place_of(station: Station) -> Array:
    """Where a station stands. Raises `InputError` where the job does not say."""
    if station.at_mm is None:
        raise InputError(
            f'station "{station.name}"', "its place", "be given to simulate it", "no `at`",
            "Add at = [x, y, z], in the part frame.",
        )  # fmt: skip
    return station.at_mm


def _rows(job: Job, survey: Survey, station: Station) -> Touched:
    names = job.ties if sum(s.name in {v.station for v in survey.visits} for s in job.stations) > 1 else ()
    rows: list[tuple[str, str, int, str, str, Array, bool]] = [
        (name, "p1", face, survey.tie_target, "", np.asarray(survey.ties_mm[name]), True)
        for name in names
        for face in survey.tie_faces
    ]
    for visit in survey.visits:
        if visit.station == station.name:
            touches = plan_points(job.features[visit.on], count=visit.count)
            first, step = visit.rows
            rows += [
                (visit.on, touches.labels[i], face, visit.target, visit.nest, touches.points_mm[i], False)
                for i in range(first, len(touches), step)
                for face in visit.faces
            ]
    on, labels, faces, targets, nests, points, ties = zip(*rows, strict=True)
    return Touched(station, on, labels, faces, targets, nests, np.array(points), ties)


def _facing(touches: Touches, at: Array) -> float:
    """How squarely a feature faces a place: mean cosine of its normals, less a little for the distance."""
    away = at - touches.points_mm
    distance = np.linalg.norm(away, axis=-1)
    return float((dot(away, touches.normals) / distance).mean() - 1e-6 * distance.mean())


def _ties(job: Job) -> dict[str, Array]:
    """Places around the part for the tie points: a ring outside it, in two heights by turns."""
    points = np.concatenate([plan_points(feature).points_mm for feature in job.features.values()])
    low, high = points.min(0), points.max(0)
    reach = float(np.linalg.norm(high - low)) * (0.5 + _TIES_OUT)
    out = {}
    for i, name in enumerate(job.ties):
        turn = 2 * np.pi * i / len(job.ties)
        height = low[2] + (0.2 if i % 2 else 1.0) * max(high[2] - low[2], reach / 2)
        middle = (low + high) / 2
        out[name] = np.array([middle[0] + reach * np.cos(turn), middle[1] + reach * np.sin(turn), height])
    return out


def _known(name: str, among: list[str], what: str) -> None:
    if name not in among:
        raise InputError(
            "survey", f'the {what} "{name}"', "be known", "no such name", f"Use one of {', '.join(among)}."
        )
