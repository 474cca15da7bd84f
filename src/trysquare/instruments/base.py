"""How the chain talks to an instrument.

Every instrument that sees points offers the same five things; it knows nothing of features, datums or tolerances.
Observation coordinates are the instrument's own: (azimuth rad, elevation rad, range mm) for a polar instrument,
(x, y, z) mm for one that reports points in its own frame.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

import numpy as np
import numpy.typing as npt

from ..chance.sources import Draws, Source
from ..core.arrays import Array


@dataclass(frozen=True)
class Sighting:
    """The readings of one station, as arrays over its n readings.

    `ids` names each reading once in the whole job; `aims` names what was aimed at (feature or tie point and the point
    on it): repeats of an aim share it; `targets` names the ball or tip used; `face` is 1 or 2 (1 where there is none).
    """

    station: str
    instrument: str
    ids: tuple[str, ...]
    aims: tuple[str, ...]
    targets: tuple[str, ...]
    obs: Array
    face: npt.NDArray[np.int64]

    def __len__(self) -> int:
        return len(self.ids)


class PointInstrument(Protocol):
    """An instrument that sees points. `name` identifies the very device: stations with one name share its errors."""

    @property
    def name(self) -> str: ...

    def sources(self, station: str) -> tuple[Source, ...]:
        """All its sources at this station; those of scope "instrument" have the same name at every station."""

    def errors(self, sighting: Sighting, draws: Draws) -> Array:
        """Errors (draws, n, 3) in observation coordinates, to be added to `sighting.obs`."""

    def points(self, obs: Array) -> Array:
        """Observations (..., n, 3) to Cartesian points (..., n, 3) in the station's frame, mm."""

    def observe(self, points: Array) -> Array:
        """Cartesian points (..., n, 3) in the station's frame to observations, mm and rad: inverse of `points`."""

    def spread(self, sighting: Sighting) -> Array:
        """Standard uncertainty (n, 3) of each observation from what differs between readings: weights of a tie."""


#: Made by the catalogue: builds the instrument of one kind from its parameters.
Builder = Callable[[str, dict[str, object]], PointInstrument]
