"""The part as it really is, for simulated measurements: nominal features moved, turned, resized and with form.

Everything here is at 20 degC in the part frame. The form of a feature is a smooth random field in space, seen on the
surface: it needs no coordinates of its own on the shape and closes on itself around a bore.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from ...chance.sources import Draws
from ...core.arrays import Array
from ...core.errors import InputError
from ...core.frames import Rigid, rotation
from ...tolerances.nominal import Nominal
from ..job import Job
from .plan_points import dense_points, normals_at

#: Waves of a form field; with so many it has no pattern of its own.
_WAVES = 24
#: Wavelengths of a form field lie within this factor of the one asked for, either way.
_BAND = 1.4


@dataclass(frozen=True)
class Shape:
    """How one true feature differs from its nominal.

    `shift_mm` (3,) of its point; `turn_rad` (3,) rotation vector about that point; `size_mm` its diameter above the
    nominal; `form_mm` crest to trough of its form, which neither moves, turns nor resizes it, with waves of about
    `wavelength_mm`.
    """

    shift_mm: tuple[float, float, float] = (0.0, 0.0, 0.0)
    turn_rad: tuple[float, float, float] = (0.0, 0.0, 0.0)
    size_mm: float = 0.0
    form_mm: float = 0.0
    wavelength_mm: float = 100.0


@dataclass(frozen=True)
class Truth:
    """The true part (`shapes` by feature; perfect where absent) and the seed of every true error."""

    seed: int
    shapes: Mapping[str, Shape] = field(default_factory=dict)

    @property
    def draws(self) -> Draws:
        """The one realisation of all errors."""
        return Draws(self.seed, 0, 1)

    def check(self, job: Job) -> None:
        """Raise `InputError` where the truth shares the seed of the judging, or names a feature that is not there."""
        refuse_seed(self.seed, job.seed)
        for name in self.shapes:
            if name not in job.features:
                raise InputError(
                    "simulation", f'the true shape of "{name}"', "belong to a feature of the job", "no such feature",
                    f"Use one of {', '.join(job.features)}.",
                )  # fmt: skip


def refuse_seed(truth_seed: int, judging_seed: int) -> None:
    """Raise `InputError` where the true errors would be among the draws they are judged by."""
    if truth_seed == judging_seed:
        raise InputError(
            "simulation", "the seed of the truth", "differ from the seed of the judging", f"{truth_seed} for both",
            "Change one of them: with one seed the first draw of the judging would be the truth itself.",
        )  # fmt: skip


class TrueFeature:
    """The true surface of one feature."""

    def __init__(self, name: str, nominal: Nominal, shape: Shape, draws: Draws) -> None:
        self.nominal = nominal
        self._move = Rigid(rotation(np.array(shape.turn_rad)), np.zeros(3))
        self._shift = np.array(shape.shift_mm)
        self._grown = 0.0 if nominal.diameter_mm is None else shape.size_mm / 2
        self._form = None if shape.form_mm == 0.0 else _form(name, nominal, shape, draws)

    def at(self, points: Array) -> Array:
        """True surface points (n, 3) that belong to nominal surface points (n, 3)."""
        normals = normals_at(self.nominal, points)
        outward = np.full(len(points), -self._grown if self.nominal.inside else self._grown)
        if self._form is not None:
            outward = outward + self._form.heights(points)
        about = points - self.nominal.point_mm + outward[:, None] * normals
        return self._move.apply(about) + self.nominal.point_mm + self._shift

    def normals(self, points: Array) -> Array:
        """True outward normals (n, 3) there; slopes of the form, which act in second order, are left out."""
        return self._move.turn(normals_at(self.nominal, points))

    def dense(self) -> Array:
        """True points all over the feature."""
        return self.at(dense_points(self.nominal))


def true_features(job: Job, truth: Truth) -> dict[str, TrueFeature]:
    """Every feature of the job as it really is."""
    perfect = Shape()
    return {
        name: TrueFeature(name, feature.nominal, truth.shapes.get(name, perfect), truth.draws)
        for name, feature in job.features.items()
    }


@dataclass(frozen=True)
class _Form:
    """Heights along the normal: `scale` (waves at the point, less what `low` takes off as shift, turn and size)."""

    nominal: Nominal
    waves: Array
    phases: Array
    low: Array
    scale: float

    def heights(self, points: Array) -> Array:
        raw = np.cos((points - self.nominal.point_mm) @ self.waves.T + self.phases).sum(-1)
        return self.scale * (raw - _columns(self.nominal, points) @ self.low)


def _form(name: str, nominal: Nominal, shape: Shape, draws: Draws) -> _Form:
    dense = dense_points(nominal)
    plain = _Form(nominal, *_waves(name, shape.wavelength_mm, draws), np.zeros(_columns(nominal, dense).shape[1]), 1.0)
    raw = plain.heights(dense)
    low = np.asarray(np.linalg.lstsq(_columns(nominal, dense), raw, rcond=1e-9)[0], dtype=np.float64)
    rest = replace(plain, low=low).heights(dense)
    height = float(np.ptp(rest))
    return replace(plain, low=low, scale=shape.form_mm / height if height > 1e-9 else 0.0)


def _waves(name: str, wavelength_mm: float, draws: Draws) -> tuple[Array, Array]:
    """Wave vectors (w, 3), evenly spread over all directions at random, rad/mm, and phases (w,)."""
    u = np.array([
        [draws.uniform(f"true form: {name}", f"{i} {what}")[0] for what in ("height", "turn", "length", "phase")]
        for i in range(_WAVES)
    ])  # fmt: skip
    z, turn = 2.0 * u[:, 0] - 1.0, 2.0 * math.pi * u[:, 1]
    flat = np.sqrt(1.0 - z * z)
    away = np.stack([flat * np.cos(turn), flat * np.sin(turn), z], -1)
    number = 2.0 * math.pi / (wavelength_mm * _BAND ** (2.0 * u[:, 2] - 1.0))
    return away * number[:, None], 2.0 * math.pi * u[:, 3]


def _columns(nominal: Nominal, points: Array) -> Array:
    """Heights (n, 6 or 7) that a shift, a turn (in units of the feature's extent) or another diameter would make."""
    normals = normals_at(nominal, points)
    arms = points - nominal.point_mm
    extent = max(float(nominal.diameter_mm or 0.0), float(nominal.length_mm or 0.0), *(nominal.size_mm or (1.0, 1.0)))
    columns = [normals, np.cross(arms, normals) / extent]
    if nominal.diameter_mm is not None:
        columns.append(np.ones((len(points), 1)))
    return np.concatenate(columns, axis=1)
