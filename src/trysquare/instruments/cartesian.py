"""An instrument that reports points in its own frame: scanner, photogrammetry, tracked probe, measuring machine."""

from collections.abc import Mapping
from dataclasses import dataclass
from math import sqrt

import numpy as np

from ..chance.sources import Draws, Source
from ..core.arrays import Array
from ..core.errors import InputError
from .base import Sighting
from .effects import Effect, check, errors_of, keys, source_of, spread_of, wanted
from .parameters import Parameter
from .smooth_field import field

#: parameter -> unit
NEEDED = {"noise": "mm", "noise_floor": "mm", "length_proportional": "1", "smooth_field": "mm"}
OPTIONAL = {"scale": "1"}
#: parameter -> (words for the source, what one could do about it)
WORDS = {
    "noise": ("noise", "measure more points"),
    "noise_floor": ("what averaging does not remove", "measure the point from another side"),
    "smooth_field": ("smooth errors over the volume", "measure from more places, or with a scale bar near the part"),
    "length_proportional": ("lengths, in proportion", "check against a calibrated length in this place"),
    "scale": ("scale", "use a longer calibrated scale bar"),
}
#: Components of a symmetric strain, with the share of u that makes every length err by u times the length.
STRAIN = {"xx": 1.0, "yy": 1.0, "zz": 1.0, "xy": sqrt(0.5), "xz": sqrt(0.5), "yz": sqrt(0.5)}


@dataclass(frozen=True)
class Cartesian:
    """An instrument that reports x, y, z, with the errors usual in statements of permissible error (A + L / K).

    `noise` differs from reading to reading, `noise_floor` is shared by the repeats of an aim. `length_proportional` is
    a strain of the instrument's space: the error of any length is normal with u times the length, whatever its
    direction, and independent along perpendicular directions; `scale`, where given, is one factor for all directions.
    `smooth_field` is a random field over the volume: neighbours err alike, over the length `value` of the parameter.
    """

    name: str
    parameters: Mapping[str, Parameter]

    def sources(self, station: str) -> tuple[Source, ...]:
        """All sources at this station."""
        return tuple(self._source(p, station) for p in WORDS if p in self.parameters)

    def errors(self, sighting: Sighting, draws: Draws) -> Array:
        """Errors (draws, n, 3) of x, y, z, mm."""
        total = errors_of(self._effects(sighting), sighting, draws)
        source = self._source("smooth_field", sighting.station)
        if wanted(source, draws):
            length = self.parameters["smooth_field"].value
            shared = keys(sighting, source.scope)
            for key in dict.fromkeys(shared):
                rows = [i for i, other in enumerate(shared) if other == key]
                total[:, rows] += field(source, key, sighting.obs[rows], length, draws)
        return total

    def points(self, obs: Array) -> Array:
        """The observations are points already."""
        return obs

    def observe(self, points: Array) -> Array:
        """The points are observations already."""
        return points

    def spread(self, sighting: Sighting) -> Array:
        """Standard uncertainty (n, 3) of x, y, z from what differs between readings, mm."""
        return spread_of(self._effects(sighting), len(sighting))

    def _source(self, parameter: str, station: str) -> Source:
        label, action = WORDS[parameter]
        return source_of(self.parameters[parameter], label, self.name, station, action)

    def _effects(self, sighting: Sighting) -> list[Effect]:
        chosen = [p for p in WORDS if p in self.parameters and p != "smooth_field"]
        return [Effect(self._source(p, sighting.station), *_sensitivity(p, sighting.obs)) for p in chosen]


def from_parameters(name: str, parameters: Mapping[str, Parameter]) -> Cartesian:
    """The instrument `name` of these parameters. Raises `InputError` for one missing, unknown or in a wrong unit.

    Figures (standard uncertainties along each axis): `noise`, `noise_floor`, `smooth_field` (its `value` is the
    correlation length, mm); relative: `length_proportional`, and `scale` if wanted.
    """
    where = f'instrument "{name}"'
    check(parameters, NEEDED, OPTIONAL, where)
    smooth = parameters["smooth_field"]
    if smooth.u > 0 and not smooth.value > 0:
        raise InputError(
            where, 'the value of "smooth_field"', "be a correlation length above zero", f"{smooth.value:g} mm",
            "Say over which distance neighbouring points err alike.",
        )  # fmt: skip
    return Cartesian(name, dict(parameters))


def _sensitivity(parameter: str, points: Array) -> tuple[tuple[str, ...], Array]:
    """Components of a parameter and the errors (n, c, 3) for one unit of each."""
    if parameter == "scale":
        return ("all",), points[:, None, :]
    if parameter != "length_proportional":
        return ("x", "y", "z"), np.broadcast_to(np.eye(3), (len(points), 3, 3))
    out = np.zeros((len(points), 6, 3))
    for c, (label, share) in enumerate(STRAIN.items()):
        i, j = ("xyz".index(letter) for letter in label)
        out[:, c, i] = share * points[:, j]
        out[:, c, j] = share * points[:, i]
    return tuple(STRAIN), out
