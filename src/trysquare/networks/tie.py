"""Tie stations together by the points they have in common."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..core.arrays import Array
from ..core.frames import Rigid, cross_matrix
from .adjust import State, adjust, inverse_normal, missed, weighted
from .network import Network, flat_points, network
from .residuals import Misfit, misfits, suspects_by_noise
from .start import start


@dataclass(frozen=True)
class TieResult:
    """Stations in the common frame, which is the first station's own.

    `poses` are T_common_station, one a station (the first is the identity); `points_mm` (..., m, 3) the tie points in
    the order of `names`; `residuals_mm` what each sighting misses, (..., m_k, 3) in its station's frame, one array a
    station; `chi_square` (...) their sum of squares in units of the given covariances, expected near `dof`.
    With draws, all but the names and `dof` carry them as leading axes, and the last three are None.
    `pose_covariance` (6 (K - 1), 6 (K - 1)): shift of the station's origin, mm, then turn, rad, about the common axes,
    station after station; from the given covariances alone, so from what differs between readings.
    `misfits` and `suspects` judge each sighting by the same covariances: see `networks.suspects` for the full test.
    """

    network: Network
    poses: tuple[Rigid, ...]
    points_mm: Array
    residuals_mm: tuple[Array, ...]
    chi_square: Array
    pose_covariance: Array | None
    misfits: tuple[Misfit, ...] | None
    suspects: tuple[Misfit, ...] | None

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the tie points, in the order of `points_mm`."""
        return self.network.names

    @property
    def stations(self) -> tuple[str, ...]:
        """Names of the stations, in the order of `poses`."""
        return self.network.stations

    @property
    def dof(self) -> int:
        """Coordinates measured, less the unknowns: 3 for two stations with 3 common points."""
        return self.network.dof

    def place(self, name: str) -> Array:
        """Coordinates (..., 3) of one tie point in the common frame, mm."""
        return self.points_mm[..., self.names.index(name), :]


def tie(
    points_mm: Sequence[Array],
    names: Sequence[Sequence[str]],
    covariances: Sequence[Array],
    *,
    stations: Sequence[str] | None = None,
    about: TieResult | None = None,
) -> TieResult:
    """Poses of two or more stations and the tie points, by least squares with covariance blocks.

    Parameters
    ----------
    points_mm : one array (..., m_k, 3) a station, in its own frame; leading axes are draws.
    names : the tie points of each station, each name once (average repeats and both faces first).
    covariances : one array (m_k, 3, 3) a station, mm2, in its own frame (`block_covariance` makes them).
    stations : names of the stations, for messages and results; 1, 2, .. when left out.
    about : the result without draws, at which draws are linearised; without it their mean is tied first. Give it when
        draws come in several batches: the digits then do not depend on the batches.

    A point seen by one station only is carried along and changes nothing.

    Raises
    ------
    InputError : shapes, names, covariances; fewer than 3 common points; a station that nothing connects.
    RankError : the common points of a station lie on one line.
    ConvergenceError : the sightings contradict each other so much that the steps do not settle.

    Method: generalised least squares over all sightings (Gauss and Newton); draws by simplified Newton steps with the
    matrix of the estimate, carried on until each step is below 1e-10 mm: the optimum of each draw, not its first order.
    """
    net = network(names, covariances, stations)
    lead, flat = flat_points(points_mm, net)
    if about is None and lead:
        about = tie([p.mean(0) for p in flat], names, covariances, stations=net.stations)
    if about is None:
        poses, places = start([p[0] for p in flat], net)
    else:
        poses, places = list(about.poses), about.points_mm
    return _settle(net, lead, flat, poses, places, renew=not lead)


def _settle(
    net: Network, lead: tuple[int, ...], flat: list[Array], poses: list[Rigid], places: Array, *, renew: bool
) -> TieResult:
    """Adjust from a start; coordinates run about the middles of station and network, so far origins cost no digits."""
    common = places.mean(0)
    middles = np.stack([pose.inverse().apply(common[None])[0] for pose in poses])
    lever = float(np.sqrt(((places - common) ** 2).sum(1).mean()))
    near = [p - middle for p, middle in zip(flat, middles)]
    first = State(np.stack([pose.R for pose in poses])[None], np.zeros((1, len(poses), 3)), (places - common)[None])
    inverse = None if renew else inverse_normal(first, net, lever)
    draws = len(flat[0])
    begin = State(*(np.repeat(a, draws, axis=0) for a in (first.R, first.t, first.X)))
    state = adjust(begin, near, net, lever, inverse)
    t = state.t + common - (state.R @ middles[:, :, None])[..., 0]
    e = missed(state, near, net)
    chi = sum(((a * weighted(a, w)).sum((1, 2)) for a, w in zip(e, net.information)), np.zeros(draws))
    spread = None if lead else inverse_normal(state, net, lever)
    found = None if spread is None else misfits(state, [a[0] for a in e], net, lever, spread)
    return TieResult(
        net,
        tuple(Rigid(state.R[:, k].reshape(*lead, 3, 3), t[:, k].reshape(*lead, 3)) for k in range(len(net.stations))),
        (state.X + common).reshape(*lead, -1, 3),
        tuple(a.reshape(*lead, *a.shape[1:]) for a in e),
        chi.reshape(lead),
        None if spread is None else _pose_covariance(t[0], common, lever, spread),
        found,
        None if found is None else suspects_by_noise(found),
    )


def _pose_covariance(t: Array, common: Array, lever: float, spread: Array) -> Array:
    """Of the shift of each station's origin and its turn, from the covariance of the unknowns."""
    n = 6 * (len(t) - 1)
    J = np.zeros((n, n))
    for k in range(1, len(t)):
        turn, shift = slice(6 * k - 6, 6 * k - 3), slice(6 * k - 3, 6 * k)
        J[turn, turn] = -cross_matrix(t[k] - common) / lever  # rows: the origin's shift
        J[turn, shift] = np.eye(3)
        J[shift, turn] = np.eye(3) / lever
    return J @ spread[:n, :n] @ J.T
