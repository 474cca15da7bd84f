"""From readings to surface points at 20 degC in the part's frame: the first four links of the chain.

`PointChain` prepares once what no draw changes (grouping of readings, tie weights, the rough placement of the part and
the normals along which ball offsets act: their errors change a result in second order only) and then runs the links as
pure functions of the draws. Without draws it is the value.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ..chance.sources import Draws, Source
from ..core.arrays import Array
from ..core.frames import Rigid
from ..instruments.arm import Arm
from ..instruments.base import PointInstrument, Sighting
from ..instruments.tracker import Tracker
from ..networks import Misfit, TieResult, block_covariance, suspects, tie
from ..surroundings.air import air_sources, range_scale_errors
from ..surroundings.heat import heat_errors, heat_sources, to_reference
from ..tolerances.features import AT_LEAST, associate
from ..tolerances.nominal import Nominal
from ..tolerances.placing import place
from .aims import Aims, aims_of
from .job import Job, Station
from .targets import Centring, Offsets, centring_of, offsets_of


@dataclass(frozen=True)
class SetUp:
    """One station, ready: its instrument, readings and aims, and where its aims lie among all aims on features."""

    station: Station
    instrument: PointInstrument
    sighting: Sighting
    aims: Aims
    centring: Centring
    tie_rows: tuple[int, ...]
    tie_names: tuple[str, ...]
    surface_rows: tuple[int, ...]


class PointChain:
    """Readings to surface points of one job; `instruments` by name, as the job's stations use them."""

    def __init__(self, job: Job, instruments: Mapping[str, PointInstrument]) -> None:
        self.job = job
        ties = frozenset(job.ties)
        self.setups = tuple(
            _set_up(job, station, instruments[station.instrument], ties) for station in job.stations if station.readings
        )
        keys = [(s.aims, i) for s in self.setups for i in s.surface_rows]
        self.on = tuple(a.on[i] for a, i in keys)
        self.stations = tuple(s.station.name for s in self.setups for _ in s.surface_rows)
        self.offsets: Offsets = offsets_of(
            job,
            tuple(a.keys[i] for a, i in keys),
            tuple(a.targets[i] for a, i in keys),
            tuple(a.nests[i] for a, i in keys),
        )
        self.rows: dict[str, Array] = {
            name: np.array([i for i, on in enumerate(self.on) if on == name], dtype=np.int64)
            for name in dict.fromkeys(self.on)
        }

    @cached_property
    def sources(self) -> tuple[Source, ...]:
        """Every source of the point links, each once."""
        found: dict[str, Source] = {}
        for setup in self.setups:
            mine = list(setup.instrument.sources(setup.station.name))
            if isinstance(setup.instrument, Tracker):
                mine += air_sources(setup.station.air, setup.station.name, own=self._own_air(setup))
            found.update({source.name: source for source in (*mine, *setup.centring.sources)})
        found.update({source.name: source for source in self.offsets.sources})
        for name in dict.fromkeys(self.job.features[on].zone for on in self.rows):
            found.update({source.name: source for source in heat_sources(self.job.zones[name])})
        return tuple(found.values())

    def run(self, draws: Draws | None = None) -> dict[str, Array]:
        """Surface points of every measured feature, (n, 3) or (draws, n, 3), mm at 20 degC, in the placed frame."""
        if not self.rows:
            return {}
        part = self.T_part_common.apply(self._centres(draws))
        offset = self.offsets.offset_mm
        if draws is not None:
            offset = offset + self.offsets.along_normal(draws)
        surface = part - offset[..., None] * self.normals
        out: dict[str, Array] = {}
        for name, rows in self.rows.items():
            zone = self.job.zones[self.job.features[name].zone]
            out[name] = to_reference(surface[..., rows, :], **heat_errors(zone, draws))
        return out

    def _centres(self, draws: Draws | None) -> Array:
        """Centres of balls and tips on features in the common frame, stations one after the other."""
        stations = [self._station_points(setup, draws) for setup in self.setups]
        if len(self.setups) == 1:
            poses: tuple[Rigid, ...] = (Rigid.identity(),)
        elif draws is None and self.tie_value is not None:
            poses = self.tie_value.poses
        else:
            poses = self._tie(stations, self.tie_value).poses
        common = [
            pose.apply(points[..., list(setup.surface_rows), :])
            for pose, points, setup in zip(poses, stations, self.setups, strict=True)
        ]
        return np.concatenate(common, axis=-2)

    def readings(self, setup: SetUp, draws: Draws | None = None) -> Array:
        """The readings of a set-up, (n, 3), or with the errors of its instrument and air, (draws, n, 3)."""
        obs = setup.sighting.obs
        if draws is not None:
            obs = obs + setup.instrument.errors(setup.sighting, draws)
            if isinstance(setup.instrument, Tracker):
                air, name = setup.station.air, setup.station.name
                scale = range_scale_errors(air, draws, station=name, own=self._own_air(setup))
                obs[..., 2] *= 1.0 + scale[:, None]
        return obs

    def _station_points(self, setup: SetUp, draws: Draws | None) -> Array:
        """Centres of balls and tips at every aim of a station, in its own frame."""
        points = setup.aims.mean(setup.instrument.points(self.readings(setup, draws)))
        return points if draws is None else points + setup.centring.errors(draws)

    def _own_air(self, setup: SetUp) -> bool:
        """Whether the station declares air of its own instead of the place's."""
        return setup.station.air != self.job.place.air

    def _tie(self, stations: list[Array], about: TieResult | None) -> TieResult:
        return tie(
            [p[..., list(s.tie_rows), :] for p, s in zip(stations, self.setups, strict=True)],
            [s.tie_names for s in self.setups],
            self._tie_covariances,
            stations=[s.station.name for s in self.setups],
            about=about,
        )

    @cached_property
    def _tie_covariances(self) -> list[Array]:
        """Covariance of each station's tie points, from what differs between readings; repeats averaged."""
        out = []
        for setup in self.setups:
            rows = list(setup.tie_rows)
            heads = setup.aims.order[setup.aims.starts][rows]
            spread = setup.instrument.spread(setup.sighting)[heads] / np.sqrt(setup.aims.counts[rows])[:, None]
            blocks = block_covariance(setup.instrument, setup.sighting.obs[heads], spread)
            out.append(blocks + setup.centring.variances()[rows, None, None] * np.eye(3))
        return out

    @cached_property
    def tie_value(self) -> TieResult | None:
        """The tie of the value run, with chi-square and residuals; None for one station."""
        if len(self.setups) < 2:
            return None
        return self._tie([self._station_points(s, None) for s in self.setups], None)

    def suspects(self, draws: Draws) -> tuple[Misfit, ...]:
        """Sightings of tie points that disagree with the others by more than all declared errors explain."""
        if self.tie_value is None:
            return ()
        drawn = self._tie([self._station_points(s, draws) for s in self.setups], self.tie_value)
        return suspects(self.tie_value, drawn)

    @cached_property
    def T_part_common(self) -> Rigid:
        """The rough placement: all measured features onto their nominals at once. Datums come later."""
        centres = self._centres(None)
        named = [(rows, self._touched(name)) for name, rows in self.rows.items()]
        return place(
            [centres[rows] for rows, _ in named], [n for _, n in named], where="placing the part",
            seen_from=[self._seen_from(rows) for rows, _ in named],
            whole=self._in_frame,
        )  # fmt: skip

    def _seen_from(self, rows: Array) -> Array:
        """Where the trackers and arms stood that saw these aims, (k, 3), in the common frame."""
        by = {self.stations[i] for i in rows}
        at = [o for s, o in zip(self.setups, self._origins, strict=True)
              if s.station.name in by and isinstance(s.instrument, (Tracker, Arm))]  # fmt: skip
        return np.array(at).reshape(-1, 3)

    @property
    def _origins(self) -> list[Array]:
        """Where each station stood, (3,), in the common frame."""
        poses = self.tie_value.poses if self.tie_value is not None else (Rigid.identity(),)
        return [pose.apply(np.zeros((1, 3)))[0] for pose in poses]

    @property
    def _in_frame(self) -> bool:
        """Whether something in the job hangs on the frame of the part as a whole, and not on its features alone."""
        zones = {self.job.features[name].zone for name in self.rows}
        return (
            len(zones) > 1
            or any(self.job.zones[name].gradient.any() for name in zones)
            or any(r.characteristic == "distance" and r.direction is not None for r in self.job.requirements)
        )

    def off_drawing(self) -> tuple[Array, float]:
        """How far each aim (m,) lies out of the material as drawn, its ball taken off, mm; and the extent of all."""
        centres = self.T_part_common.apply(self._centres(None))
        off = np.empty(len(centres))
        for name, rows in self.rows.items():
            off[rows] = self.job.features[name].nominal.distance(centres[rows]) - self.offsets.offset_mm[rows]
        return off, float(np.ptp(centres, axis=0).max())

    def taken(self, aim: int) -> tuple[str, int, str, tuple[str, ...]]:
        """File, line and label of the first reading of an aim on a feature, and the ids of all its readings."""
        name = self.stations[aim]
        setup = next(s for s in self.setups if s.station.name == name)
        i = setup.surface_rows[aim - self.stations.index(name)]
        first, readings = setup.aims.starts[i], setup.station.readings
        rows = setup.aims.order[first : first + setup.aims.counts[i]].tolist()
        if readings is None:
            raise ValueError(f"station {name} has no readings")
        return readings.file, int(readings.lines[rows[0]]), readings.aims[rows[0]], tuple(readings.ids[r] for r in rows)

    def _touched(self, name: str) -> Nominal:
        """The nominal surface on which the centres of the balls lie."""
        return self.job.features[name].nominal.grown(float(self.offsets.offset_mm[self.rows[name]].mean()))

    @cached_property
    def normals(self) -> Array:
        """Outward unit normals (m, 3) at every aim, from the features as measured."""
        centres = self.T_part_common.apply(self._centres(None))
        out = np.zeros_like(centres)
        for name, rows in self.rows.items():
            touched, points = self._touched(name), centres[rows]
            if len(rows) >= AT_LEAST[touched.kind] and touched.kind != "line":
                fitted = associate(points, touched, where=f'feature "{name}"')
                touched = Nominal(touched.kind, fitted.point_mm, fitted.direction, 1.0, inside=touched.inside)
            out[rows] = touched.outward(points)
        return out

    def station_positions(self) -> dict[str, Array]:
        """Where each station stood, in the placed part frame."""
        return {
            s.station.name: self.T_part_common.apply(at[None])[0]
            for s, at in zip(self.setups, self._origins, strict=True)
        }


def _set_up(job: Job, station: Station, instrument: PointInstrument, ties: frozenset[str]) -> SetUp:
    readings = station.readings
    if readings is None:
        raise ValueError(f"station {station.name} has no readings")
    aims = aims_of(station, ties)
    sighting = Sighting(
        station=station.name,
        instrument=instrument.name,
        ids=readings.ids,
        aims=tuple(f"{station.name}/{aim}" for aim in readings.aims),
        targets=readings.targets,
        obs=readings.obs,
        face=readings.face,
    )
    tie_rows = tuple(i for i, on in enumerate(aims.on) if on in ties)
    return SetUp(
        station, instrument, sighting, aims, centring_of(job, aims.keys, aims.targets), tie_rows,
        tuple(aims.on[i] for i in tie_rows),
        tuple(i for i, on in enumerate(aims.on) if on not in ties),
    )  # fmt: skip
