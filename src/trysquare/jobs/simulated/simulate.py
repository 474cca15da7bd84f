"""Readings of a measurement that never took place: the true part, touched by instruments that err as declared.

All true errors are one draw of the very sources that the chain draws when it judges, with the same scopes, under
another seed: a simulated measurement is one independent realisation of the declared model. The chain is told nothing
of the truth, nor of where a station stood and how it was turned.
"""

import math
from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from ...chance.sources import Draws
from ...core.arrays import Array
from ...core.frames import Rigid, perpendicular, rotation
from ...instruments.base import PointInstrument
from ...instruments.hand import HandTool
from ...instruments.tracker import Tracker
from ...surroundings.heat import displacement, heat_errors
from ..job import Job, Station
from ..points import PointChain, SetUp
from ..targets import Offsets
from .simulate_hand import hand_readings
from .survey import Survey, Touched, place_of, touched
from .true_shape import TrueFeature, Truth, true_features

#: Standard deviation of the tilt of a station about each level axis, rad: set up by eye on its level.
_TILT_RAD = 1e-3


def simulate(
    job: Job,
    instruments: Mapping[str, PointInstrument | HandTool],
    truth: Truth,
    survey: Survey,
    *,
    exact: bool = False,
) -> Job:
    """The job with the readings that this survey brings; those it held before are dropped.

    With `exact` nothing errs: neither instruments nor targets, air, temperature or expansion.

    Raises
    ------
    InputError : the truth has the seed of the job, or the survey names what is not there.
    """
    truth.check(job)
    draws = Draws(truth.seed, 0, 1, only=() if exact else None)
    features = true_features(job, truth)
    seeing = {k: v for k, v in instruments.items() if not isinstance(v, HandTool)}
    tools = {k: v for k, v in instruments.items() if isinstance(v, HandTool)}
    rows = touched(job, survey)
    stations = _stations(job, seeing, rows, features, truth, survey, draws)
    measured = replace(job, stations=tuple(stations.get(s.name, replace(s, readings=None)) for s in job.stations))
    return replace(measured, hand=hand_readings(job, tools, features, survey, draws))


def _stations(
    job: Job,
    instruments: Mapping[str, PointInstrument],
    rows: list[Touched],
    features: Mapping[str, TrueFeature],
    truth: Truth,
    survey: Survey,
    draws: Draws,
) -> dict[str, Station]:
    """Every station with its readings, by name."""
    if not rows:
        return {}
    blank = PointChain(_with(job, instruments, rows, [np.ones((len(r.on), 3)) for r in rows]), instruments)
    centres = _centres(job, features, rows, blank.setups, blank.offsets, draws)
    true = [
        instruments[r.station.instrument].observe(_pose(r.station, survey, truth.draws).apply(c))
        for r, c in zip(rows, centres, strict=True)
    ]
    ideal = PointChain(_with(job, instruments, rows, true), instruments)
    read = [ideal.readings(setup, draws)[0] for setup in ideal.setups]
    return {s.name: s for s in _with(job, instruments, rows, read).stations}


def _with(job: Job, instruments: Mapping[str, PointInstrument], rows: list[Touched], obs: list[Array]) -> Job:
    """The job with these observations as its only readings."""
    stations = tuple(
        replace(
            r.station,
            readings=r.readings(
                o,
                polar=isinstance(instruments[r.station.instrument], Tracker),
                file=f"station-{r.station.name.replace(' ', '-')}.csv",
            ),
        )
        for r, o in zip(rows, obs, strict=True)
    )
    return replace(job, stations=stations)


def _centres(
    job: Job,
    features: Mapping[str, TrueFeature],
    rows: list[Touched],
    setups: tuple[SetUp, ...],
    offsets: Offsets,
    draws: Draws,
) -> list[Array]:
    """Centres of balls and tips at every reading of every station, (n, 3), in the part frame on the warm part.

    A ball has its true radius and its optical centre off the middle; repeats of an aim meet the same spot.
    """
    away = (offsets.offset_mm + offsets.along_normal(draws))[0]
    aim_of = {key: i for i, key in enumerate(offsets.keys)}
    out = []
    for r, setup in zip(rows, setups, strict=True):
        centres = r.points_mm + _off_centre(r, setup, draws)
        for name in dict.fromkeys(on for on, tie in zip(r.on, r.ties, strict=True) if not tie):
            mine = [i for i, on in enumerate(r.on) if on == name]
            aims = [aim_of[f"{setup.station.name}/{name}/{r.labels[i]}"] for i in mine]
            feature, nominal = features[name], r.points_mm[mine]
            warm = _warm(job, name, feature.at(nominal), draws)
            centres[mine] += warm - nominal + away[aims, None] * feature.normals(nominal)
        out.append(centres)
    return out


def _off_centre(r: Touched, setup: SetUp, draws: Draws) -> Array:
    """Where the optical centres lie off the centres of the balls, at every reading, (n, 3)."""
    at = {key: i for i, key in enumerate(setup.aims.keys)}
    labels = [on if tie else f"{on}/{label}" for on, label, tie in zip(r.on, r.labels, r.ties, strict=True)]
    return setup.centring.errors(draws)[0][[at[f"{setup.station.name}/{label}"] for label in labels]]


def _warm(job: Job, name: str, points: Array, draws: Draws) -> Array:
    """Points (n, 3) at 20 degC where they lie on the warm part, with its true temperature and expansion."""
    heat = heat_errors(job.zones[job.features[name].zone], draws)
    return points + displacement(points[None], **heat)[0]


def _pose(station: Station, survey: Survey, draws: Draws) -> Rigid:
    """T_station_part: any heading, nearly upright."""
    from scipy.special import ndtri

    yaw, tilt_u, tilt_v = (draws.uniform(f"pose of station {station.name}", what)[0] for what in ("yaw", "u", "v"))
    up = np.array(survey.up) / np.linalg.norm(survey.up)
    u, v = perpendicular(up)
    level = np.stack([u, v, up])
    lean = rotation(_TILT_RAD * np.array([ndtri(tilt_u), ndtri(tilt_v), 0.0]))
    R = lean @ rotation(np.array([0.0, 0.0, 2.0 * math.pi * yaw])) @ level
    return Rigid(R, -R @ place_of(station))
