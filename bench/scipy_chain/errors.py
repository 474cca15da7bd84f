"""One draw of every error that the job declares, by NumPy: what a draw is told (`Given`) instead of the readings.

Figures come from the job; what shares an error, and what it does to a reading, from docs/methods. The index of air
follows by its usual sensitivities. Form of the workpiece is no part of it.
"""

from dataclasses import replace
from typing import Any

import numpy as np

from .chain import Given, Rival
from .shapes import Array

#: Change of the index of air near 20 degC, 1 bar, for 1 K, 1 Pa, 1 % of relative humidity, 1 umol/mol of CO2.
PER_K, PER_PA, PER_PERCENT, PER_CO2, FORMULA = -0.93e-6, 2.68e-9, -0.86e-8, 0.14e-9, 2e-8
UNIT = {"normal": lambda g, n: g.standard_normal(n), "rectangular": lambda g, n: g.uniform(-(3**0.5), 3**0.5, n)}


class Errors:
    """Draws for one rival."""

    def __init__(self, rival: Rival, seed: int) -> None:
        self.rival, self.job, self.plain = rival, rival.job, rival.given()
        self.random = np.random.default_rng(seed)
        self.mechanics = [_mechanics(o, s.readings.face) for o, s in zip(self.plain.obs, self.job.stations)]
        on_features = [(s.readings, st, i) for s, st in zip(self.job.stations, rival.stations) for i in st.seen]
        self.centring = [
            np.array([self.job.targets[s.readings.targets[st.first(i)]].centring_mm for i in range(len(st.on))])
            for s, st in zip(self.job.stations, rival.stations)
        ]
        self.target = [readings.targets[st.first(i)] for readings, st, i in on_features]

    def draw(self) -> Given:
        """Readings, offsets, heat and lengths with one draw of their errors."""
        job, figures = self.job, {s.instrument: self.rival.tools[s.instrument].parameters for s in self.job.stations}
        sizes = {(i, name): self._size(p) for i, ps in figures.items() for name, p in ps.items()}
        fixed = {(i, name): size * self.random.standard_normal(4) for (i, name), size in sizes.items()}
        a, z = job.place.air, self.random.standard_normal(5)
        air = PER_K * a.u_temperature * z[0] + PER_PA * a.u_pressure * z[1] + PER_PERCENT * a.u_humidity * z[2]
        air += PER_CO2 * a.u_co2 * z[3] + FORMULA * z[4]
        obs = []
        for station, reading, parts in zip(job.stations, self.plain.obs, self.mechanics):
            name = station.instrument
            e = sum(part @ fixed[name, key][: part.shape[2]] for key, part in parts.items() if key in figures[name])
            e = e + self._noise(reading, {key: sizes[name, key] for key in figures[name]})
            e[:, 2] += reading[:, 2] * air
            obs.append(reading + e)
        ball = {n: t.u_radius_mm * self.random.standard_normal() for n, t in job.targets.items()}
        return replace(
            self.plain, obs=obs, offset_mm=self.plain.offset_mm + np.array([ball[n] for n in self.target]),
            centring_mm=[c[:, None] * self.random.standard_normal((len(c), 3)) for c in self.centring],
            heat={n: self._heat(job.zones[n], *given) for n, given in self.plain.heat.items()},
            hand=[self._by_hand(h, *given) for h, given in zip(job.hand, self.plain.hand)],
        )  # fmt: skip

    def _size(self, p: Any) -> float:
        """The standard uncertainty, itself in doubt where it has degrees of freedom (JCGM 101, 6.4.9)."""
        return p.u * (np.sqrt(p.dof / self.random.chisquare(p.dof)) if np.isfinite(p.dof) else 1.0)

    def _noise(self, obs: Array, size: dict[str, float]) -> Array:
        n, r = len(obs), obs[:, 2]
        z = self.random.standard_normal((n, 7))
        out = np.empty((n, 3))
        moving = size["angle_noise_distance"] * np.sqrt(r / 10_000.0)
        pointing = size.get("pointing_noise", 0.0) / r
        out[:, 0] = size["angle_noise"] * z[:, 0] + (moving * z[:, 1] + pointing * z[:, 2]) / np.cos(obs[:, 1])
        out[:, 1] = size["angle_noise"] * z[:, 3] + moving * z[:, 4] + pointing * z[:, 5]
        out[:, 2] = size["range_noise"] * z[:, 6]
        return out

    def _heat(self, zone: Any, alpha: float, temperature: float) -> tuple[float, float]:
        a, t = self.random.uniform(-(3**0.5), 3**0.5), self.random.standard_normal()
        return alpha + zone.u_alpha * a, temperature + zone.u_temperature * t

    def _by_hand(self, hand: Any, values: Array, tool_alpha: float, warmer: float) -> tuple[Array, float, float]:
        """Each reading has its own share, each place one, the tool one; its warmth and its expansion have one each."""
        figures = self.rival.tools[hand.instrument].parameters
        places = [f"{r}/{p}" for r, p in zip(hand.requirement, hand.place)]
        of_place = [list(dict.fromkeys(places)).index(p) for p in places]
        total, n = np.array(values), len(values)
        error = {}
        for name, p in figures.items():
            z = self._size(p) * UNIT[p.distribution](self.random, n)
            error[name] = z if p.scope == "reading" else z[of_place] if p.scope == "aim" else np.full(n, z[0])
        for name in ("repeatability", "resolution", "indication_local", "feel", "indication", "setting"):
            total += error.get(name, 0.0)
        total += error.get("indication_proportional", 0.0) * values
        alpha, warm = (float(error[n][0]) if n in error else 0.0 for n in ("tool_expansion", "tool_temperature"))
        return total, tool_alpha + alpha, warmer + warm


def _mechanics(obs: Array, face: Array) -> dict[str, Array]:
    """What one unit of each component of each imperfection does to azimuth, elevation and range, (n, 3, c)."""
    second = face == 2
    a = np.where(second, obs[:, 0] + np.pi, obs[:, 0])
    e = np.where(second, np.pi - obs[:, 1], obs[:, 1])
    r, sign, o = obs[:, 2], np.where(second, -1.0, 1.0), np.zeros(len(obs))

    def part(*columns: tuple[Array, Array, Array]) -> Array:
        return np.stack([np.stack([x, sign * y, w], 1) for x, y, w in columns], 2)

    return {
        "range_constant": part((o, o, o + 1.0)),
        "range_proportional": part((o, o, r)),
        "transit_offset": part((o, np.sin(e) / r, -np.cos(e))),
        "beam_offset": part((-1.0 / (r * np.cos(e)), o, o), (o, -1.0 / r, o)),
        "collimation": part((-1.0 / np.cos(e), o, o)),
        "tilt_axis_squareness": part((np.tan(e), o, o)),
        "vertical_index": part((o, o + 1.0, o)),
        "eccentricity": part((np.cos(a), o, o), (np.sin(a), o, o), (o, np.cos(e), o), (o, np.sin(e), o)),
        "encoder_scale": part(
            (np.cos(2 * a), o, o), (np.sin(2 * a), o, o), (o, np.cos(2 * e), o), (o, np.sin(2 * e), o)
        ),
    }
