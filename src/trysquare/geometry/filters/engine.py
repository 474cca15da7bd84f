"""Sums of heights under the Gaussian weighting function, with powers of the distance: what local polynomials need."""

import math

import numpy as np

from ...core.arrays import Array
from ...core.threads import over_slices
from .places import Places
from .uneven import REACH, uneven

_BLOCK = 1 << 17  # numbers at a time
_LEAST = 1 << 13  # least length of a block


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
    """The sums of even rows (m, n) for p < `powers`; `step` is the spacing over the width."""
    t, weight = _kernel(step, F.shape[-1], closed)
    return _transformed(F, [weight * t**p for p in range(powers)], closed)


def smoothed(F: Array, step: float, order: int, *, closed: bool) -> Array:
    """Value of the local polynomial of `order` at even rows (m, n): one convolution, right where no end is in reach."""
    t, weight = _kernel(step, F.shape[-1], closed)
    if order == 2:
        m2, m4 = (weight * t**2).sum(), (weight * t**4).sum()
        weight = weight * (m4 - m2 * t * t)
    return _transformed(F, [weight / weight.sum()], closed)[0]


def in_reach(step: float) -> int:
    """Samples that an end reaches."""
    return math.ceil(REACH / step)


def _kernel(step: float, n: int, closed: bool) -> tuple[Array, Array]:
    """Distances, in widths, of the samples within reach, and their weights."""
    reach = in_reach(step) if closed else min(in_reach(step), n - 1)
    t = -step * np.arange(-reach, reach + 1, dtype=np.float64)
    return t, np.exp(-np.pi * t * t) * step


def _transformed(F: Array, kernels: list[Array], closed: bool) -> list[Array]:
    """Convolutions by Fourier transforms: round the closed profile, or with room for the reach behind an open one; long
    rows in blocks that overlap by the reach on both sides."""
    from scipy import fft

    m, n = F.shape
    reach = len(kernels[0]) // 2
    block = fft.next_fast_len(max(8 * reach, _LEAST), real=True)
    if n > 2 * block:
        step = block - 2 * reach
        count = -(-n // step)
        before = F[:, n - reach :] if closed else np.zeros((m, reach))
        after = F[:, :reach] if closed else np.zeros((m, reach))
        rows = np.concatenate([before, F, after, np.zeros((m, count * step - n))], axis=1)
        windows = np.lib.stride_tricks.sliding_window_view(rows, block, axis=1)[:, ::step]
        parts = _by_spectra(windows.reshape(-1, block), kernels, block, slice(reach, block - reach))
        return [part.reshape(m, count * step)[:, :n] for part in parts]
    size = n if closed else fft.next_fast_len(n + reach, real=True)
    return _by_spectra(F, kernels, size, slice(0, n))


def _by_spectra(rows: Array, kernels: list[Array], size: int, kept: slice) -> list[Array]:
    """Circular convolutions of length `size` of every row with the kernels centred on 0; the part `kept`."""
    from scipy import fft

    reach = len(kernels[0]) // 2
    places = np.arange(-reach, reach + 1) % size
    spectra = [fft.rfft(np.bincount(places, weights=kernel, minlength=size)) for kernel in kernels]
    out = [np.empty((len(rows), kept.stop - kept.start)) for _ in kernels]

    def work(a: int, b: int) -> None:
        spectrum = fft.rfft(rows[a:b], size, axis=-1)
        for part, share in zip(out, spectra):
            part[a:b] = fft.irfft(spectrum * share, size, axis=-1)[:, kept]

    over_slices(work, len(rows), size=max(1, _BLOCK // size))
    return out
