"""Readings as they would come from a perfect measurement of the part as it is assumed: nothing errs.

The chain then draws every error of the instrument, the place and the workpiece about them, as it does when it judges.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from ..chance.sources import Draws
from ..core.arrays import Array
from ..core.frames import rotation
from ..instruments.base import PointInstrument
from ..instruments.tracker import Tracker
from ..jobs.job import Feature, Job, Station
from ..jobs.simulated.survey import Touched, place_of
from ..jobs.simulated.true_shape import Shape, TrueFeature
from ..surroundings.heat import displacement, heat_errors

#: Form that is assumed of a feature: this share of the zone that its own flatness has.
FORM_SHARE = 0.5
#: ... in waves of this share of its larger extent, where the job names no wavelength (common practice, no source).
WAVE_SHARE = 0.5
#: Names the streams that the shape of the assumed form is drawn from.
_FORM_SEED = 20


def assumed_features(job: Job) -> dict[str, TrueFeature]:
    """Every feature as it is assumed: nominal, with form of half the zone where its flatness is asked.

    A feature whose own form the job declares has that form instead.
    """
    zones = {r.on[0]: r.upper or 0.0 for r in job.requirements if r.characteristic == "flatness"}
    draws = Draws(_FORM_SEED, 0, 1)
    return {
        name: TrueFeature(name, feature.nominal, _shape(feature, zones.get(name, 0.0)), draws)
        for name, feature in job.features.items()
    }


def read(
    job: Job, rows: Sequence[Touched], instruments: Mapping[str, PointInstrument], features: Mapping[str, TrueFeature]
) -> Job:
    """The job with the readings of these rows: stations stand upright where they are declared, and nothing errs.

    Each is turned a quarter turn from the one before: errors of its scales that an instrument brings along to every
    station would cancel between stations of one heading, which chance does not give.
    """
    stations = []
    for k, r in enumerate(rows):
        instrument = instruments[r.station.instrument]
        turn = rotation(np.array([0.0, 0.0, k * np.pi / 2]))
        obs = instrument.observe((_centres(job, r, features) - place_of(r.station)) @ turn.T)
        file = f"station-{r.station.name}.csv"
        stations.append(replace(r.station, readings=r.readings(obs, polar=isinstance(instrument, Tracker), file=file)))
    return replace(job, stations=tuple(stations))


def rows_at(
    station: Station,
    touches: Sequence[tuple[str, str, Array, Array]],
    ties: Mapping[str, Array],
    *,
    target: str,
) -> Touched:
    """Rows of one set-up in one face: `ties` first, then places as (feature, label, point (3,), normal (3,))."""
    on = (*ties, *(t[0] for t in touches))
    labels = (*("p1" for _ in ties), *(t[1] for t in touches))
    points = np.array([*ties.values(), *(t[2] for t in touches)])
    n = len(on)
    return Touched(
        station, on, labels, (1,) * n, (target,) * n, ("",) * n, points, tuple(i < len(ties) for i in range(n))
    )


def _shape(feature: Feature, zone_mm: float) -> Shape:
    form = FORM_SHARE * zone_mm if feature.form_expected_mm is None else feature.form_expected_mm
    nominal = feature.nominal
    extent = max(nominal.diameter_mm or 0.0, nominal.length_mm or 0.0, *(nominal.size_mm or (0.0, 0.0)))
    return Shape(form_mm=form, wavelength_mm=feature.form_wavelength_mm or WAVE_SHARE * extent or 100.0)


def _centres(job: Job, rows: Touched, features: Mapping[str, TrueFeature]) -> Array:
    """Centres of balls, or points seen, (n, 3), on the warm part."""
    centres = np.array(rows.points_mm)
    for name in dict.fromkeys(on for on, tie in zip(rows.on, rows.ties, strict=True) if not tie):
        mine = [i for i, on in enumerate(rows.on) if on == name]
        nominal, feature = rows.points_mm[mine], features[name]
        heat = heat_errors(job.zones[job.features[name].zone])
        away = np.array([job.targets[rows.targets[i]].radius_mm if rows.targets[i] else 0.0 for i in mine])
        at = feature.at(nominal)
        centres[mine] = at + displacement(at, **heat) + away[:, None] * feature.normals(nominal)
    return centres
