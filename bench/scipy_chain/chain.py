"""The rival itself: what one draw is told, and the characteristic of every requirement from it."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.optimize import least_squares
from scipy.spatial.transform import Rotation

from . import features, shapes
from .shapes import TIGHT, Array, Fit, Motion
from .stations import LEVER_MM, Tie, station


@dataclass(frozen=True)
class Given:
    """What one draw is told. Aims in order of first appearance, station after station.

    `obs`: readings (n, 3) of each station; `centring_mm`: where the optical centres lie (aims, 3) in the frame of each
    station, tie points included; `offset_mm` (m,) of the ball's centre from the surface, tie points left out; `heat`:
    expansion (1/K) and temperature (degC) by zone; `hand`: readings (n,), expansion of the tool (1/K) and how much
    warmer than the part it is (K), for each set.
    """

    obs: list[Array]
    offset_mm: Array
    centring_mm: list[Array]
    heat: dict[str, tuple[float, float]]
    hand: list[tuple[Array, float, float]]


class Rival:
    """Prepared once for a job; `tools` are its instruments, of which only the figures are read."""

    def __init__(self, job: Any, tools: Mapping[str, Any]) -> None:
        self.job, self.tools = job, tools
        self.stations = [station(s.readings, job.ties) for s in job.stations]
        self.on = [s.on[i] for s in self.stations for i in s.seen]
        self.rows = {name: [i for i, on in enumerate(self.on) if on == name] for name in dict.fromkeys(self.on)}
        self.nominals = {name: f.nominal for name, f in job.features.items()}
        self.by_hand = {id_ for hand in job.hand for id_ in hand.requirement}
        given = self.given()
        figures = [{name: p.u for name, p in tools[s.instrument].parameters.items()} for s in job.stations]
        centring = [
            [job.targets[s.readings.targets[st.first(i)]].centring_mm for i in range(len(st.on))]
            for s, st in zip(job.stations, self.stations)
        ]
        self.tie = Tie(self.stations, given.obs, figures, centring)
        self._place(self._centres(given), given.offset_mm)
        surfaces = self._surfaces(given)
        self.starts = {n: self._start(n) for n in self.rows}
        self.starts = self.fits(surfaces)
        self.pairs = {
            n: features.pairs(surfaces[n], f) for n, f in self.starts.items() if self.nominals[n].kind == "cylinder"
        }

    def given(self) -> Given:
        """The readings as they are, without errors."""
        job = self.job
        offset = [
            job.targets[s.readings.targets[st.first(i)]].radius_mm
            for s, st in zip(job.stations, self.stations)
            for i in st.seen
        ]
        hand = []
        for h in job.hand:
            tool = self.tools[h.instrument].parameters
            alpha, warmer = (tool[n].value if n in tool else 0.0 for n in ("tool_expansion", "tool_temperature"))
            hand.append((h.value_mm, alpha, warmer))
        heat = {n: (z.alpha, z.temperature_degC) for n, z in job.zones.items()}
        centred = [np.zeros((len(s.on), 3)) for s in self.stations]
        return Given([s.readings.obs for s in job.stations], np.array(offset), centred, heat, hand)

    def values(self, given: Given) -> dict[str, Array]:
        """The characteristic of every requirement, (k,) mm or rad; k > 1 for local sizes at several places."""
        surfaces = self._surfaces(given)
        fits = self.fits(surfaces)
        seats: dict[tuple[str, ...], Motion] = {}
        out = self._lengths(given)
        for r in self.job.requirements:
            if r.id not in self.by_hand:
                if r.datums and r.datums not in seats:
                    seats[r.datums] = self._seat(r.datums, surfaces, fits)
                out[r.id] = np.atleast_1d(self._value(r, surfaces, fits, seats.get(r.datums)))
        return out

    def fits(self, surfaces: Mapping[str, Array]) -> dict[str, Fit]:
        """Least squares shapes of all features."""
        by = {"plane": lambda x, s: shapes.plane(x, s.direction), "cylinder": shapes.cylinder, "sphere": shapes.ball}
        return {n: by[self.nominals[n].kind](x, self.starts[n]) for n, x in surfaces.items()}

    def _start(self, name: str, offset: float = 0.0) -> Fit:
        n = self.nominals[name]
        return Fit(n.point_mm, n.direction, (n.diameter_mm or 0.0) / 2 + (-offset if n.inside else offset))

    def _centres(self, given: Given) -> Array:
        """Centres of balls (m, 3) in the frame of the first station."""
        points = [s.points(o) + c for s, o, c in zip(self.stations, given.obs, given.centring_mm)]
        R, t = self.tie.pose(points)
        first, second = (p[s.seen] for p, s in zip(points, self.stations))
        return np.concatenate([first, second @ R.T + t])

    def _place(self, centres: Array, offset: Array) -> None:
        """The rough placement (all features onto their nominals, every diameter free) and the normals."""
        names = list(self.rows)
        wanted = np.array([self.nominals[n].point_mm for n in names])
        c = np.array([centres[self.rows[n]].mean(0) for n in names])
        R = Rotation.align_vectors(wanted - wanted.mean(0), c - c.mean(0))[0]
        sized = [n for n in names if self.nominals[n].diameter_mm is not None]

        def motion(x: Array) -> Motion:
            turn = (Rotation.from_rotvec(x[:3] / LEVER_MM) * R).as_matrix()
            return Motion(turn, x[3:6] + wanted.mean(0) - turn @ c.mean(0))

        def residuals(x: Array) -> Array:
            here, free = motion(x).apply(centres), dict(zip(sized, x[6:]))
            return np.concatenate([
                features.distance(self.nominals[n], here[rows]) - offset[rows] - free.get(n, 0.0)
                for n, rows in self.rows.items()
            ])  # fmt: skip

        self.placed = motion(least_squares(residuals, np.zeros(6 + len(sized)), "3-point", **TIGHT).x)
        self.starts = {n: self._start(n, float(offset[self.rows[n]].mean())) for n in names}
        points = {n: self.placed.apply(centres[self.rows[n]]) for n in names}
        self.normals = np.zeros_like(centres)
        for name, fit in self.fits(points).items():
            self.normals[self.rows[name]] = features.outward(points[name], fit, self.nominals[name])

    def _surfaces(self, given: Given) -> dict[str, Array]:
        """Surface points at 20 degC in the part frame, by feature."""
        x = self.placed.apply(self._centres(given)) - given.offset_mm[:, None] * self.normals
        out = {}
        for name, rows in self.rows.items():
            zone = self.job.zones[self.job.features[name].zone]
            out[name] = features.cold(x[rows], zone, *given.heat[zone.name])
        return out

    def _seat(self, datums: tuple[str, ...], surfaces: Mapping[str, Array], fits: Mapping[str, Fit]) -> Motion:
        names = [self.job.datums[d] for d in datums]
        on = tuple(self.nominals[n] for n in names)
        if len(names) == 1:
            return shapes.plane_first(fits[names[0]], on[0].point_mm, on[0].direction)
        holes = ("plane", "cylinder", "cylinder")
        seat = {holes: shapes.plane_and_two_holes, ("plane",) * 3: shapes.three_planes}[tuple(n.kind for n in on)]
        return seat(fits[names[0]], surfaces[names[1]], surfaces[names[2]], on)

    def _value(self, r: Any, surfaces: Mapping[str, Array], fits: Mapping[str, Fit], seat: Motion | None) -> Any:
        name = r.on[0]
        fit, nominal, x = fits[name], self.nominals[name], surfaces[name]
        if r.characteristic == "size":
            two_point = r.operator != "least-squares"
            return features.from_axis(x, fit)[self.pairs[name]].sum(1) if two_point else 2.0 * fit.radius
        if r.characteristic == "distance":
            return features.apart([(self.nominals[n], fits[n]) for n in r.on])
        if r.characteristic == "angle":
            return features.angle(fits[r.on[0]].direction, fits[r.on[1]].direction)
        if seat is None:
            return features.held(x, nominal, np.stack(shapes.across(nominal.direction)))
        fit, x = fit.moved(seat.R, seat.t), seat.apply(x)
        if r.characteristic == "position":
            return 2.0 * features.off(fit, nominal)
        if nominal.kind == "cylinder":
            return features.lean(fit, nominal)
        turns = shapes.cross(self.nominals[self.job.datums[r.datums[0]]].direction, nominal.direction)
        return features.held(x, nominal, turns[None] if np.linalg.norm(turns) > 1e-9 else np.empty((0, 3)))

    def _lengths(self, given: Given) -> dict[str, Array]:
        """Lengths read by hand at 20 degC, repeats of a place averaged, (places,)."""
        found: dict[str, dict[str, list[float]]] = {}
        zone_of = {r.id: self.job.features[r.on[0]].zone for r in self.job.requirements}
        for hand, (values, tool_alpha, warmer) in zip(self.job.hand, given.hand):
            for i, (id_, place) in enumerate(zip(hand.requirement, hand.place)):
                alpha, temperature = given.heat[zone_of[id_]]
                part, noted = temperature - 20.0, hand.temperature_degC[i]
                if not np.isnan(noted):
                    part += noted - self.job.zones[zone_of[id_]].temperature_degC
                length = values[i] * (1 + tool_alpha * (part + warmer)) / (1 + alpha * part)
                found.setdefault(id_, {}).setdefault(f"{hand.instrument}/{place}", []).append(length)
        return {id_: np.array([np.mean(x) for x in places.values()]) for id_, places in found.items()}
