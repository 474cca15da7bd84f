"""Sums under the Gaussian weighting function at uneven samples: pair by pair, or through moments of blocks.

Each member of a batch is computed alone, so its neighbours do not change a digit.
"""

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from ...core.arrays import Array
from .places import Places

REACH = 3.3  # of alpha x cut-off: exp(-pi 3.3^2) is 1e-15
_HALF = 0.25  # half a block, of the width
_TERMS = 25  # of the exponential series: the next is below 1e-16
_DENSE = 24  # samples a block from which moments are quicker than pairs
_CHUNK = 4096  # samples at a time, by moments
_ROWS = 32  # samples at a time, pair by pair
Index = npt.NDArray[np.intp]


@dataclass(frozen=True)
class _Near:
    """Positions (k,) with their repeats on both sides of a closed profile, in widths; the sample that each is."""

    around: Array
    member: Index
    cells: Array


def uneven(F: Array, places: Places, width: float, powers: int) -> list[Array]:
    """For p < `powers`: sum over j of exp(-pi t^2) t^p F_j cell_j / width, t = (x_j - x_i) / width; (m, n) each."""
    at, turn = places.at / width, places.turn / width
    turns = range(-math.ceil(REACH / turn), math.ceil(REACH / turn) + 1) if turn else range(1)
    around = np.concatenate([at + k * turn for k in turns])
    member = np.arange(len(around)) % len(at)
    near = _Near(around, member, places.cells[member] / width)
    out = [np.empty(F.shape) for _ in range(powers)]
    blocks = _blocks(at)
    if len(at) < _DENSE * len(blocks):
        rows = range(0, len(at), _ROWS)
        blocks = [(a, min(a + _ROWS, len(at))) for a in rows]
        work = _pairs
    else:
        work = _moments
    for a, b in blocks:
        work(F, near, at, a, b, out)
    return out


def _blocks(at: Array) -> list[tuple[int, int]]:
    """Runs of samples in the same block of length 2 _HALF."""
    block = np.floor((at - at[0]) / (2.0 * _HALF))
    cuts = np.concatenate([[0], np.flatnonzero(np.diff(block)) + 1, [len(at)]])
    return [(int(a), int(b)) for a, b in pairwise(cuts)]


def _window(F: Array, near: _Near, low: float, high: float) -> tuple[Array, Array, Array]:
    """Positions and cells from `low` to `high`, and the heights there as (m, 1, k), each member a row of its own."""
    part = slice(*np.searchsorted(near.around, [low, high]))
    return near.around[part], near.cells[part], np.ascontiguousarray(F[:, near.member[part]])[:, None]


def _pairs(F: Array, near: _Near, at: Array, a: int, b: int, out: list[Array]) -> None:
    around, cells, values = _window(F, near, at[a] - REACH, at[b - 1] + REACH)
    t = around[:, None] - at[a:b]
    weight = np.exp(-np.pi * t * t) * cells[:, None]
    for part in out:
        part[:, a:b] = (values @ weight)[:, 0]
        weight = weight * t


def _moments(F: Array, near: _Near, at: Array, a: int, b: int, out: list[Array]) -> None:
    """With u and v the places of source and target from the middle of the block, exp(-pi (u - v)^2) is
    exp(-pi u^2) exp(-pi v^2) exp(2 pi u v), and the last is a short series (the fast Gauss transform of L. Greengard
    and J. Strain, SIAM J. Sci. Stat. Comput. 12 (1991) 79, with plain powers).
    """
    middle = 0.5 * (at[a] + at[b - 1])
    around, cells, values = _window(F, near, middle - REACH - _HALF, middle + REACH + _HALF)
    u, v = around - middle, at[a:b] - middle
    moment = np.zeros((len(F), 1, _TERMS + len(out)))
    for k in range(0, len(u), _CHUNK):
        moment += values[..., k : k + _CHUNK] @ _powers(u[k : k + _CHUNK], cells[k : k + _CHUNK], moment.shape[-1])
    factor = [(2.0 * np.pi) ** k / math.factorial(k) for k in range(_TERMS)]
    series = np.vander(v, _TERMS, increasing=True).T * np.array(factor)[:, None] * np.exp(-np.pi * v * v)
    whole = [(np.ascontiguousarray(moment[..., q : q + _TERMS]) @ series)[:, 0] for q in range(len(out))]
    for q, part in enumerate(out):  # (u - v)^q from the powers of u
        part[:, a:b] = sum(math.comb(q, k) * (-v) ** (q - k) * whole[k] for k in range(q + 1))


def _powers(u: Array, cells: Array, count: int) -> Array:
    """exp(-pi u^2) cell u^k for k < `count`, (len(u), count)."""
    out = np.empty((count, len(u)))
    out[0] = np.exp(-np.pi * u * u) * cells
    for k in range(1, count):
        np.multiply(out[k - 1], u, out=out[k])
    return out.T
