"""Which sighting of a tie point does not fit the others."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from ..chance.alarm import ONE_IN, gross
from ..core.arrays import Array
from ..core.errors import InputError
from .adjust import State, design
from .network import Network

#: Draws needed for the spread of a residual.
LEAST_DRAWS = 100
#: Directions in which the other sightings check less than this share of a sighting's variance are not judged.
LEAST_CHECKED = 1e-3


@dataclass(frozen=True)
class Misfit:
    """One sighting against all others.

    `normalised` is the length of its residual in standard uncertainties of that residual, over the `checked` (0 to 3)
    directions in which other sightings check it; `limit` what it should stay below, with all sightings in view.
    """

    station: str
    point: str
    residual_mm: Array
    normalised: float
    checked: int
    limit: float

    @property
    def suspect(self) -> bool:
        """Whether it lies beyond the limit."""
        return self.normalised > self.limit

    @property
    def gross(self) -> bool:
        """Whether it lies so far beyond that the stations cannot be said to be tied."""
        return gross(self.normalised, self.limit)

    def __str__(self) -> str:
        length = 1000 * float(np.linalg.norm(self.residual_mm))
        return (
            f'station "{self.station}", tie point "{self.point}": misses by {length:.1f} µm, '
            f"{self.normalised:.1f} standard uncertainties (limit {self.limit:.1f}); look at its nest and "
            "read it again, or the instrument is noisier than declared"
        )


class Tied(Protocol):
    """What the test needs of a `TieResult`."""

    @property
    def network(self) -> Network:
        """The network."""

    @property
    def residuals_mm(self) -> tuple[Array, ...]:
        """Residuals (..., m_k, 3), one array a station."""


def suspects(value: Tied, draws: Tied) -> tuple[Misfit, ...]:
    """Sightings that lie beyond what all error sources together explain, worst first.

    `value` is the tie of the readings, `draws` the tie of their draws (a few hundred or more): the spread of its
    residuals holds every source that acts on the readings, common or not, where the given covariances hold only what
    differs between readings. Raises `InputError` for fewer than 100 draws.
    """
    spread = []
    for a in draws.residuals_mm:
        flat = a.reshape(-1, *a.shape[-2:])
        if len(flat) < LEAST_DRAWS:
            raise InputError("suspects", "the draws", f"be at least {LEAST_DRAWS}", f"{len(flat)}", "Draw more.")
        d = flat - flat.mean(0)
        spread.append(np.einsum("dmi,dmj->mij", d, d) / (len(d) - 1))
    found = _judge(value.network, value.residuals_mm, spread)
    return suspects_by_noise(found)


def suspects_by_noise(found: Sequence[Misfit]) -> tuple[Misfit, ...]:
    """Those beyond their limit, worst first."""
    return tuple(sorted((m for m in found if m.suspect), key=lambda m: m.limit / m.normalised))


def misfits(state: State, e: Sequence[Array], net: Network, lever_mm: float, inverse: Array) -> tuple[Misfit, ...]:
    """Every sighting, judged by the given covariances (each residual's own covariance: C - A inv(N) A')."""
    spread = []
    for k, C in enumerate(net.covariances):
        A = design(state, net, k, lever_mm)
        spread.append(C - A @ inverse @ np.swapaxes(A, -1, -2))
    return _judge(net, e, spread)


def _judge(net: Network, e: Sequence[Array], spread: Sequence[Array]) -> tuple[Misfit, ...]:
    from scipy.special import chdtri  # quantile of chi-square, far quicker to import than scipy.stats

    count = sum(len(i) for i in net.index)
    limits = [0.0, *(float(np.sqrt(chdtri(rank, 1 / (ONE_IN * count)))) for rank in (1, 2, 3))]
    out = []
    for k, label in enumerate(net.stations):
        L = np.linalg.cholesky(net.covariances[k])
        whitened = np.linalg.solve(L, np.swapaxes(np.linalg.solve(L, spread[k]), -1, -2))
        share, axes = np.linalg.eigh(whitened)
        along = np.einsum("mji,mj->mi", axes, np.linalg.solve(L, e[k][..., None])[..., 0])
        judged = share > LEAST_CHECKED
        squares = np.where(judged, along**2 / np.where(judged, share, 1.0), 0.0).sum(1)
        for i, j in enumerate(net.index[k]):
            rank = int(judged[i].sum())
            out.append(Misfit(label, net.names[j], e[k][i], float(np.sqrt(squares[i])), rank, limits[rank]))
    return tuple(out)
