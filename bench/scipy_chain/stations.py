"""From readings to points: polar coordinates, means of repeats, and the tie of two stations."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.linalg import cholesky, inv
from scipy.optimize import least_squares
from scipy.spatial.transform import Rotation

from .shapes import TIGHT, Array

#: Turns are solved for as shifts at this distance.
LEVER_MM = 1000.0


@dataclass(frozen=True)
class Station:
    """`order` sorts readings by aim, `starts` and `counts` cut them; `tied` and `seen` are the aims at tie points (in
    the order of the job) and at features (in order of first appearance)."""

    order: Array
    starts: Array
    counts: Array
    on: list[str]
    tied: list[int]
    seen: list[int]

    def points(self, obs: Array) -> Array:
        """Mean points (aims, 3) in the station's frame of readings (n, 3)."""
        flat = obs[:, 2] * np.cos(obs[:, 1])
        x = np.stack([flat * np.cos(obs[:, 0]), flat * np.sin(obs[:, 0]), obs[:, 2] * np.sin(obs[:, 1])], 1)
        return np.add.reduceat(x[self.order], self.starts) / self.counts[:, None]

    def first(self, aim: int) -> int:
        """The first reading of an aim."""
        return int(self.order[self.starts[aim]])


def station(readings: Any, ties: tuple[str, ...]) -> Station:
    """Repeats of an aim, and all readings of a tie point, go together."""
    labels = [on if on in ties else aim for on, aim in zip(readings.on, readings.aims)]
    place = {name: i for i, name in enumerate(dict.fromkeys(labels))}
    group = np.array([place[label] for label in labels])
    order, counts = np.argsort(group, kind="stable"), np.bincount(group)
    starts = np.r_[0, np.cumsum(counts)[:-1]]
    on = [readings.on[int(order[s])] for s in starts]
    tied = sorted((i for i, n in enumerate(on) if n in ties), key=lambda i: ties.index(on[i]))
    return Station(order, starts, counts, on, tied, [i for i, n in enumerate(on) if n not in ties])


class Tie:
    """Two stations that see the same tie points, each sighting weighted by its covariance."""

    def __init__(
        self, stations: list[Station], obs: list[Array], figures: list[Mapping[str, float]], centring: list[list[float]]
    ) -> None:
        self.stations = stations
        self.weights = [_weights(s, o, u, c) for s, o, u, c in zip(stations, obs, figures, centring)]
        p, q = self._tied([s.points(o) for s, o in zip(stations, obs)])
        rough = Rotation.align_vectors(p - p.mean(0), q - q.mean(0))[0]
        self.turn = rough.as_matrix()
        self.start = np.r_[np.zeros(3), p.mean(0) - rough.apply(q.mean(0)), p.ravel()]
        self.start = self._solved(p, q)

    def pose(self, points: list[Array]) -> tuple[Array, Array]:
        """Turn (3, 3) and shift (3,) of the second station in the frame of the first."""
        x = self._solved(*self._tied(points))
        return self.turn @ Rotation.from_rotvec(x[:3] / LEVER_MM).as_matrix(), x[3:6]

    def _tied(self, points: list[Array]) -> list[Array]:
        return [x[s.tied] for x, s in zip(points, self.stations)]

    def _solved(self, p: Array, q: Array) -> Array:
        """Turn, shift and tie points, one vector, for the least weighted squares of both stations' sightings."""
        m, (first, second) = len(p), self.weights

        def seen(x: Array) -> tuple[Array, Array, Array]:
            R = Rotation.from_rotvec(-x[:3] / LEVER_MM).as_matrix()
            y = (x[6:].reshape(m, 3) - x[3:6]) @ self.turn
            return R, y, y @ R.T

        def residuals(x: Array) -> Array:
            e = np.stack([first @ (p - x[6:].reshape(m, 3))[:, :, None], second @ (q - seen(x)[2])[:, :, None]])
            return e.ravel()

        def jacobian(x: Array) -> Array:
            R, y, _ = seen(x)
            J = np.zeros((2, m, 3, 6 + 3 * m))
            J[1, :, :, :3] = -second @ (R @ _cross(y) @ _right(-x[:3] / LEVER_MM) / LEVER_MM)
            J[1, :, :, 3:6] = second @ R @ self.turn.T
            for i in range(m):
                J[0, i, :, 6 + 3 * i : 9 + 3 * i] = -first[i]
                J[1, i, :, 6 + 3 * i : 9 + 3 * i] = -J[1, i, :, 3:6]
            return J.reshape(6 * m, -1)

        return least_squares(residuals, self.start, jacobian, **TIGHT).x


def _weights(s: Station, obs: Array, u: Mapping[str, float], centring: list[float]) -> Array:
    """Upper roots (m, 3, 3) of the inverse covariances of tie points, from what differs between readings."""
    out = []
    for i in s.tied:
        a, e, r = obs[s.first(i)]
        moving = u["angle_noise_distance"] ** 2 * r / 10_000.0 + (u.get("pointing_noise", 0.0) / r) ** 2
        spread = [
            u["angle_noise"] ** 2 + moving / np.cos(e) ** 2,
            u["angle_noise"] ** 2 + moving,
            u["range_noise"] ** 2,
        ]
        ca, sa, ce, se = np.cos(a), np.sin(a), np.cos(e), np.sin(e)
        J = np.array([[-r * ce * sa, -r * se * ca, ce * ca], [r * ce * ca, -r * se * sa, ce * sa], [0, r * ce, se]])
        out.append(cholesky(inv(J * spread @ J.T / s.counts[i] + centring[i] ** 2 * np.eye(3))))
    return np.array(out)


def _cross(v: Array) -> Array:
    """Matrices (m, 3, 3) of the cross product with v (m, 3) from the left."""
    out = np.zeros((len(v), 3, 3))
    out[:, 2, 1], out[:, 0, 2], out[:, 1, 0] = v.T
    return out - out.transpose(0, 2, 1)


def _right(v: Array) -> Array:
    """Right Jacobian of the rotation of a vector: how its matrix turns when the vector changes."""
    angle = np.linalg.norm(v)
    K = _cross(v[None])[0]
    if angle < 1e-8:
        return np.eye(3) - K / 2
    return np.eye(3) - (1 - np.cos(angle)) / angle**2 * K + (angle - np.sin(angle)) / angle**3 * K @ K
