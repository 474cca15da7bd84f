"""An articulated arm: two links on a shoulder, with errors that depend on how the arm stands."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..chance.sources import Draws, Source
from ..core.arrays import Array
from ..core.errors import InputError
from ..core.frames import unit
from .base import Sighting
from .effects import Effect, check, errors_of, source_of, spread_of
from .parameters import Parameter

#: parameter -> unit
NEEDED = {
    "joint_noise": "rad", "joint_eccentricity": "rad", "link_length": "mm", "tip": "mm", "probing_noise": "mm",
}  # fmt: skip
#: Height of the shoulder over the arm's mounting face (common practice, no source).
SHOULDER_MM = 250.0
#: An arm folded closer than this share of its reach blocks itself (common practice, no source).
FOLDED = 0.1
JOINTS = ("base", "shoulder", "elbow")

#: parameter -> (words for the source, what one could do about it)
WORDS = {
    "joint_noise": ("joints", "move the arm closer, work with a bent elbow, or average several poses"),
    "probing_noise": ("probing", "average more readings of the point"),
    "joint_eccentricity": ("scales of the joints", "measure again with the arm in another place"),
    "link_length": ("lengths of the links", "check the arm against a calibrated length in this place"),
    "tip": ("tip", "calibrate the tip again"),
}


@dataclass(frozen=True)
class Pose:
    """How the arm stands at n points.

    `angles` (n, 3) of base, shoulder and elbow, rad; `axes` (n, 3, 3) of these joints; `levers` (n, 3, 3) from each
    joint to the tip, mm; `upper` and `fore` (n, 3) are the directions of the two links.
    """

    angles: Array
    axes: Array
    levers: Array
    upper: Array
    fore: Array

    @property
    def per_joint(self) -> Array:
        """Movement (n, 3, 3) of the tip, mm, for one radian of each joint."""
        return np.cross(self.axes, self.levers)


@dataclass(frozen=True)
class Arm:
    """An arm with two links of one length, joints at base (standing axis), shoulder and elbow (level axes).

    Its observations are points in its own frame: origin in the mounting face, z up. The elbow stands up, in the plane
    through the standing axis and the point; swivels and the wrist are left out, their errors belong to the tip.
    """

    name: str
    parameters: Mapping[str, Parameter]
    link_mm: float
    shoulder_mm: float = SHOULDER_MM

    def sources(self, station: str) -> tuple[Source, ...]:
        """All sources at this station."""
        return tuple(self._source(p, station) for p in WORDS)

    def errors(self, sighting: Sighting, draws: Draws) -> Array:
        """Errors (draws, n, 3) of x, y, z, mm. Raises `InputError` that names a reading out of reach."""
        return errors_of(self._effects(sighting), sighting, draws)

    def points(self, obs: Array) -> Array:
        """The observations are points already."""
        return obs

    def observe(self, points: Array) -> Array:
        """The points are observations already."""
        return points

    def spread(self, sighting: Sighting) -> Array:
        """Standard uncertainty (n, 3) of x, y, z from what differs between readings, mm."""
        return spread_of(self._effects(sighting), len(sighting))

    def within_reach(self, points: Array) -> npt.NDArray[np.bool_]:
        """Which points (..., n, 3) of its own frame the arm reaches, (..., n) bool."""
        d = np.linalg.norm(points - np.array([0.0, 0.0, self.shoulder_mm]), axis=-1)
        reachable: npt.NDArray[np.bool_] = (d < 2 * self.link_mm) & (d > FOLDED * 2 * self.link_mm)
        return reachable

    def pose(self, points: Array) -> Pose:
        """How the arm stands at points (n, 3) within reach (law of cosines; links of one length, elbow up)."""
        away = points - np.array([0.0, 0.0, self.shoulder_mm])
        flat = np.hypot(away[:, 0], away[:, 1])
        distance = np.hypot(flat, away[:, 2])
        base = np.arctan2(away[:, 1], away[:, 0])
        lift = np.arccos(distance / (2 * self.link_mm))
        shoulder = np.arctan2(away[:, 2], flat) + lift
        elbow = -2 * lift
        out = np.stack([np.cos(base), np.sin(base), 0 * base], -1)
        up = np.array([0.0, 0.0, 1.0])
        upper = np.cos(shoulder)[:, None] * out + np.sin(shoulder)[:, None] * up
        fore = unit(away - self.link_mm * upper)
        level = np.cross(out, up)  # turning about it lifts the arm
        axes = np.stack([np.broadcast_to(up, out.shape), level, level], 1)
        levers = np.stack([points, away, self.link_mm * fore], 1)
        return Pose(np.stack([base, shoulder, elbow], -1), axes, levers, upper, fore)

    def _source(self, parameter: str, station: str) -> Source:
        label, action = WORDS[parameter]
        return source_of(self.parameters[parameter], label, self.name, station, action)

    def _effects(self, sighting: Sighting) -> list[Effect]:
        self._check_reach(sighting)
        pose = self.pose(sighting.obs)
        return [Effect(self._source(p, sighting.station), *_sensitivity(p, pose)) for p in WORDS]

    def _check_reach(self, sighting: Sighting) -> None:
        out = ~self.within_reach(sighting.obs)
        if out.any():
            i = int(np.argmax(out))
            d = float(np.linalg.norm(sighting.obs[i] - np.array([0.0, 0.0, self.shoulder_mm])))
            near, far = 2 * FOLDED * self.link_mm, 2 * self.link_mm
            raise InputError(
                f'reading "{sighting.ids[i]}"', "the distance from the arm's shoulder",
                f"lie between {near:.0f} and {far:.0f} mm", f"{d:.0f} mm",
                "Move the arm, or correct the reading.",
            )  # fmt: skip


def from_parameters(name: str, parameters: Mapping[str, Parameter], *, shoulder_mm: float = SHOULDER_MM) -> Arm:
    """The arm `name` of these parameters. Raises `InputError` for one that is missing, unknown or in a wrong unit.

    Figures (standard uncertainties): `joint_noise` of each joint; `joint_eccentricity` of each of the two components
    (cosine, sine) of each joint; `link_length` of each link, whose `value` is the length of one link, mm; `tip` of each
    of three components that turn with the forearm; `probing_noise` along each axis.
    """
    check(parameters, NEEDED, {}, f'arm "{name}"')
    link = parameters["link_length"].value
    if not link > 0:
        raise InputError(
            f'arm "{name}"', 'the value of "link_length"', "be above zero", f"{link:g} mm",
            "Give the length of one link: half the reach from the shoulder.",
        )  # fmt: skip
    return Arm(name, dict(parameters), link, shoulder_mm)


def _sensitivity(parameter: str, pose: Pose) -> tuple[tuple[str, ...], Array]:
    """Components of a parameter and the movement (n, c, 3) of the tip for one unit of each."""
    if parameter == "joint_noise":
        return JOINTS, pose.per_joint
    if parameter == "joint_eccentricity":
        waves = np.stack([np.cos(pose.angles), np.sin(pose.angles)], 1)  # (n, 2, joint)
        moved = (waves[..., None] * pose.per_joint[:, None]).reshape(len(waves), 6, 3)
        return tuple(f"{joint} {wave}" for wave in ("cos", "sin") for joint in JOINTS), moved
    if parameter == "link_length":
        return ("upper", "fore"), np.stack([pose.upper, pose.fore], 1)
    if parameter == "tip":
        level = pose.axes[:, 2]
        return ("along", "level", "across"), np.stack([pose.fore, level, np.cross(level, pose.fore)], 1)
    return ("x", "y", "z"), np.broadcast_to(np.eye(3), (len(pose.fore), 3, 3))
