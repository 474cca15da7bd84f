"""An error that changes smoothly from place to place: a random field, drawn once for a whole station.

Each component of the field is a sum of waves with random weights, u sqrt(1/F) sum(a cos(w p) + b sin(w p)), a and b
standard normal: its standard deviation is u everywhere, and its correlation over a distance d is near
exp(-d^2 / (2 L^2)) for waves w spread like a normal distribution of width 1/L (Rahimi and Recht, Random features for
large-scale kernel machines, 2007, from memory). The waves are fixed (points of a Halton sequence), the weights are
drawn: the error at a place depends on the place and the draw only, never on which other places were measured.
"""

from functools import cache

import numpy as np
import numpy.typing as npt

from ..chance.sources import Draws, Source
from ..core.arrays import Array
from ..core.threads import over_slices
from .effects import components

#: Waves in the field: its correlation is then within 0.08 of the Gaussian one, 0.015 root mean square.
WAVES = 192
_AXES = ("x", "y", "z")
#: Draws in one slice of work.
_SLICE = 64


def field(source: Source, key: str, points: Array, length_mm: float, draws: Draws) -> Array:
    """Errors (draws, n, 3) of the field at points (n, 3), mm, in the unit of `source`; `key` names the field drawn."""
    from .kernels import sum_waves

    phase = np.einsum("wi,ni->wn", _waves() / length_mm, points)
    table = np.concatenate([np.cos(phase), np.sin(phase)]) / np.sqrt(WAVES)
    labels = tuple(f"{axis} {wave}" for axis in _AXES for wave in range(2 * WAVES))
    weights = components(source, labels, (key,), draws).reshape(len(draws), 3, 2 * WAVES)
    out = np.empty((len(draws), 3, len(points)))
    over_slices(lambda a, b: sum_waves(weights[a:b], table, out[a:b]), len(draws), size=_SLICE)
    return np.swapaxes(out, 1, 2)


def correlation(distance_mm: Array, length_mm: float) -> Array:
    """The correlation that the field aims at, for distances (...), Gaussian with the length `length_mm`."""
    return np.exp(-0.5 * (distance_mm / length_mm) ** 2)


@cache
def _waves() -> Array:
    """Fixed wave vectors (WAVES, 3), standard normal, from a Halton sequence (bases 2, 3, 5)."""
    from scipy.special import ndtri

    count = np.arange(1, WAVES + 1, dtype=np.int64)
    halton: Array = np.stack([_radical_inverse(count, base) for base in (2, 3, 5)], 1)
    return ndtri(halton)


def _radical_inverse(count: npt.NDArray[np.int64], base: int) -> Array:
    out, scale, rest = np.zeros(len(count)), 1.0, count.copy()
    while rest.any():
        scale /= base
        out += scale * (rest % base)
        rest = rest // base
    return out
