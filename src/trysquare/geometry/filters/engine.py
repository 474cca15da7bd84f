"""Sums of heights under the Gaussian weighting function, with powers of the distance: what local polynomials need."""

import math

import numpy as np

from ...core.arrays import Array
from ...core.threads import over_slices
from .places import Places
from .uneven import REACH, uneven

_BLOCK = 1 << 20  # numbers in a block


def sums(W: Array, F: Array, places: Places, width: float, order: int) -> tuple[list[Array], list[Array]]:
    """For p up to 2 `order` of W (1 or m, n) and up to `order` of F (m, n):
    sum over j of exp(-pi t^2) t^p F_j cell_j / width, t = (x_j - x_i) / width, at every x_i.

    With 1 for F and p = 0 that is 1 away from ends.
    """
    powers = 2 * order + 1
    if not places.spacing:
        both = uneven(np.concatenate([W, F]), places, width, powers)
        return [part[: len(W)] for part in both], [part[len(W) :] for part in both[: order + 1]]
    closed = bool(places.turn) and not places.gaps.any()
    step, roll = places.spacing / width, places.roll

    def even(rows: Array, count: int) -> list[Array]:
        out = convolved(np.roll(rows, -roll, -1) if roll else rows, step, count, closed=closed)
        return [np.roll(part, roll, -1) for part in out] if roll else out

    return even(W, powers), even(F, order + 1)


def convolved(F: Array, step: float, powers: int, *, closed: bool = False) -> list[Array]:
    """The sums of even rows (m, n) for p < `powers`, by Fourier transforms; `step` is the spacing over the width.

    Round the closed profile, or with room for the reach behind an open one.
    """
    from scipy import fft

    m, n = F.shape
    reach = math.ceil(REACH / step)
    reach = reach if closed else min(reach, n - 1)
    size = n if closed else fft.next_fast_len(n + reach, real=True)
    offsets = np.arange(-reach, reach + 1)
    t = -offsets * step
    weight = np.exp(-np.pi * t * t) * step
    spectra = []
    for _ in range(powers):
        spectra.append(fft.rfft(np.bincount(offsets % size, weights=weight, minlength=size)))
        weight = weight * t
    out = [np.empty((m, n)) for _ in range(powers)]

    def work(a: int, b: int) -> None:
        spectrum = fft.rfft(F[a:b], size, axis=-1)
        for part, share in zip(out, spectra):
            part[a:b] = fft.irfft(spectrum * share, size, axis=-1)[:, :n]

    over_slices(work, m, size=max(1, _BLOCK // size))
    return out
