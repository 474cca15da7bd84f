"""A laser tracker with a reflector: azimuth, elevation and range, in two faces."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from ..chance.sources import Draws, Source
from ..core.arrays import Array
from ..core.errors import InputError
from ..core.threads import over_slices
from .axes import COMPONENTS, mechanical, per_unit
from .base import Sighting
from .effects import Effect, check, errors_of, source_of, spread_of, wanted
from .parameters import Parameter

#: Distance at which `angle_noise_distance` is stated; it grows with the square root of the distance.
AIR_REFERENCE_MM = 10_000.0
#: Steeper than this, an azimuth says nothing about the aim.
STEEPEST_RAD = np.radians(89.4)
#: Readings in one slice of work.
_SLICE = 50_000

#: parameter -> unit
NEEDED = {
    "range_constant": "mm", "range_proportional": "1", "range_noise": "mm", "angle_noise": "rad",
    "angle_noise_distance": "rad", "transit_offset": "mm", "collimation": "rad", "tilt_axis_squareness": "rad",
    "vertical_index": "rad", "eccentricity": "rad", "encoder_scale": "rad",
}  # fmt: skip
OPTIONAL = {"beam_offset": "mm", "pointing_noise": "mm"}

_BOTH_FACES = "measure in both faces"
#: parameter -> (words for the source, what one could do about it), in the order they are listed
WORDS = {
    "range_noise": ("range noise", "average more readings of the point"),
    "angle_noise": ("angles", "move the station closer, or average more readings"),
    "angle_noise_distance": ("beam through moving air", "move the station closer, or wait for still air"),
    "pointing_noise": ("pointing at the target", "average more readings of the point"),
    "range_constant": ("range offset", "measure a known distance from inside and from outside, and correct"),
    "range_proportional": ("range scale", "check the range against a calibrated length"),
    "transit_offset": ("geometry, offset of the tilt axis", _BOTH_FACES),
    "beam_offset": ("geometry, offset of the beam", _BOTH_FACES),
    "collimation": ("geometry, squareness of the beam", _BOTH_FACES),
    "tilt_axis_squareness": ("geometry, squareness of the tilt axis", _BOTH_FACES),
    "vertical_index": ("geometry, vertical index", _BOTH_FACES),
    "eccentricity": ("geometry, eccentricity of the scales", "measure in both faces, or from a second station"),
    "encoder_scale": ("geometry, scales twice a turn", "measure from a second station, turned about its axis"),
}


@dataclass(frozen=True)
class Tracker:
    """A tracker, known by its name and the parameters of its class or certificate.

    Errors of the range (offset, scale) and of the mechanics belong to the instrument: one draw wherever it stands.
    Noise of range and angles belongs to each reading. An azimuth error e moves the point by range x cos(elevation) x e
    across the beam; moving air and pointing act across the beam alike in both directions.
    """

    name: str
    parameters: Mapping[str, Parameter]

    def sources(self, station: str) -> tuple[Source, ...]:
        """All sources at this station."""
        return tuple(self._source(p, station) for p in WORDS if p in self.parameters)

    def errors(self, sighting: Sighting, draws: Draws) -> Array:
        """Errors (draws, n, 3) of azimuth, elevation (rad, face-1 sense) and range (mm).

        Raises `InputError` for a range of zero or below, an elevation above 89.4 degrees, or a face other than 1 or 2.
        """
        return errors_of(self._effects(sighting, draws), sighting, draws)

    def points(self, obs: Array) -> Array:
        """(azimuth, elevation, range) (..., n, 3) to points (..., n, 3) in the station's frame, mm."""
        from .kernels import polar_points

        flat = np.ascontiguousarray(obs).reshape(-1, 3)
        out = np.empty_like(flat)
        over_slices(lambda a, b: polar_points(flat[a:b], out[a:b]), len(flat), size=_SLICE)
        return out.reshape(obs.shape)

    def observe(self, points: Array) -> Array:
        """Points (..., n, 3), mm, to (azimuth, elevation, range)."""
        across = np.hypot(points[..., 0], points[..., 1])
        azimuth = np.arctan2(points[..., 1], points[..., 0])
        elevation = np.arctan2(points[..., 2], across)
        return np.stack([azimuth, elevation, np.hypot(across, points[..., 2])], -1)

    def spread(self, sighting: Sighting) -> Array:
        """Standard uncertainty (n, 3) of azimuth, elevation and range from what differs between readings."""
        return spread_of(self._effects(sighting), len(sighting))

    def _source(self, parameter: str, station: str) -> Source:
        label, action = WORDS[parameter]
        return source_of(self.parameters[parameter], label, self.name, station, action)

    def _effects(self, sighting: Sighting, draws: Draws | None = None) -> list[Effect]:
        """What acts, in these draws or at all."""
        _check_aims(sighting)
        sources = {p: self._source(p, sighting.station) for p in WORDS if p in self.parameters}
        return [
            Effect(source, *_sensitivity(p, sighting))
            for p, source in sources.items()
            if draws is None or wanted(source, draws)
        ]


def from_parameters(name: str, parameters: Mapping[str, Parameter]) -> Tracker:
    """The tracker `name` of these parameters. Raises `InputError` for one that is missing, unknown or in a wrong unit.

    Figures (standard uncertainties): `range_noise`, `angle_noise` of one reading; `angle_noise_distance` of one
    reading at 10 m, growing with the square root of the distance; `pointing_noise` across the beam, mm; mechanics as
    in `axes`, `eccentricity` and `encoder_scale` for each of their four components.
    """
    check(parameters, NEEDED, OPTIONAL, f'tracker "{name}"')
    return Tracker(name, dict(parameters))


def _sensitivity(parameter: str, sighting: Sighting) -> tuple[tuple[str, ...], Array]:
    """Components of a parameter and their errors (n, c, 3) for one unit."""
    if parameter in COMPONENTS:
        return tuple(COMPONENTS[parameter]), per_unit(parameter, sighting.obs, sighting.face)
    elevation, distance = sighting.obs[:, 1], sighting.obs[:, 2]
    one = np.ones(len(sighting))
    if parameter == "range_noise":
        return ("range",), _rows([(0 * one, 0 * one, one)])
    scale = {
        "angle_noise": np.cos(elevation),  # an encoder: the azimuth itself
        "angle_noise_distance": np.sqrt(distance / AIR_REFERENCE_MM),
        "pointing_noise": 1 / distance,
    }[parameter]
    up = one if parameter == "angle_noise" else scale
    return ("azimuth", "elevation"), _rows([(scale / np.cos(elevation), 0 * one, 0 * one), (0 * one, up, 0 * one)])


def _rows(components: list[tuple[Array, Array, Array]]) -> Array:
    return np.stack([np.stack(c, -1) for c in components], 1)


def _check_aims(sighting: Sighting) -> None:
    _, elevation, distance = mechanical(sighting.obs, np.ones(len(sighting), dtype=np.int64))
    for wrong, what, rule, found in (
        (~(distance > 0), "the range", "be above zero", [f"{d:g} mm" for d in distance]),
        (
            ~(np.abs(elevation) < STEEPEST_RAD), "the elevation", "lie within 89.4 deg of level",
            [f"{np.degrees(e):.2f} deg" for e in elevation],
        ),
        (~np.isin(sighting.face, (1, 2)), "the face", "be 1 or 2", [str(f) for f in sighting.face]),
    ):  # fmt: skip
        if wrong.any():
            i = int(np.argmax(wrong))
            raise InputError(f'reading "{sighting.ids[i]}"', what, rule, found[i], "Correct or drop the reading.")
