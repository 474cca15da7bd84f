"""Least squares over the sightings of tie points, for the value and for every draw.

Station k saw point j at p, with covariance C in its own frame: e = p - R'(X - t) is what the sighting misses. The sum
of e' inv(C) e over all sightings is least over the poses (R, t) of all stations but the first, and the points X.
The gradient is exact; the matrix of the normal equations comes from the estimate alone, so that draws are right-hand
sides of one factorisation and a few steps (simplified Newton) bring each to its own optimum.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..core.arrays import Array
from ..core.errors import ConvergenceError
from ..core.frames import cross_matrix, rotation
from .network import Network

STEPS = 20
TOLERANCE_MM = 1e-10


@dataclass
class State:
    """Poses R (d, K, 3, 3), t (d, K, 3) and points X (d, m, 3) of d draws, about the middle of the network, mm."""

    R: Array
    t: Array
    X: Array

    def rows(self, chosen: npt.NDArray[np.intp]) -> "State":
        return State(self.R[chosen], self.t[chosen], self.X[chosen])

    def put(self, chosen: npt.NDArray[np.intp], other: "State") -> None:
        self.R[chosen], self.t[chosen], self.X[chosen] = other.R, other.t, other.X


def missed(state: State, points_mm: list[Array], net: Network) -> list[Array]:
    """e of each station, (d, m_k, 3), in its own frame, mm."""
    out = []
    for k, (p, index) in enumerate(zip(points_mm, net.index)):
        out.append(p - (state.X[:, index] - state.t[:, k, None]) @ state.R[:, k])
    return out


def weighted(e: Array, information: Array) -> Array:
    """inv(C) e, (d, m_k, 3)."""
    return np.einsum("mij,dmj->dmi", information, e)


def gradient(state: State, points_mm: list[Array], net: Network, lever_mm: float) -> Array:
    """Half the gradient (d, unknowns): turn times lever and shift of each station after the first, then the points."""
    turns, shifts = [], []
    on_points = np.zeros_like(state.X)
    for k, e in enumerate(missed(state, points_mm, net)):
        force = weighted(e, net.information[k]) @ np.swapaxes(state.R[:, k], -1, -2)
        on_points[:, net.index[k]] -= force
        if k:
            turns.append(np.cross(state.X[:, net.index[k]], force).sum(1) / lever_mm)
            shifts.append(force.sum(1))
    poses = np.stack([np.stack(turns, 1), np.stack(shifts, 1)], 2)
    return np.concatenate([poses.reshape(len(poses), -1), on_points.reshape(len(poses), -1)], 1)


def design(state: State, net: Network, k: int, lever_mm: float) -> Array:
    """How the unknowns move e of station k, (m_k, 3, unknowns), for the first draw of `state`."""
    index, stations = net.index[k], len(net.stations) - 1
    out = np.zeros((len(index), 3, net.unknowns))
    if k:
        out[:, :, 6 * k - 6 : 6 * k - 3] = -cross_matrix(state.X[0, index]) / lever_mm
        out[:, :, 6 * k - 3 : 6 * k] = np.eye(3)
    rows = np.arange(len(index))
    for axis in range(3):
        out[rows, axis, 6 * stations + 3 * index + axis] = -1.0
    return state.R[0, k].T @ out


def inverse_normal(state: State, net: Network, lever_mm: float) -> Array:
    """Covariance of the unknowns (unknowns, unknowns), mm2, at the first draw of `state`."""
    N = np.zeros((net.unknowns, net.unknowns))
    for k, information in enumerate(net.information):
        A = design(state, net, k, lever_mm)
        N += np.einsum("mia,mib->ab", A, np.einsum("mij,mjb->mib", information, A))
    inverse = np.linalg.inv(N).astype(np.float64, copy=False)
    return 0.5 * (inverse + inverse.T)


def move(state: State, step: Array, net: Network, lever_mm: float) -> State:
    """`state` moved by `step` (d, unknowns)."""
    stations = len(net.stations) - 1
    pose = step[:, : 6 * stations].reshape(-1, stations, 2, 3)
    turn = rotation(pose[:, :, 0] / lever_mm)
    R, t = state.R.copy(), state.t.copy()
    R[:, 1:] = turn @ state.R[:, 1:]
    t[:, 1:] = (turn @ state.t[:, 1:, :, None])[..., 0] + pose[:, :, 1]
    return State(R, t, state.X + step[:, 6 * stations :].reshape(state.X.shape))


def adjust(state: State, points_mm: list[Array], net: Network, lever_mm: float, inverse: Array | None) -> State:
    """The optimum of every draw, starting at `state`.

    With `inverse`, the inverse normal matrix at the estimate, it is kept; without, it is renewed at each step (one
    draw: the estimate itself). Each draw stops by itself, so cutting the draws otherwise changes no digit.

    Raises
    ------
    ConvergenceError : a step still above the tolerance after 20 of them.
    """
    todo = np.arange(len(state.X))
    tolerance = max(TOLERANCE_MM, 64 * np.finfo(float).eps * lever_mm)
    for _ in range(STEPS):
        here = state.rows(todo)
        slope = gradient(here, [p[todo] for p in points_mm], net, lever_mm)
        matrix = inverse_normal(here, net, lever_mm) if inverse is None else inverse
        step = -(matrix @ slope[..., None])[..., 0]
        state.put(todo, move(here, step, net, lever_mm))
        todo = todo[~(np.abs(step).max(1) <= tolerance)]  # so that not-a-number counts as moving
        if not len(todo):
            return state
    raise ConvergenceError(
        "tie", "the steps", f"fall below {tolerance:.1g} mm within {STEPS}", f"{len(todo)} draws still moving",
        "Look for a tie point with a wrong name or a wrong reading.",
    )  # fmt: skip
