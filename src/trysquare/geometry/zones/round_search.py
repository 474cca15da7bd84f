"""Whether any other centre, wherever it lies, does better for a circle or sphere."""

import numpy as np

from ...core.arrays import Array
from ...core.threads import over_slices
from ..kernels.round_bound import PROVEN, prove
from ..kernels.round_state import DISC, INNER
from .round_solve import Index, Solved
from .round_starts import still

_BOXES = 4_000  # of centres looked at before a proof is given up
_SOME = 64  # points that the bounds rest on at first
_SLICE = 8
_CHUNK = 1 << 16


def search_centres(solved: Solved) -> tuple[Index, Array, Array]:
    """Outcome (m), bounds (m) and better states (m, 12): on some of the points, and where those do not prove it on all
    that were solved on. (What is proven for some of the points holds for all.)
    """
    m = len(solved.levels)
    everyone = np.arange(m)
    few, places = _some(solved)
    outcome, bounds, better = _search(solved, few, places, everyone)
    left = np.flatnonzero(outcome != PROVEN)
    if len(left) and few.shape[1] < solved.few.shape[1]:
        outcome[left], bounds[left], better[left] = _search(solved, solved.few[left], solved.places()[left], left)
    return outcome, bounds, better


def _some(solved: Solved) -> tuple[Array, Index]:
    """The contacts and some other points (m, c, 3), and the contacts' places among them (m, 6)."""
    places, n = solved.places(), solved.few.shape[1]
    if n <= _SOME:
        return solved.few, places
    others = np.broadcast_to(np.arange(0, n, -(-n // _SOME)), (len(places), -(-n // -(-n // _SOME))))
    picks = np.concatenate([np.maximum(places, 0), others], 1)
    few = np.take_along_axis(solved.few, picks[:, :, None], 1)
    return few, np.where(places >= 0, np.arange(6), -1)


def _search(solved: Solved, few: Array, places: Index, members: Index) -> tuple[Index, Array, Array]:
    """As `search_centres` for some members with the points few (m, c, 3)."""
    m, centres = len(members), solved.states[members, :3]
    reach = np.linalg.norm(few, axis=-1).max(1)
    if solved.mode == INNER:
        directions, supports = _hull(solved, members)
        reach = np.maximum(reach, supports.max(1))
        turn = np.broadcast_to(np.eye(3), (m, 3, 3))
    else:
        directions, supports = np.zeros((1, 3)), np.zeros((m, 1))
        away = np.linalg.norm(centres, axis=1)
        reach = np.where(away < 3.0 * reach, np.maximum(reach, away / 1.4), reach)
        turn = _mirrors(centres)
    few = np.ascontiguousarray(few @ turn)
    centres = np.ascontiguousarray(np.einsum("mi,mij->mj", centres, turn))
    complete = few.shape[1] == solved.P.shape[1]
    target, sides = solved.made_small[members], solved.sides[members]
    outcome, bounds, better = np.zeros((m, 2), np.int64), np.empty(m), np.zeros((m, 3))

    def slices(a: int, b: int) -> None:
        prove(
            solved.mode, solved.kind, few[a:b], reach[a:b], centres[a:b], target[a:b], places[a:b], sides[a:b],
            directions, supports[a:b], complete, _BOXES, outcome[a:b], bounds[a:b], better[a:b],
        )  # fmt: skip

    over_slices(slices, m, size=_SLICE)
    return outcome[:, 0], bounds, still(np.einsum("mi,mji->mj", better, turn))


def _mirrors(centres: Array) -> Array:
    """Reflections (m, 3, 3) that take the centres (m, 3) onto the first axis."""
    length = np.linalg.norm(centres, axis=1, keepdims=True)
    v = centres / np.where(length > 0, length, 1.0)
    v = v - np.where(length > 0, 1.0, 0.0) * np.eye(3)[0]
    return np.eye(3) - 2.0 * v[:, :, None] * v[:, None, :] / np.maximum((v * v).sum(1), 1e-300)[:, None, None]


def _hull(solved: Solved, members: Index) -> tuple[Array, Array]:
    """Directions (q, 3) spread evenly, and how far the points of each member reach in each (m, q), about the base."""
    if solved.kind == DISC:
        turn = np.arange(64) * (2.0 * np.pi / 64)
        directions = np.stack([np.cos(turn), np.sin(turn), np.zeros(64)], 1)
    else:
        height = (np.arange(256) + 0.5) / 128.0 - 1.0
        turn, across = np.arange(256) * (np.pi * (3.0 - np.sqrt(5.0))), np.sqrt(1.0 - height * height)
        directions = np.stack([across * np.cos(turn), across * np.sin(turn), height], 1)
    P, base = solved.P[members], solved.base[members]
    d = P.shape[-1]
    supports = np.full((len(P), len(directions)), -np.inf)
    step = max(1, _CHUNK // max(1, len(P)))
    for a in range(0, P.shape[1], step):
        part = P[:, a : a + step] - base[:, None, :d]
        supports = np.maximum(supports, (part @ directions[:, :d].T).max(1))
    return directions, supports
