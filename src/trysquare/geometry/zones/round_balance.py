"""How far the contacts of a round minimax shape are off the conditions of an optimum."""

import numpy as np
import numpy.typing as npt

from ...core.arrays import Array
from ..kernels.round_state import INNER, OUTER, TUBE, ZONE
from .round_solve import Solved

_STILL = 1e-7  # gap, of the size, below which what could still be gained, about its square, is rounding
_DIGITS = 1e-13  # of the size


def contact_points(solved: Solved) -> Array:
    """Contacts (m, 6, 3) about the base; those of free places repeat the first point."""
    P = np.take_along_axis(solved.P, np.maximum(solved.contacts, 0)[:, :, None], 1)
    if P.shape[-1] == 2:
        P = np.concatenate([P, np.zeros((*P.shape[:2], 1))], -1)
    return P - solved.base[:, None]


def near_gap(solved: Solved) -> Array:
    """By how much (m) the contacts are off one level, and off balance over the extent of the points.

    Where the weighted slopes of the contacts add up to nothing, no small move makes all of them better.
    """
    w = (solved.weights * solved.sides)[:, :, None]
    d, size = _across(solved), np.abs(solved.few).max((1, 2))
    distance = np.linalg.norm(d, axis=-1, keepdims=True)
    slope = w * d / np.where(distance > 0, distance, 1.0)
    off = np.linalg.norm(slope.sum(1), axis=-1)
    if solved.kind == TUBE:
        height = np.einsum("mij,mj->mi", contact_points(solved) - solved.states[:, None, :3], solved.states[:, 9:12])
        off = off + np.linalg.norm((slope * height[:, :, None]).sum(1), axis=-1) / np.maximum(size, 1e-300)
    factor = 2.0 if solved.mode == ZONE else 1.0
    gap: Array = np.abs(solved.made_small - factor * (w * distance).sum((1, 2))) + factor * off * size
    return gap


def settled(solved: Solved) -> npt.NDArray[np.bool_]:
    """Members (m) at an optimum to rounding, however their search ended: contacts in balance, no point beyond them."""
    size, d = np.abs(solved.few).max((1, 2)), solved.distances(solved.radii())
    beyond = {OUTER: d.max(1), INNER: -d.min(1), ZONE: np.abs(d).max(1) - solved.levels}[solved.mode]
    out: npt.NDArray[np.bool_] = (near_gap(solved) <= _STILL * size) & (beyond <= _DIGITS * size)
    return out


def _across(solved: Solved) -> Array:
    """Contacts (m, 6, 3) from the centre, across the axis for a cylinder."""
    d = contact_points(solved) - solved.states[:, None, :3]
    if solved.kind == TUBE:
        w = solved.states[:, None, 9:12]
        d = d - (d * w).sum(-1, keepdims=True) * w
    return d
