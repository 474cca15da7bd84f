"""What a fit holds fixed, and the weights it is given."""

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ...core.arrays import Array, finite
from ...core.errors import InputError

RADIUS, ANGLE, AXIS, MAJOR = 1, 2, 4, 8  # as in kernels/turn_steps.py
_PLACES = {"radius_mm": 0, "minor_radius_mm": 0, "half_angle_rad": 1, "major_radius_mm": 2}
_BITS = {"radius_mm": RADIUS, "minor_radius_mm": RADIUS, "half_angle_rad": ANGLE, "major_radius_mm": MAJOR}
AXES = ("direction", "normal")


@dataclass(frozen=True)
class Held:
    """`bits` says what is held, `fixed` (1 or m, 6) at which values: radius, half angle, major radius, direction."""

    bits: int
    fixed: Array
    names: tuple[str, ...] = ()

    @property
    def axis(self) -> Array | None:
        """The direction held (1 or m, 3), unit, or None."""
        return self.fixed[:, 3:] if self.bits & AXIS else None


def read_held(where: str, lead: tuple[int, ...], **values: npt.ArrayLike | None) -> Held:
    """The parts held, by name; None is free. Scalars or one per trial (...), directions (3,) or (..., 3).

    Raises
    ------
    InputError : wrong shape, not finite, a radius not above 0, a half angle outside 0 to pi / 2, a zero direction.
    """
    given = {name: value for name, value in values.items() if value is not None}
    m = math.prod(lead)
    arrays = {name: _read(where, name, value, lead) for name, value in given.items()}
    fixed = np.zeros((m if any(len(a) > 1 for a in arrays.values()) else 1, 6))
    bits = 0
    for name, array in arrays.items():
        if name in AXES:
            fixed[:, 3:] = array / np.linalg.norm(array, axis=-1, keepdims=True)
            bits |= AXIS
        else:
            fixed[:, _PLACES[name]] = array
            bits |= _BITS[name]
    return Held(bits, fixed, tuple(given))


def _read(where: str, name: str, value: npt.ArrayLike, lead: tuple[int, ...]) -> Array:
    array = finite(np.asarray(value, dtype=np.float64), where=f"{where}: {name}")
    tail = (3,) if name in AXES else ()
    if array.shape not in (tail, (*lead, *tail)):
        raise InputError(
            where, name, f"have the shape {tail} or one per trial", f"{array.shape}", "Give one value, or one a trial."
        )
    array = array.reshape(-1, *tail)
    good = np.abs(array).max(-1) > 0 if tail else array > 0
    if not good.all():
        rule = "have a length above 0" if tail else "be above 0"
        raise InputError(where, name, rule, f"{array[~good][0]}", "Correct it.")
    if name == "half_angle_rad" and not (array < math.pi / 2).all():
        raise InputError(
            where, name, "be below a right angle", f"{array.max():g} rad",
            "Give half the angle at the apex, in radians; at a right angle a cone is a plane.",
        )  # fmt: skip
    return array


def read_weights(weights: npt.ArrayLike | None, lead: tuple[int, ...], n: int, least: int, where: str) -> Array:
    """Weights (m or 1, n). Raises `InputError` for a wrong shape, or fewer than `least` above 0."""
    if weights is None:
        return np.ones((1, n))
    W = finite(np.asarray(weights, dtype=np.float64), where=f"{where}: weights")
    if W.shape not in ((n,), (*lead, n)) or (W < 0).any() or ((W > 0).sum(-1) < least).any():
        raise InputError(
            where, "the weights", f"be one number >= 0 per point, {least} or more of them above 0",
            f"shape {W.shape}, least {W.min() if W.size else 'none'}", "Give weights of shape (n,) or (..., n).",
        )  # fmt: skip
    return np.ascontiguousarray(W.reshape(-1, n))
